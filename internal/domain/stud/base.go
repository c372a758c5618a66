package stud

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// BaseMetal is the rule for the metal under a stud: thin metal tears out before
// the stud reaches its strength. AISC 360-22 I8.1 (read) waives it over a web; a
// stud on the web itself is never over one. Thickness is the least that was
// measured under the foot.
type BaseMetal struct {
	Diameter  units.Length
	Thickness units.Length
}

var baseClause = calc.Clause{Document: "AISC 360", Article: "I8.1", Edition: "2022", Tag: basis.Read}

var baseNeeded = calc.Define(calc.Def{Symbol: "t_min", Name: "least metal under the stud", Expr: "d/r_t", Dim: calc.Length, Clause: baseClause,
	Params: []calc.Param{{Symbol: "d", Name: "stud diameter", Dim: calc.Length}, {Symbol: "r_t", Name: "largest diameter over thickness", Dim: calc.Scalar}}})

// Needed is the least thickness under a stud.
func (c BaseMetal) Needed(p *calc.Pad, b basis.Basis) units.Length {
	return units.Length(baseNeeded.Eval(p, float64(c.Diameter), b.Value(basis.StudBaseRatio)))
}

// Check compares the metal needed with the metal measured.
func (c BaseMetal) Check(p *calc.Pad, b basis.Basis) calc.Check {
	p.Given("t", "least metal measured under a stud", calc.Length, float64(c.Thickness), "survey")
	return calc.Finish(calc.Check{Key: "detail.base_metal", Name: "Metal under the studs", Group: "detail", Demand: float64(c.Needed(p, b)),
		Resistance: float64(c.Thickness), Dim: calc.Length, Clause: baseClause, Lines: p.Lines()})
}
