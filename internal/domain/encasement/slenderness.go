package encasement

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Slenderness limits the height of panel under the studs over its thickness, so
// that it works as a block. Our proposal.
type Slenderness struct {
	Height    units.Length // panel foot to the lowest row
	Thickness units.Length // the thinner face that has studs
}

var slendernessClause = calc.Clause{Document: "rule of this program", Tag: basis.Proposal}

var slenderness = calc.Define(calc.Def{Symbol: "r_p", Name: "height under the studs over thickness", Expr: "h_b/t_p", Dim: calc.Scalar, Clause: slendernessClause,
	Params: []calc.Param{{Symbol: "h_b", Name: "panel foot to the lowest row", Dim: calc.Length}, {Symbol: "t_p", Name: "panel thickness", Dim: calc.Length}}})

// Check compares the slenderness with its limit.
func (c Slenderness) Check(p *calc.Pad, b basis.Basis) calc.Check {
	return calc.Finish(calc.Check{Key: KeySlenderness, Name: "Slenderness of the panel", Group: detail,
		Demand: slenderness.Eval(p, float64(c.Height), float64(c.Thickness)), Resistance: b.Value(basis.PanelSlenderness),
		Dim: calc.Scalar, Clause: slendernessClause, Lines: p.Lines()})
}
