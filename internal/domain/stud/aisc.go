package stud

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// AISC is the shear resistance of one stud by the composite component rule of
// AISC 360-22 I8.3a (read). It holds where concrete breakout cannot govern; a
// panel seated on the flange has a supported edge there.
type AISC struct {
	Stud
	Demand units.Force
}

// AISCTension is a stud in shear and tension, AISC 360-22 I8.3c (read).
type AISCTension struct {
	Stud
	Shear   units.Force
	Tension units.Force
}

var (
	aiscClause        = calc.Clause{Document: "AISC 360", Article: "I8.3a", Edition: "2022", Tag: basis.Read}
	aiscTensionClause = calc.Clause{Document: "AISC 360", Article: "I8.3b", Edition: "2022", Tag: basis.Read}
	aiscBothClause    = calc.Clause{Document: "AISC 360", Article: "I8.3c", Edition: "2022", Tag: basis.Read}
)

var (
	aiscNominal = calc.Define(calc.Def{Symbol: "Q_nv", Name: "nominal shear resistance", Expr: "F_u*A_sc", Dim: calc.Force, Clause: aiscClause,
		Params: []calc.Param{{Symbol: "F_u", Name: "tensile strength", Dim: calc.Stress}, {Symbol: "A_sc", Name: "shank area", Dim: calc.Area}}})
	aiscFactored = calc.Define(calc.Def{Symbol: "Q_cv", Name: "factored shear resistance of one stud", Expr: "phi_v*Q_nv", Dim: calc.Force, Clause: aiscClause,
		Params: []calc.Param{{Symbol: "phi_v", Name: "resistance factor", Dim: calc.Scalar}, {Symbol: "Q_nv", Name: "nominal shear resistance", Dim: calc.Force}}})
	aiscPull = calc.Define(calc.Def{Symbol: "Q_ct", Name: "factored tension resistance of one stud", Expr: "phi_t*F_u*A_sc", Dim: calc.Force, Clause: aiscTensionClause,
		Params: []calc.Param{{Symbol: "phi_t", Name: "resistance factor", Dim: calc.Scalar}, {Symbol: "F_u", Name: "tensile strength", Dim: calc.Stress},
			{Symbol: "A_sc", Name: "shank area", Dim: calc.Area}}})
	aiscBoth = calc.Define(calc.Def{Symbol: "U", Name: "use in shear and tension", Expr: "(Q_rt/Q_ct)^(5/3) + (Q_rv/Q_cv)^(5/3)", Dim: calc.Scalar, Clause: aiscBothClause,
		Params: []calc.Param{{Symbol: "Q_rt", Name: "tension", Dim: calc.Force}, {Symbol: "Q_ct", Name: "factored tension resistance", Dim: calc.Force},
			{Symbol: "Q_rv", Name: "shear", Dim: calc.Force}, {Symbol: "Q_cv", Name: "factored shear resistance", Dim: calc.Force}}})
)

// Strength is nominal and factored resistance, N.
func (c AISC) Strength(p *calc.Pad, b basis.Basis) Strength {
	c.givens(p)
	a := area.Eval(p, float64(c.Diameter))
	q := aiscNominal.Eval(p, float64(c.Fu), a)
	r := aiscFactored.Eval(p, b.Value(basis.StudPhiAISC), q)
	l := limits{read: p != nil}
	l.ratioAtLeast("height over diameter", float64(c.Height/c.Diameter), b.Value(basis.StudSlendernessAISC))
	l.lengthAtMost("stud diameter", c.Diameter, units.Length(b.Value(basis.StudDiameterAISC)))
	return Strength{Nominal: units.Force(q), Factored: units.Force(r), Limits: l.list, Clause: aiscClause}
}

// Check compares the force on one stud with its resistance.
func (c AISC) Check(p *calc.Pad, b basis.Basis) calc.Check {
	return check("stud.aisc", "Shear of one stud, AISC", c.Demand, c.Strength(p, b), p)
}

// Use is the interaction of shear and tension; 1 is full use.
func (c AISCTension) Use(p *calc.Pad, b basis.Basis) float64 {
	shear := AISC{Stud: c.Stud}.Strength(p, b)
	a := area.Eval(nil, float64(c.Diameter))
	pull := aiscPull.Eval(p, b.Value(basis.StudPhiTensionAISC), float64(c.Fu), a)
	return aiscBoth.Eval(p, math.Abs(float64(c.Tension)), pull, math.Abs(float64(c.Shear)), float64(shear.Factored))
}

// Check compares the interaction of shear and tension with 1.
func (c AISCTension) Check(p *calc.Pad, b basis.Basis) calc.Check {
	u := c.Use(p, b)
	l := limits{read: p != nil}
	l.ratioAtLeast("height over diameter", float64(c.Height/c.Diameter), b.Value(basis.StudSlendernessTension))
	return calc.Finish(calc.Check{Key: "stud.tension", Name: "Stud in shear and tension", Group: "repair", Demand: u, Resistance: 1,
		Dim: calc.Scalar, Limits: l.list, Clause: aiscBothClause, Lines: p.Lines()})
}
