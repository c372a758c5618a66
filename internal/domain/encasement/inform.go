package encasement

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
)

// Loads is what a design is checked against.
type Loads struct {
	Demand units.Force // factored reaction
	// Range is the range of the reaction under the live load that repeats, without
	// load factor; zero where it is not known. Cycles of it are asked for; zero
	// asks for infinite life.
	Range  units.Force
	Cycles float64
}

// inform adds the checks that show and do not decide: the stud by the other
// standards, with its collar, its pry-out where it is short, the metal under it by
// other rules, the group about its center of rotation, and fatigue by both codes.
func (r *Result) inform(p *calc.Pad, b basis.Basis, g girder.Geometry, d Design, l Loads, w *layout, s stud.Stud) {
	if w.counted == 0 {
		return
	}
	pad := func() *calc.Pad { return fresh(p) }
	hardest := units.Force(0)
	if r.Effective > 0 {
		hardest = l.Demand / units.Force(r.Effective)
	}
	r.Checks = append(r.Checks, s.Others(b, hardest, pad)...)
	width, height := stud.NominalCollar(d.StudDiameter)
	q := pad()
	q.Given("d_wc", "collar diameter, guidance size, not measured", calc.Length, float64(width), "EN ISO 13918")
	q.Given("l_wc", "collar height, guidance size, not measured", calc.Length, float64(height), "EN ISO 13918")
	r.Checks = append(r.Checks, stud.CollarTerm{Stud: s, Width: width, Length: height, Sound: 1, Demand: hardest}.Check(q, b))
	if !calc.AtLeast(float64(d.StudHeight/d.StudDiameter), b.Value(basis.StudSlendernessAISC)) {
		r.Checks = append(r.Checks, stud.PryOut{Stud: s, Demand: hardest}.Check(pad(), b))
	}
	for _, rule := range [...]stud.ThinRule{stud.ByAWS, stud.ByTension} {
		r.Checks = append(r.Checks, stud.ThinWeb{Diameter: d.StudDiameter, Thickness: w.metal, Rule: rule}.Check(pad(), b))
	}
	if c, ok := w.centerCheck(pad(), b, g, d, l.Demand, r.PerStud); ok {
		r.Checks = append(r.Checks, c)
	}
	if l.Range > 0 && r.Effective > 0 {
		for _, by := range [...]stud.Standard{stud.ByAASHTO, stud.ByEN} {
			q := pad()
			hard := fatigueRange.Eval(q, fatigueFactor(b, by, l.Cycles), float64(l.Range), r.Effective)
			r.Checks = append(r.Checks, stud.Fatigue{Diameter: d.StudDiameter, Range: units.Force(hard), Cycles: l.Cycles, By: by}.Check(q, b))
		}
	}
}

// fatigueFactor is the load factor of the live range.
func fatigueFactor(b basis.Basis, by stud.Standard, cycles float64) float64 {
	switch {
	case by == stud.ByEN:
		return b.Value(basis.StudFatigueGammaEN)
	case cycles == 0:
		return b.Value(basis.StudFatigueGammaI)
	}
	return b.Value(basis.StudFatigueGammaII)
}

var centerClause = calc.Clause{Document: "AISC Manual", Article: "Part 7, instantaneous center", Edition: "15th ed., 2017", Tag: basis.Read}

// centerCheck is the group about its center of rotation with a curve for studs. It
// reports false where the center was not found.
func (w *layout) centerCheck(p *calc.Pad, b basis.Basis, g girder.Geometry, d Design, demand, perStud units.Force) (calc.Check, bool) {
	var buf [usualStuds]stud.Point
	points := buf[:0]
	for i := range d.Studs {
		if w.counts.has(i) {
			points = append(points, stud.Point{X: float64(d.Studs[i].X), Z: float64(d.Studs[i].Z)})
		}
	}
	turn, err := stud.Center(points, stud.Down(float64(g.Bearing.Start+g.Bearing.Length/2)), stud.OllgaardSlutterFisher, units.Length(b.Value(basis.StudSlipCenter)))
	if err != nil {
		return calc.Check{}, false
	}
	p.Given("n_eff", "studs the group is worth about its center of rotation", calc.Scalar, turn.C, "AISC Manual Part 7 with a curve for studs")
	p.Note("for information: it leans on slip that is not confirmed in UHPC")
	return calc.Finish(calc.Check{Key: KeyCenter, Name: "Stud group by the center of rotation", Group: repair, Demand: float64(demand),
		Resistance: groupStrength.Eval(p, turn.C, float64(perStud)), Dim: calc.Force, Verdict: calc.Informs, Clause: centerClause, Lines: p.Lines()}), true
}

// marked is a set of studs by their place in the design.
type marked [(MaxStuds + 63) / 64]uint64

func (m *marked) add(i int) {
	if i < MaxStuds {
		m[i/64] |= 1 << (i % 64)
	}
}

func (m *marked) has(i int) bool { return i < MaxStuds && m[i/64]>>(i%64)&1 == 1 }
