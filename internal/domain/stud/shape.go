package stud

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Shape is the rule for a stud's height over its diameter: a short stud pries
// out. AASHTO LRFD 6.10.10.1.1 (from memory).
type Shape struct {
	Diameter units.Length
	Height   units.Length
}

var shapeClause = calc.Clause{Document: "AASHTO LRFD", Article: "6.10.10.1.1", Edition: "9th ed., 2020", Tag: basis.Memory}

var shapeNeeded = calc.Define(calc.Def{Symbol: "h_min", Name: "least stud height", Expr: "r_h*d", Dim: calc.Length, Clause: shapeClause,
	Params: []calc.Param{{Symbol: "r_h", Name: "least height over diameter", Dim: calc.Scalar}, {Symbol: "d", Name: "stud diameter", Dim: calc.Length}}})

// Check compares the height needed with the height there is.
func (c Shape) Check(p *calc.Pad, b basis.Basis) calc.Check {
	need := shapeNeeded.Eval(p, b.Value(basis.StudSlenderness), float64(c.Diameter))
	p.Given("h", "stud height after welding", calc.Length, float64(c.Height), "design")
	return calc.Finish(calc.Check{Key: "detail.stud_height", Name: "Stud height", Group: "detail", Demand: need, Resistance: float64(c.Height),
		Dim: calc.Length, Clause: shapeClause, Lines: p.Lines()})
}
