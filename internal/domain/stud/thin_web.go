package stud

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// ThinWeb is what another rule than BaseMetal asks of the metal under a stud, for
// information.
type ThinWeb struct {
	Diameter  units.Length
	Thickness units.Length // least measured under a stud
	Rule      ThinRule
}

// ThinRule is a rule for the metal under a stud.
type ThinRule uint8

// Rules.
const (
	ByAWS       ThinRule = iota // the metal a stud can be welded to
	ByTension                   // metal in tension under a fatigue load
	thinRuleEnd                 // keeps the table below whole
)

var thinRules = [thinRuleEnd]struct {
	key, name string
	ratio     basis.Key
	clause    calc.Clause
}{
	ByAWS: {"detail.base_metal_weld", "Metal that a stud can be welded to", basis.StudBaseRatioWeld,
		calc.Clause{Document: "AWS D1.1 and D1.5", Edition: "2015", Tag: basis.Memory}},
	ByTension: {"detail.base_metal_tension", "Metal under a stud in tension under fatigue", basis.StudBaseRatioTension,
		calc.Clause{Document: "EN 1994-1-1", Article: "6.6.5.7", Edition: "2004", Tag: basis.Memory}},
}

// Check shows the metal that the rule asks for beside the metal there is.
func (c ThinWeb) Check(p *calc.Pad, b basis.Basis) calc.Check {
	r := &thinRules[min(c.Rule, thinRuleEnd-1)]
	need := baseNeeded.Eval(p, float64(c.Diameter), b.Value(r.ratio))
	p.Given("t", "least metal measured under a stud", calc.Length, float64(c.Thickness), "survey")
	return calc.Finish(calc.Check{Key: r.key, Name: r.name, Group: "detail", Demand: need, Resistance: float64(c.Thickness),
		Dim: calc.Length, Verdict: calc.Informs, Clause: r.clause, Lines: p.Lines()})
}
