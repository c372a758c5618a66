package stud

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// EN1994 is the shear resistance of one stud by EN 1994-1-1 6.6.3.1 (quoted on
// public pages). Concrete strength and modulus are counted up to C60/75 only,
// the end of the standard's range.
type EN1994 struct {
	Stud
	Demand units.Force
}

var enClause = calc.Clause{Document: "EN 1994-1-1", Article: "6.6.3.1", Edition: "2004", Tag: basis.SecondHand}

var (
	enAlpha = calc.Define(calc.Def{Symbol: "alpha", Name: "factor of a short stud", Expr: "0.2*(h/d + 1)", Dim: calc.Scalar, Clause: enClause,
		Params: []calc.Param{{Symbol: "h", Name: "stud height", Dim: calc.Length}, {Symbol: "d", Name: "stud diameter", Dim: calc.Length}}})
	enConcrete = calc.Define(calc.Def{Symbol: "P_Rd", Name: "design resistance, concrete governs", Expr: "0.29*alpha*d^2*sqrt(f_ck*E_cm)/gamma_V",
		Dim: calc.Force, Clause: enClause, Params: []calc.Param{{Symbol: "alpha", Name: "factor of a short stud", Dim: calc.Scalar},
			{Symbol: "d", Name: "stud diameter", Dim: calc.Length}, {Symbol: "f_ck", Name: "concrete strength counted", Dim: calc.Stress},
			{Symbol: "E_cm", Name: "concrete modulus counted", Dim: calc.Stress}, {Symbol: "gamma_V", Name: "partial factor", Dim: calc.Scalar}}})
	enSteel = calc.Define(calc.Def{Symbol: "P_Rd", Name: "design resistance, shank governs", Expr: "0.8*f_u*(pi*d^2/4)/gamma_V",
		Dim: calc.Force, Clause: enClause, Params: []calc.Param{{Symbol: "f_u", Name: "tensile strength counted", Dim: calc.Stress},
			{Symbol: "d", Name: "stud diameter", Dim: calc.Length}, {Symbol: "gamma_V", Name: "partial factor", Dim: calc.Scalar}}})
)

// Strength is nominal (without the partial factor) and design resistance, N.
func (c EN1994) Strength(p *calc.Pad, b basis.Basis) Strength {
	c.givens(p)
	d, ratio := float64(c.Diameter), float64(c.Height/c.Diameter)
	fu := min(float64(c.Fu), b.Value(basis.StudFuEN))
	fc, ec := min(float64(c.Fc), b.Value(basis.StudFcEN)), min(float64(c.Ec), b.Value(basis.StudEcmEN))
	gamma := b.Value(basis.StudGammaV)
	alpha := 1.0
	if ratio < 4 {
		alpha = enAlpha.Eval(p, float64(c.Height), d)
	}
	r := enConcrete.Eval(nil, alpha, d, fc, ec, gamma)
	if steel := enSteel.Eval(nil, fu, d, gamma); steel <= r {
		r = enSteel.Eval(p, fu, d, gamma)
	} else if p != nil {
		enConcrete.Eval(p, alpha, d, fc, ec, gamma)
	}
	l := limits{read: p != nil}
	l.ratioAtLeast("height over diameter", ratio, 3)
	if met := d >= 16*(1-rounding) && d <= 25.4*(1+rounding); l.wants(met) {
		l.add(met, "stud diameter is %s, from 16 to 25 mm (1 in. counts as 25 mm)", both(c.Diameter))
	}
	return Strength{Nominal: units.Force(r * gamma), Factored: units.Force(r), Limits: l.list, Clause: enClause}
}

// Check compares the force on one stud with its resistance.
func (c EN1994) Check(p *calc.Pad, b basis.Basis) calc.Check {
	return check("stud.en1994", "Shear of one stud, EN 1994", c.Demand, c.Strength(p, b), p)
}
