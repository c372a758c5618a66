package encasement

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
)

// StudGroup is the group of studs against the whole reaction: the web path below
// is taken as lost, and the reaction acts on the bearing line, so a group whose
// middle is beside that line also turns. The elastic vector method (AISC Manual
// Part 7) decides, because slip capacity in UHPC is not confirmed: using it here
// is our proposal.
type StudGroup struct {
	Demand units.Force
	Stud   stud.Stud
	Group  stud.Elastic // of the studs that count
	Worst  stud.Point   // the hardest worked of them
	// Ceiling is the worth of the group as designed. Leaving out studs can move
	// the middle of a group toward the bearing line and raise its elastic worth;
	// a loss of studs is never credited with that.
	Ceiling float64
}

var groupClause = calc.Clause{Document: "AISC Manual", Article: "Part 7, elastic method", Edition: "15th ed., 2017", Tag: basis.Read}

var (
	groupTurning = calc.Define(calc.Def{Symbol: "n_eff", Name: "studs that the group is worth", Expr: "1/sqrt((e*z_i/J)^2 + (1/n + e*x_i/J)^2)", Dim: calc.Scalar,
		Clause: groupClause, Params: []calc.Param{{Symbol: "e", Name: "bearing line from the middle of the group", Dim: calc.Length},
			{Symbol: "z_i", Name: "hardest worked stud above the middle", Dim: calc.Length}, {Symbol: "J", Name: "sum of squared distances", Dim: calc.Area},
			{Symbol: "n", Name: "studs that count", Dim: calc.Scalar}, {Symbol: "x_i", Name: "hardest worked stud beside the middle", Dim: calc.Length}}})
	groupCeiling = calc.Define(calc.Def{Symbol: "n_eff", Name: "no more than the group as designed", Expr: "min(n_1, n_0)", Dim: calc.Scalar,
		Clause: calc.Clause{Document: "rule of this program", Tag: basis.Proposal}, Params: []calc.Param{{Symbol: "n_1", Name: "worth of the studs that count", Dim: calc.Scalar},
			{Symbol: "n_0", Name: "worth of the group as designed", Dim: calc.Scalar}}})
	groupStrength = calc.Define(calc.Def{Symbol: "R_s", Name: "factored resistance of the group", Expr: "n_eff*Q_r", Dim: calc.Force, Clause: groupClause,
		Params: []calc.Param{{Symbol: "n_eff", Name: "studs that the group is worth", Dim: calc.Scalar}, {Symbol: "Q_r", Name: "factored resistance of one stud", Dim: calc.Force}}})
)

// Effective is the number of studs the group is worth.
func (c StudGroup) Effective(p *calc.Pad) float64 {
	g := c.Group
	if g.N == 0 || g.Effective() == 0 {
		p.Note("the studs that count cannot carry the reaction: there is none, or they stand in one place beside the bearing line")
		return 0
	}
	n := float64(g.N)
	if g.M == 0 {
		p.Given("n_eff", "studs that count, with their middle on the bearing line", calc.Scalar, n, "layout and collars")
	} else {
		e := g.X - g.CX
		p.Given("n", "studs that count", calc.Scalar, n, "layout and collars")
		n = groupTurning.Eval(p, e, c.Worst.Z-g.CZ, g.J, n, c.Worst.X-g.CX)
	}
	if c.Ceiling > 0 && n > c.Ceiling {
		n = groupCeiling.Eval(p, n, c.Ceiling)
	}
	return n
}

// Check compares the reaction with the resistance of the group.
func (c StudGroup) Check(p *calc.Pad, b basis.Basis) calc.Check {
	if p != nil {
		c.Stud.Ec = Modulus(p, b, c.Stud.Fc)
	}
	s := c.Stud.Strength(p, b)
	n := c.Effective(p)
	return calc.Finish(calc.Check{Key: KeyStuds, Name: "Stud group", Group: repair, Demand: float64(c.Demand),
		Resistance: groupStrength.Eval(p, n, float64(s.Factored)), Dim: calc.Force, Limits: s.Limits, Clause: s.Clause, Lines: p.Lines()})
}
