package encasement

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
)

var fatigueRange = calc.Define(calc.Def{Symbol: "Q_f", Name: "force range of the hardest worked stud", Expr: "gamma_f*R_f/n_eff", Dim: calc.Force,
	Clause: groupClause, Params: []calc.Param{{Symbol: "gamma_f", Name: "load factor", Dim: calc.Scalar}, {Symbol: "R_f", Name: "range of the reaction", Dim: calc.Force},
		{Symbol: "n_eff", Name: "studs that the group is worth", Dim: calc.Scalar}}})

// Fatigue checks the hardest worked stud against a factored range of the
// reaction, elastic, with the web path lost; cycles of zero asks for infinite
// life. The row model (Predict) may show a higher range in the top row where the
// studs are few and the panel is soft.
func Fatigue(p *calc.Pad, b basis.Basis, g girder.Geometry, steel Steel, d Design, reaction units.Force, cycles float64, accepted func(mark string) bool) calc.Check {
	if steel == nil {
		steel = AsNew{g.Section}
	}
	w := measure(b, g, steel, d, accepted)
	group := StudGroup{Group: w.group, Worst: w.worst, Ceiling: w.ceiling}
	q := fatigueRange.Eval(p, 1, float64(reaction), group.Effective(p))
	return stud.Fatigue{Diameter: d.StudDiameter, Range: units.Force(q), Cycles: cycles}.Check(p, b)
}
