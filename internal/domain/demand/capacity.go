package demand

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
)

// Condition is the condition of the member that a rating counts with. It is kept
// apart from the resistance, which already counts the steel that is left.
type Condition string

// Conditions. Where nobody said, the poor one counts, and the rating says so.
const (
	ConditionUnknown Condition = ""
	Good             Condition = "good" // good or satisfactory
	Fair             Condition = "fair"
	Poor             Condition = "poor"
)

// Conditions lists what a person can choose.
func Conditions() []Condition { return []Condition{Good, Fair, Poor} }

// Words is the condition for a reader.
func (c Condition) Words() string {
	switch c {
	case Good:
		return "good or satisfactory"
	case Fair:
		return "fair"
	case Poor:
		return "poor"
	case ConditionUnknown:
		return "not stated"
	}
	return "unknown"
}

var (
	conditionRaised = calc.Define(calc.Def{Symbol: "phi_c", Name: "condition factor, the loss was measured", Expr: "min(phi_0 + a, 1)", Dim: calc.Scalar, Clause: clauseCapacity,
		Params: []calc.Param{par("phi_0", "condition factor of the table", calc.Scalar), par("a", "added for a measured loss", calc.Scalar)}})
	capacity = calc.Define(calc.Def{Symbol: "C", Name: "capacity", Expr: "max(phi_c*phi_s, c_f)*phi*R_n", Dim: calc.Force, Clause: clauseCapacity,
		Params: []calc.Param{par("phi_c", "condition factor", calc.Scalar), par("phi_s", "system factor", calc.Scalar), par("c_f", "least product of the two", calc.Scalar),
			par("phi", "resistance factor", calc.Scalar), par("R_n", "nominal resistance", calc.Force)}})
	capacityLFR = calc.Define(calc.Def{Symbol: "C", Name: "capacity, load factor method", Expr: "phi*R_n", Dim: calc.Force, Clause: clauseLFR,
		Params: []calc.Param{par("phi", "resistance factor", calc.Scalar), par("R_n", "nominal resistance", calc.Force)}})
)

// Factor is the condition factor. measured says that the section that is left was
// measured, not estimated: someone has to tick that, because the resistance of this
// program usually rests on measured loss and the raise must not come by itself.
func (c Condition) Factor(p *calc.Pad, b basis.Basis, measured bool) float64 {
	k := basis.ConditionPoor
	switch c {
	case Good:
		k = basis.ConditionGood
	case Fair:
		k = basis.ConditionFair
	}
	v := b.Value(k)
	if measured {
		return conditionRaised.Eval(p, v, b.Value(basis.ConditionRaise))
	}
	p.Given("phi_c", "condition factor, condition "+c.Words(), calc.Scalar, v, "design basis")
	return v
}
