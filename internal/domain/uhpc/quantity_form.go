package uhpc

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// FormAmounts is what the material does to one form.
type FormAmounts struct {
	Form Form
	Rise units.Length // of one batch that goes into this form alone, at most its height
	Head units.Length // at the foot, hopper or standpipe included
	// Foot is the pressure at the foot; Line the resultant on a unit of width, at
	// a third of the head above the foot; Side that on the whole width of a face.
	Foot, Top units.Stress
	Line      float64 // N/mm
	Third     units.Length
	Side      units.Force
	Uplift    units.Force // under plates that close the top
}

var (
	rise = calc.Define(calc.Def{Symbol: "h_b", Name: "rise of a batch in the form", Expr: "min(V_b/A_p, H)", Dim: calc.Length,
		Params: []calc.Param{{Symbol: "V_b", Name: "volume of a batch", Dim: calc.Volume}, {Symbol: "A_p", Name: "area in plan", Dim: calc.Area}, {Symbol: "H", Name: "height of the form", Dim: calc.Length}}})
	fullHead = calc.Define(calc.Def{Symbol: "h", Name: "full liquid head", Expr: "H + h_s", Dim: calc.Length,
		Params: []calc.Param{{Symbol: "H", Name: "height of the form", Dim: calc.Length}, {Symbol: "h_s", Name: "hopper or standpipe above the top", Dim: calc.Length}}})
	lineForce = calc.Define(calc.Def{Symbol: "F_l", Name: "resultant on a unit of width", Expr: "w*h^2/2 - w*h_s^2/2", Dim: calc.LineLoad,
		Params: []calc.Param{{Symbol: "w", Name: "unit weight", Dim: calc.UnitWeight}, {Symbol: "h", Name: "full liquid head", Dim: calc.Length}, {Symbol: "h_s", Name: "hopper or standpipe", Dim: calc.Length}},
		Clause: calc.Clause{Document: "hydrostatics of the full liquid head", Tag: basis.Common}})
	lineArm = calc.Define(calc.Def{Symbol: "z", Name: "height of the resultant above the foot", Expr: "H/3*(H + 3*h_s)/(H + 2*h_s)", Dim: calc.Length,
		Params: []calc.Param{{Symbol: "H", Name: "height of the form", Dim: calc.Length}, {Symbol: "h_s", Name: "hopper or standpipe", Dim: calc.Length}},
		Clause: calc.Clause{Document: "hydrostatics of the full liquid head", Tag: basis.Common}})
	sideForce = calc.Define(calc.Def{Symbol: "F", Name: "force on one face of the form", Expr: "F_l*W", Dim: calc.Force,
		Params: []calc.Param{{Symbol: "F_l", Name: "resultant on a unit of width", Dim: calc.LineLoad}, {Symbol: "W", Name: "width of the form", Dim: calc.Length}}})
	topPressure = calc.Define(calc.Def{Symbol: "p_t", Name: "upward pressure under closing plates", Expr: "w*h_s", Dim: calc.Stress,
		Params: []calc.Param{{Symbol: "w", Name: "unit weight", Dim: calc.UnitWeight}, {Symbol: "h_s", Name: "head above the plates", Dim: calc.Length}},
		Clause: calc.Clause{Document: "hydrostatics of the full liquid head", Tag: basis.Common}})
	uplift = calc.Define(calc.Def{Symbol: "U", Name: "uplift under closing plates", Expr: "p_t*A_p", Dim: calc.Force,
		Params: []calc.Param{{Symbol: "p_t", Name: "upward pressure", Dim: calc.Stress}, {Symbol: "A_p", Name: "area in plan", Dim: calc.Area}}})
)

// amounts works out rise, head and pressure under the full liquid head, the upper
// bound for a mix that levels itself. The form's own design is for a
// temporary-works engineer.
func (f Form) amounts(p *calc.Pad, batch units.Volume, b basis.Basis) FormAmounts {
	stand, w := b.Value(basis.Standpipe), unitWeight(b)
	p.Given("h_s", "hopper or standpipe above the top", calc.Length, stand, origin(basis.Standpipe))
	p.Given("w", "unit weight", calc.UnitWeight, w, origin(basis.UnitWeightUHPC))
	a := FormAmounts{Form: f}
	a.Rise = units.Length(rise.Eval(p, float64(batch), float64(f.Plan), float64(f.Height)))
	a.Head = units.Length(fullHead.Eval(p, float64(f.Height), stand))
	a.Foot = FormPressure(p, a.Head, b)
	a.Line = lineForce.Eval(p, w, float64(a.Head), stand)
	a.Third = units.Length(lineArm.Eval(p, float64(f.Height), stand))
	a.Side = units.Force(sideForce.Eval(p, a.Line, float64(f.Width)))
	a.Top = units.Stress(topPressure.Eval(p, w, stand))
	a.Uplift = units.Force(uplift.Eval(p, float64(a.Top), float64(f.Plan)))
	p.Note("the full liquid head is the upper bound; the form, its ties and its hold-down are for a temporary-works engineer")
	return a
}

// unitWeight is the setting, in N/mm3.
func unitWeight(b basis.Basis) float64 {
	const perCubicMillimetre = 1e-6 // kN/m3 to N/mm3
	return b.Value(basis.UnitWeightUHPC) * perCubicMillimetre
}
