package encasement

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Thickness is the least thickness of a panel: over the heads for cover and for
// the fibers to pass, and enough to cast. Our proposal; nothing published gives
// a least thickness for this use.
type Thickness struct {
	StudHeight units.Length
	Panel      units.Length // the thinner face that has studs
}

var thicknessClause = calc.Clause{Document: "rule of this program", Tag: basis.Proposal}

var thicknessNeeded = calc.Define(calc.Def{Symbol: "t_min", Name: "least panel thickness", Expr: "max(h + c_h, h + n_f*l_f, t_0)", Dim: calc.Length, Clause: thicknessClause,
	Params: []calc.Param{{Symbol: "h", Name: "stud height", Dim: calc.Length}, {Symbol: "c_h", Name: "cover over the head", Dim: calc.Length},
		{Symbol: "n_f", Name: "fiber lengths over the head", Dim: calc.Scalar}, {Symbol: "l_f", Name: "fiber length", Dim: calc.Length},
		{Symbol: "t_0", Name: "least to cast", Dim: calc.Length}}})

// Needed is the least thickness.
func (c Thickness) Needed(p *calc.Pad, b basis.Basis) units.Length {
	return units.Length(thicknessNeeded.Eval(p, float64(c.StudHeight), b.Value(basis.StudHeadCover), b.Value(basis.PanelFiberClear),
		b.Value(basis.PanelFiberLength), b.Value(basis.PanelThicknessMin)))
}

// Check compares the thickness needed with the one designed.
func (c Thickness) Check(p *calc.Pad, b basis.Basis) calc.Check {
	need := c.Needed(p, b)
	p.Given("t_p", "thinner panel", calc.Length, float64(c.Panel), "design")
	return calc.Finish(calc.Check{Key: KeyThickness, Name: "Panel thickness", Group: detail, Demand: float64(need), Resistance: float64(c.Panel),
		Dim: calc.Length, Clause: thicknessClause, Lines: p.Lines()})
}
