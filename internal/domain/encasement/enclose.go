package encasement

import (
	"math"
	"strconv"

	"endcast/internal/domain/basis"
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
// would do.
func (q *proposer) enclose(d Design, over bool) (Panel, bool) {
	first, last := d.Studs[0], d.Studs[len(d.Studs)-1]
	cover := float64(d.StudDiameter)/2 + q.b.Value(basis.StudSideCover)
	left, right := float64(first.X)-cover, float64(last.X)+cover
	if over {
		for _, s := range q.sites {
			left = min(left, float64(s.g.Bearing.Start))
			right = max(right, float64(s.g.Bearing.Start+s.g.Bearing.Length))
		}
	}
	left = math.Max(0, math.Floor(left/q.step+1e-9)*q.step)
	depth := float64(q.depth)
	d.Panel = Panel{X: units.Length(left), Width: units.Length(q.up(right - left)),
		Height: units.Length(min(depth, q.up(float64(last.Z)+cover)))}
	thick := q.thin(d)
	for _, s := range q.sites {
		thick = max(thick, s.forFoot(d.Panel), s.forCompression(d), s.forShear(d))
	}
	if !(thick <= q.b.Value(basis.PanelThicknessMax)) {
		return d.Panel, false
	}
	thick = q.up(thick)
	d.Panel.ThicknessLeft, d.Panel.ThicknessRight = units.Length(thick), units.Length(thick)
	return d.Panel, true
}

// thin is the least thickness that casting and slenderness ask for.
func (q *proposer) thin(d Design) float64 {
	return max(float64(Thickness{StudHeight: d.StudHeight}.Needed(nil, q.b)), float64(d.Studs[0].Z)/q.b.Value(basis.PanelSlenderness))
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
