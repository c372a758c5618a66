package encasement

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// StudFoot is bearing of the web at the place that is worked hardest for its
// thickness, in the manner of a bolt hole: our proposal. Studs back to back work
// on one patch of web, so their forces add.
type StudFoot struct {
	Demand    units.Force // the whole reaction
	Share     float64     // part of it that the studs at this place carry
	Diameter  units.Length
	Thickness units.Length // least metal at the place
	Fu        units.Stress // of the web
}

var studFootClause = calc.Clause{Document: "AASHTO LRFD", Article: "6.13.2.9, by analogy", Tag: basis.Proposal}

var studFootStrength = calc.Define(calc.Def{Symbol: "R_f", Name: "reaction that the web at the studs allows", Expr: "phi_bb*k_f*d*t*F_u/s", Dim: calc.Force, Clause: studFootClause,
	Params: []calc.Param{{Symbol: "phi_bb", Name: "resistance factor", Dim: calc.Scalar}, {Symbol: "k_f", Name: "bearing factor", Dim: calc.Scalar},
		{Symbol: "d", Name: "stud diameter", Dim: calc.Length}, {Symbol: "t", Name: "web at the place", Dim: calc.Length},
		{Symbol: "F_u", Name: "tensile strength of the web", Dim: calc.Stress}, {Symbol: "s", Name: "share of the place", Dim: calc.Scalar}}})

// Check compares the reaction with what the web at the studs allows.
func (c StudFoot) Check(p *calc.Pad, b basis.Basis) calc.Check {
	return calc.Finish(calc.Check{Key: KeyStudFoot, Name: "Web at the foot of the studs", Group: repair, Demand: float64(c.Demand),
		Resistance: studFootStrength.Eval(p, b.Value(basis.StudPhiFoot), b.Value(basis.StudFootFactor), float64(c.Diameter), float64(c.Thickness), float64(c.Fu), c.Share),
		Dim:        calc.Force, Clause: studFootClause, Lines: p.Lines()})
}
