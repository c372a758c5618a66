package encasement

import (
	"math"
	"strconv"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// draw places the studs of both faces, without marks. The design is valid until
// the next call.
func (q *proposer) draw(columns []int, rows, bottom int, pitch float64) Design {
	d := q.drawn
	d.Studs = d.Studs[:0]
	for _, f := range [...]survey.Face{survey.Left, survey.Right} {
		for r := range rows {
			for c, i := range columns {
				d.Studs = append(d.Studs, Stud{Row: r + 1, Col: c + 1, Face: f,
					X: units.Length(q.xs[i]), Z: units.Length(q.zs[bottom] + float64(r)*pitch)})
			}
		}
	}
	q.drawn.Studs = d.Studs
	return d
}

// name gives every stud its mark: face, row and column.
func (d Design) name() {
	for i := range d.Studs {
		s := &d.Studs[i]
		s.Mark = string(s.Face) + "-" + strconv.Itoa(s.Row) + "-" + strconv.Itoa(s.Col)
	}
}

// enclose is the smallest panel round the studs; over asks for one that also
// reaches over the whole bearing. It reports false where no thickness in reach
// would do, and where the panel would be no smaller than most.
func (q *proposer) enclose(d Design, over bool, most float64) (Panel, bool) {
	first, last := d.Studs[0], d.Studs[len(d.Studs)-1]
	left, right := float64(first.X)-q.cover, float64(last.X)+q.cover
	if over {
		for _, l := range q.lines {
			left, right = min(left, l.line-l.length/2), max(right, l.line+l.length/2)
		}
	}
	left = math.Max(0, math.Floor(left/q.step+calc.Slack)*q.step)
	d.Panel = Panel{X: units.Length(left), Width: units.Length(q.up(right - left)),
		Height: units.Length(min(float64(q.depth), q.up(float64(last.Z)+q.cover)))}
	set := func(thick float64) bool {
		t := units.Length(q.up(thick))
		d.Panel.ThicknessLeft, d.Panel.ThicknessRight = t, t
		return thick <= q.thickest && d.Panel.volume() < most*(1-calc.Slack)
	}
	thick := q.thin(d)
	if !set(thick) {
		return d.Panel, false
	}
	thick = max(thick, q.forFoot(d.Panel))
	for _, s := range q.panels {
		thick = max(thick, s.forCompression(d), s.forShear(d))
	}
	return d.Panel, set(thick)
}

// thin is the least thickness that casting and slenderness ask for.
func (q *proposer) thin(d Design) float64 {
	return max(q.cast, float64(d.Studs[0].Z)/q.slender)
}

// forFoot is the panel thickness that bearing asks for over all ends. It depends
// on where the panel stands along the girder only, which stays while the studs go
// up.
func (q *proposer) forFoot(p Panel) float64 {
	at := [2]units.Length{p.X, p.Width}
	if q.footAt != at {
		q.footAt, q.footNeeds = at, 0
		for _, s := range q.panels {
			q.footNeeds = max(q.footNeeds, s.forFoot(p))
		}
	}
	return q.footNeeds
}

// forFoot is the panel thickness that bearing on the flange asks for, +Inf where
// no thickness is enough.
func (s *Site) forFoot(p Panel) float64 {
	f := s.foot(p, units.Length(s.b.Value(basis.PanelThicknessMax)))
	most := f.Resistance(nil, s.b)
	if most < float64(s.demand) {
		return math.Inf(1)
	}
	f.Thickness = 1
	each := f.Resistance(nil, s.b) // per mm of thickness, until something else governs
	return float64(s.demand) / each * (1 - 1e-9)
}

func (s *Site) foot(p Panel, thickness units.Length) Foot {
	overhang := (s.g.Section.FlangeWidth - s.g.Section.WebThickness) / 2
	return Foot{Share: 0.5, Fc: s.m.Fc, Contact: contactLength(s.b, s.g, s.steel.Flange(), p), Thickness: thickness, Overhang: overhang,
		Supported: max(0, min(overhang, (s.g.Bearing.Width-s.g.Section.WebThickness)/2)), Flange: s.steel.Flange(), FlangeYield: s.g.Fy}
}

// forCompression is the panel thickness that compression asks for.
func (s *Site) forCompression(d Design) float64 {
	w := layout{left: d.Studs[0].X, right: d.Studs[len(d.Studs)-1].X, bottom: d.Studs[0].Z}
	c := Compression{Share: 0.5, Fc: d.Fc, Thickness: 1, Width: w.workingWidth(s.b, s.g, d)}
	return float64(s.demand) / c.Resistance(nil, s.b) * (1 - 1e-9)
}

// forShear is the panel thickness that the studs beyond the bearing ask for.
func (s *Site) forShear(d Design) float64 {
	spread := units.Length(s.b.Value(basis.PanelFootSpread)) * max(0, s.steel.Flange())
	from, to := s.g.Bearing.Start-spread, s.g.Bearing.Start+s.g.Bearing.Length+spread
	before, after := 0, 0
	for i := range d.Studs {
		if d.Studs[i].X < from {
			before++
		} else if d.Studs[i].X > to {
			after++
		}
	}
	out := max(before, after)
	if out == 0 {
		return 0
	}
	// The studs are alike on both faces: half of them are on each.
	c := PanelShear{Share: float64(out) / 2 / float64(len(d.Studs)), Thickness: 1, Height: d.Panel.Height}
	return float64(s.demand) / c.Resistance(nil, s.b) * (1 - 1e-9)
}
