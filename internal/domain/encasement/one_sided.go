package encasement

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
)

// OneSided is a panel on one face only: the reaction goes down beside the web,
// and the moment of that offset has to be closed by tension in the lowest row of
// studs against the top of the group. Shear and tension together follow
// AISC 360-22 I8.3c (read); the couple is our proposal. Two faces are better.
type OneSided struct {
	Demand    units.Force
	Stud      stud.Stud
	Web       units.Length // thickness
	Thickness units.Length // of the panel
	Lever     units.Length // lowest to highest row
	Lowest    int          // studs in the lowest row
	Peak      float64      // share of the hardest worked stud in the reaction
}

var (
	coupleClause = calc.Clause{Document: "statics of a one-sided panel", Tag: basis.Proposal}
	pullOfStud   = calc.Define(calc.Def{Symbol: "Q_rt", Name: "tension of a stud in the lowest row", Expr: "R*(t_w + t_p)/(2*z*n_t)", Dim: calc.Force, Clause: coupleClause,
		Params: []calc.Param{{Symbol: "R", Name: "reaction", Dim: calc.Force}, {Symbol: "t_w", Name: "web thickness", Dim: calc.Length},
			{Symbol: "t_p", Name: "panel thickness", Dim: calc.Length}, {Symbol: "z", Name: "lowest to highest row", Dim: calc.Length},
			{Symbol: "n_t", Name: "studs in the lowest row", Dim: calc.Scalar}}})
	shearOfStud = calc.Define(calc.Def{Symbol: "Q_rv", Name: "shear of the hardest worked stud", Expr: "s*R", Dim: calc.Force, Clause: groupClause,
		Params: []calc.Param{{Symbol: "s", Name: "share of the hardest worked stud", Dim: calc.Scalar}, {Symbol: "R", Name: "reaction", Dim: calc.Force}}})
	oneSidedStrength = calc.Define(calc.Def{Symbol: "R_1", Name: "reaction at full use", Expr: "R/U^(3/5)", Dim: calc.Force, Clause: coupleClause,
		Params: []calc.Param{{Symbol: "R", Name: "reaction", Dim: calc.Force}, {Symbol: "U", Name: "use in shear and tension", Dim: calc.Scalar}}})
)

// Check compares the reaction with the one at which shear and tension of a stud
// use it up. Both grow with the reaction, so the use of any reaction serves.
func (c OneSided) Check(p *calc.Pad, b basis.Basis) calc.Check {
	out := calc.Check{Key: KeyOneSided, Name: "Panel on one face only", Group: repair, Demand: float64(c.Demand), Dim: calc.Force, Clause: coupleClause}
	if !(c.Lever > 0) || c.Lowest == 0 || !(c.Peak > 0) || math.IsInf(c.Peak, 1) {
		p.Note("a single row cannot close the moment of a panel on one face")
		out.Lines = p.Lines()
		return calc.Finish(out)
	}
	r := math.Max(float64(c.Demand), float64(units.Kip))
	pull := pullOfStud.Eval(p, r, float64(c.Web), float64(c.Thickness), float64(c.Lever), float64(c.Lowest))
	shear := shearOfStud.Eval(p, c.Peak, r)
	t := stud.AISCTension{Stud: c.Stud, Shear: units.Force(shear), Tension: units.Force(pull)}
	use := t.Check(p, b)
	out.Resistance = oneSidedStrength.Eval(p, r, use.Demand)
	out.Limits = use.Limits
	out.Lines = p.Lines()
	return calc.Finish(out)
}
