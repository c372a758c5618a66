package encasement

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
)

// NoLayout says why no layout was found and what comes nearest: the layout that
// carries most, and the stud that would do. Reason ends with the stud in words.
type NoLayout struct {
	Reason  string
	Demand  units.Force
	Nearest *Design // the layout that carries most, nil when no stud can stand
	Carries units.Force
	Governs string // key of the check that holds it back
	// Works is a layout with other studs that passes every check, nil where no
	// usual size gives one.
	Works *Design
}

// Error is the reason and the nearest layout, in words.
func (e *NoLayout) Error() string {
	s := "no layout found for " + force(e.Demand) + ": " + e.Reason
	if e.Nearest != nil {
		s += fmt.Sprintf("; the nearest, %d studs and a panel %s wide, carries %s", len(e.Nearest.Studs), both(e.Nearest.Panel.Width), force(e.Carries))
	}
	return s
}

func force(f units.Force) string {
	return fmt.Sprintf("%.1f kip (%.1f kN)", float64(f/units.Kip), float64(f)/1000)
}

func both(l units.Length) string {
	return fmt.Sprintf("%.4g in. (%.4g mm)", float64(l/units.Inch), float64(l))
}

// hopeless is the reason why no layout can do, where that is plain before any is
// tried.
func (q *proposer) hopeless() string {
	s := Design{StudDiameter: q.m.StudDiameter, StudHeight: q.m.StudHeight, StudFu: q.m.StudFu, Fc: q.m.Fc}.stud(q.b)
	for _, c := range [...]calc.Check{stud.Shape{Diameter: s.Diameter, Height: s.Height}.Check(nil, q.b), Material{Fc: q.m.Fc}.Check(nil, q.b)} {
		if c.Verdict == calc.Fails {
			return fmt.Sprintf("%s is %s, at least %s is needed", c.Name, both(units.Length(c.Resistance)), both(units.Length(c.Demand)))
		}
		if c.Verdict == calc.Outside {
			return c.Name + ": " + c.Limits[0].Text
		}
	}
	for _, l := range s.Strength(nil, q.b).Limits {
		if !l.Met {
			return "outside the rule for the stud: " + l.Text
		}
	}
	if q.mostPlaces == 0 {
		return "no stud finds room beside the girder end, the flanges, the stiffeners and the diaphragm"
	}
	found := false
	for i := range q.xs {
		for j := range q.zs {
			found = found || q.good(i, j)
		}
	}
	site := q.sites[0]
	g := site.g
	if !found {
		return fmt.Sprintf("nowhere near the bearing is the web at least %s thick over a stud's reach: %s", both(q.metal+site.spare), q.soundest())
	}
	whole := Panel{Width: units.Length(g.Bearing.Start+g.Bearing.Length) * 2}
	f := site.foot(whole, units.Length(q.b.Value(basis.PanelThicknessMax)))
	if v := f.Resistance(nil, q.b); v < float64(site.demand) {
		return fmt.Sprintf("bearing of the widest panel on the flange allows %s, with %s of flange left", force(units.Force(v)), both(site.steel.Flange()))
	}
	var cut units.Area
	for _, x := range q.xs {
		cut = max(cut, site.steel.WebCut(units.Length(x), units.Length(x)+q.m.StudDiameter))
	}
	web := WebBeside{Demand: site.demand, Fy: g.Fy, Area: cut}.Check(nil, q.b)
	if web.Verdict == calc.Fails {
		deep := float64(g.Section.ClearDepth())
		return fmt.Sprintf("shear of the soundest upright section of the web allows %s: a mean of %s would be needed over its depth, %s is left",
			force(units.Force(web.Resistance)), both(units.Length(float64(cut)/deep*web.Ratio)), both(units.Length(float64(cut)/deep)))
	}
	return ""
}

// soundest says where the web is thickest and which stud it takes.
func (q *proposer) soundest() string {
	site, most := q.sites[0], -1.0
	var at gridPlace
	for i := range q.xs {
		for j := range q.zs {
			p := gridPlace{x: q.xs[i], z: q.zs[j], kx: q.kx[i], kz: q.kz[j]}
			if t := site.metalAt(p); t > most {
				most, at = t, p
			}
		}
	}
	if most < 0 {
		return "holes leave no room for a stud"
	}
	return fmt.Sprintf("the thickest, %s at %s from the end and %s above the flange, takes studs to %s", both(units.Length(most)), both(units.Length(at.x)),
		both(units.Length(at.z)), both(units.Length(most*q.b.Value(basis.StudBaseRatio))))
}

// usualDiameters are the sizes of headed studs in eighths of an inch; common
// practice, no source.
var usualDiameters = [...]float64{4, 5, 6, 7, 8}

// otherStud looks for a layout with studs of another usual size, the nearest size
// first, smaller before larger. A larger stud is as high as its rule asks.
func (q *proposer) otherStud() *Design {
	site := q.sites[0]
	sizes := make([]units.Length, 0, len(usualDiameters))
	for _, e := range usualDiameters {
		if d := units.Length(e) * units.Inch / 8; math.Abs(float64(d-q.m.StudDiameter)) > 0.6 {
			sizes = append(sizes, d)
		}
	}
	slices.SortStableFunc(sizes, func(a, b units.Length) int {
		return cmp.Compare(math.Abs(float64(a-q.m.StudDiameter)), math.Abs(float64(b-q.m.StudDiameter)))
	})
	for _, d := range sizes {
		m := q.m
		m.StudDiameter = d
		m.StudHeight = max(m.StudHeight, units.Length(math.Ceil(q.b.Value(basis.StudSlenderness)*float64(d/units.Inch)*4-calc.Slack)/4)*units.Inch)
		s, err := NewSite(q.b, site.g, site.steel, site.demand, m)
		if err != nil {
			continue
		}
		if found, none, _ := s.find(); none == nil {
			return &found
		}
	}
	return nil
}

// refuse looks for the layout that carries most and wraps the reason with it.
func (q *proposer) refuse(reason string) error {
	site := q.sites[0]
	out := &NoLayout{Reason: reason, Demand: site.demand}
	for _, pitch := range q.pitches {
		for rows := q.fits(q.zs, pitch); rows >= 1; rows-- {
			for cols := q.fewest; cols*rows*2 <= MaxStuds; cols++ {
				columns, bottom, ok := q.central(cols, rows, pitch)
				if !ok {
					break
				}
				d := q.draw(columns, rows, bottom, pitch)
				d.Panel, _ = q.enclose(d, true, math.Inf(1))
				t := units.Length(max(q.up(q.thin(d)), q.b.Value(basis.PanelThicknessMax)))
				d.Panel.ThicknessLeft, d.Panel.ThicknessRight = t, t
				r := evaluate(nil, q.b, site.g, site.steel, d, Loads{Demand: 1}, nil, false)
				if r.Capacity > out.Carries*(1+1e-9) && (reason != "" || r.Passes()) {
					d.Studs = append([]Stud(nil), d.Studs...)
					out.Nearest, out.Carries, out.Governs = &d, r.Capacity, r.Governs
				}
			}
		}
	}
	if out.Nearest != nil {
		out.Nearest.name()
	}
	if out.Reason == "" {
		out.Reason = "the sound web does not hold a group that passes every check"
		if words := governs[out.Governs]; words != "" {
			out.Reason = "held back by " + words
		}
		out.Reason += q.stripNeeds(out)
	}
	if out.Works = q.otherStud(); out.Works != nil {
		out.Reason += fmt.Sprintf("; studs of %s, %s high, would do: %d of them", both(out.Works.StudDiameter), both(out.Works.StudHeight), len(out.Works.Studs))
	}
	return out
}

// stripNeeds says what the strip of web beside the nearest layout would have to
// be, where that holds it back.
func (q *proposer) stripNeeds(e *NoLayout) string {
	if e.Governs != KeyStrip || e.Nearest == nil || !(e.Carries > 0) {
		return ""
	}
	site, w := q.sites[0], outline(*e.Nearest)
	area, height := w.strip(q.b, site.g, site.steel, *e.Nearest)
	mean := float64(area) / float64(height)
	return fmt.Sprintf(": a mean of %s would be needed beside the nearest layout, %s is left", both(units.Length(mean*float64(e.Demand/e.Carries))), both(units.Length(mean)))
}

// central is the group of cols by rows on sound web whose middle is nearest to
// the bearing line.
func (q *proposer) central(cols, rows int, pitch float64) (columns []int, bottom int, ok bool) {
	nearest, at, site := math.Inf(1), 0, q.sites[0]
	for start := range q.xs {
		c, room := q.columns(start, cols)
		if !room {
			break
		}
		mean := 0.0
		for _, i := range c {
			mean += q.xs[i] / float64(cols)
		}
		if e := math.Abs(mean - site.line); e < nearest && e <= float64(site.g.Bearing.Length)/2 {
			if j, sound := q.lowest(c, rows, 0, pitch); sound {
				nearest, at, bottom, ok = e, start, j, true
			}
		}
	}
	if ok {
		columns, _ = q.columns(at, cols)
	}
	return columns, bottom, ok
}

var governs = map[string]string{
	KeyStuds: "the stud group", KeyFoot: "bearing of the panel on the flange", KeyCompression: "compression of the panel",
	KeyPanelShear: "shear of the panel beside the bearing", KeyWeb: "shear of the web beside the group", KeyStrip: "shear of the web strip as high as the group",
	KeyStudFoot: "the web at the foot of the studs", KeyOneSided: "the panel being on one face", KeySeat: "the seat of the panel",
}
