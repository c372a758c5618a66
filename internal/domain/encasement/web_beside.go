package encasement

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// WebBeside is the web on the span side of the group, which has to bring the
// whole reaction into the studs: shear yield of the upright section as measured
// (AASHTO LRFD 6.10.9 with C = 1, from memory). Buckling of the web is a check
// of the corroded end.
type WebBeside struct {
	Demand units.Force
	Fy     units.Stress
	Area   units.Area // upright section, whole depth
}

// WebStrip is the same for the height of the group alone, as if the web above
// and below it brought nothing. A layout that fails it is extended upward.
type WebStrip struct {
	Demand units.Force
	Fy     units.Stress
	Area   units.Area // upright section over the height of the group
}

var (
	webClause   = calc.Clause{Document: "AASHTO LRFD", Article: "6.10.9.2", Edition: "9th ed., 2020", Tag: basis.Memory}
	stripClause = calc.Clause{Document: "AASHTO LRFD", Article: "6.10.9.2 on a strip", Edition: "9th ed., 2020", Tag: basis.Proposal}
)

func webShear(name string, clause calc.Clause) *calc.Formula {
	return calc.Define(calc.Def{Symbol: "R_w", Name: name, Expr: "phi_v*k_v*F_yw*A_w", Dim: calc.Force, Clause: clause,
		Params: []calc.Param{{Symbol: "phi_v", Name: "resistance factor", Dim: calc.Scalar}, {Symbol: "k_v", Name: "shear over tensile yield", Dim: calc.Scalar},
			{Symbol: "F_yw", Name: "yield strength of the web", Dim: calc.Stress}, {Symbol: "A_w", Name: "upright section", Dim: calc.Area}}})
}

var (
	webStrength   = webShear("shear yield of the web beside the group", webClause)
	stripStrength = webShear("shear yield of the strip beside the group", stripClause)
)

// Check compares the reaction with shear yield of the whole depth.
func (c WebBeside) Check(p *calc.Pad, b basis.Basis) calc.Check {
	return calc.Finish(calc.Check{Key: KeyWeb, Name: "Web beside the group", Group: repair, Demand: float64(c.Demand),
		Resistance: webStrength.Eval(p, b.Value(basis.PanelPhiWeb), b.Value(basis.PanelWebFactor), float64(c.Fy), float64(c.Area)),
		Dim:        calc.Force, Clause: webClause, Lines: p.Lines()})
}

// Check compares the reaction with shear yield of the strip; the design basis
// says whether it decides.
func (c WebStrip) Check(p *calc.Pad, b basis.Basis) calc.Check {
	out := calc.Check{Key: KeyStrip, Name: "Web strip as high as the group", Group: repair, Demand: float64(c.Demand),
		Resistance: stripStrength.Eval(p, b.Value(basis.PanelPhiWeb), b.Value(basis.PanelWebFactor), float64(c.Fy), float64(c.Area)),
		Dim:        calc.Force, Clause: stripClause, Lines: p.Lines()}
	if b.Value(basis.PanelStripDecides) < 0.5 {
		out.Verdict = calc.Informs
	}
	return calc.Finish(out)
}
