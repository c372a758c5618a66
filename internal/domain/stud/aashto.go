package stud

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// AASHTO is the shear resistance of one stud by AASHTO LRFD 6.10.10.4.3 as it
// stood to the 9th edition (public copy). The 10th edition is reported
// to have changed the article; the new text is not confirmed here. The article
// was written for ordinary concrete; in UHPC the shank governs.
type AASHTO struct {
	Stud
	Demand units.Force // factored, on this stud
}

var aashtoClause = calc.Clause{Document: "AASHTO LRFD", Article: "6.10.10.4.3", Edition: "to 9th ed., 2020", Tag: basis.SecondHand}

var (
	aashtoConcrete = calc.Define(calc.Def{Symbol: "Q_n", Name: "nominal resistance, UHPC governs", Expr: "0.5*A_sc*sqrt(f'_c*E_c)",
		Dim: calc.Force, Clause: aashtoClause, Params: []calc.Param{{Symbol: "A_sc", Name: "shank area", Dim: calc.Area},
			{Symbol: "f'_c", Name: "strength of the UHPC", Dim: calc.Stress}, {Symbol: "E_c", Name: "modulus of the UHPC", Dim: calc.Stress}}})
	aashtoCounted = calc.Define(calc.Def{Symbol: "F_uc", Name: "tensile strength counted", Expr: "min(F_u, F_max)",
		Dim: calc.Stress, Clause: aashtoClause, Params: []calc.Param{{Symbol: "F_u", Name: "tensile strength", Dim: calc.Stress},
			{Symbol: "F_max", Name: "highest strength that the article counts", Dim: calc.Stress}}})
	aashtoSteel = calc.Define(calc.Def{Symbol: "Q_n", Name: "nominal resistance, shank governs", Expr: "A_sc*F_uc",
		Dim: calc.Force, Clause: aashtoClause, Params: []calc.Param{{Symbol: "A_sc", Name: "shank area", Dim: calc.Area},
			{Symbol: "F_uc", Name: "tensile strength counted", Dim: calc.Stress}}})
	aashtoFactored = calc.Define(calc.Def{Symbol: "Q_r", Name: "factored resistance of one stud", Expr: "phi_sc*Q_n",
		Dim: calc.Force, Clause: aashtoClause, Params: []calc.Param{{Symbol: "phi_sc", Name: "resistance factor", Dim: calc.Scalar},
			{Symbol: "Q_n", Name: "nominal resistance", Dim: calc.Force}}})
)

// Strength is nominal and factored resistance, N.
func (c AASHTO) Strength(p *calc.Pad, b basis.Basis) Strength {
	c.givens(p)
	fu := aashtoCounted.Eval(p, float64(c.Fu), b.Value(basis.StudFuAASHTO))
	a := area.Eval(p, float64(c.Diameter))
	q := aashtoConcrete.Eval(nil, a, float64(c.Fc), float64(c.Ec))
	if steel := aashtoSteel.Eval(nil, a, fu); steel <= q {
		q = aashtoSteel.Eval(p, a, fu)
	} else if p != nil {
		aashtoConcrete.Eval(p, a, float64(c.Fc), float64(c.Ec))
	}
	r := aashtoFactored.Eval(p, b.Value(basis.StudPhiAASHTO), q)
	l := limits{read: p != nil}
	l.ratioAtLeast("height over diameter", float64(c.Height/c.Diameter), b.Value(basis.StudSlenderness))
	return Strength{Nominal: units.Force(q), Factored: units.Force(r), Limits: l.list, Clause: aashtoClause}
}

// Check compares the force on one stud with its resistance.
func (c AASHTO) Check(p *calc.Pad, b basis.Basis) calc.Check {
	return check("stud.aashto", "Shear of one stud, AASHTO", c.Demand, c.Strength(p, b), p)
}
