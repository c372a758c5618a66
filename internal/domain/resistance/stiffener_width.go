package resistance

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

var widthLimit = calc.Define(calc.Def{Symbol: "b_lim", Name: "largest projecting width", Expr: "c_w*t_p*sqrt(E/F_ys)", Dim: calc.Length, Clause: clauseWidth,
	Params: []calc.Param{par("c_w", "constant", calc.Scalar), parTp, parE, parFys}})

// StiffenerWidth is the limit of the projecting width of a stiffener, AASHTO LRFD
// BDS 6.10.11.2.2. A plate that corrosion has made too thin for its width is not
// refused: StiffenerAxial counts the width up to the limit only.
type StiffenerWidth struct {
	Width     units.Length
	Thickness units.Length
	Fy        units.Stress
}

// Limit is the largest width that counts.
func (c StiffenerWidth) Limit(p *calc.Pad, b basis.Basis) units.Length {
	return units.Length(widthLimit.Eval(p, b.Value(basis.StiffenerSlender), float64(c.Thickness), b.Value(basis.SteelModulus), float64(c.Fy)))
}

// Check shows the width beside its limit; it does not decide.
func (c StiffenerWidth) Check(p *calc.Pad, b basis.Basis) calc.Check {
	q := sheet(p)
	limit := c.Limit(q, b)
	return calc.Finish(calc.Check{Key: "stiffener.width", Name: "Bearing stiffeners, projecting width", Group: group,
		Demand: float64(c.Width), Resistance: float64(limit), Dim: calc.Length, Verdict: calc.Informs, Clause: clauseWidth, Lines: q.Lines()})
}
