package stud

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

var aiscBeamClause = calc.Clause{Document: "AISC 360", Article: "I8.2a", Edition: "2022", Tag: basis.Read}

var (
	aiscBeamConcrete = calc.Define(calc.Def{Symbol: "Q_n", Name: "nominal resistance in a composite beam, concrete governs", Expr: "0.5*A_sa*sqrt(f'_c*E_c)",
		Dim: calc.Force, Clause: aiscBeamClause, Params: []calc.Param{{Symbol: "A_sa", Name: "shank area", Dim: calc.Area},
			{Symbol: "f'_c", Name: "concrete strength", Dim: calc.Stress}, {Symbol: "E_c", Name: "concrete modulus", Dim: calc.Stress}}})
	aiscBeamSteel = calc.Define(calc.Def{Symbol: "Q_n", Name: "nominal resistance in a composite beam, stud on bare steel", Expr: "1.0*0.75*A_sa*F_u",
		Dim: calc.Force, Clause: aiscBeamClause, Params: []calc.Param{{Symbol: "A_sa", Name: "shank area", Dim: calc.Area},
			{Symbol: "F_u", Name: "tensile strength", Dim: calc.Stress}}})
)

// AISCBeam is the nominal resistance of one stud by the composite beam rule of
// AISC 360-22 I8.2a (read), stud welded to bare steel. It serves as a second
// opinion: the panel is not a beam slab, and the rule has no factor of its own.
func AISCBeam(p *calc.Pad, s Stud) units.Force {
	a := area.Eval(p, float64(s.Diameter))
	c := aiscBeamConcrete.Eval(nil, a, float64(s.Fc), float64(s.Ec))
	if st := aiscBeamSteel.Eval(nil, a, float64(s.Fu)); st <= c {
		return units.Force(aiscBeamSteel.Eval(p, a, float64(s.Fu)))
	}
	return units.Force(aiscBeamConcrete.Eval(p, a, float64(s.Fc), float64(s.Ec)))
}
