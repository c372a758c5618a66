package encasement

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

var modulusClause = calc.Clause{Document: "AASHTO UHPC guide specification", Edition: "1st ed., 2024", Tag: basis.Memory}

var modulus = calc.Define(calc.Def{Symbol: "E_c", Name: "modulus of the UHPC", Expr: "E_1*(f'_c/1[ksi])^n_E", Dim: calc.Stress, Clause: modulusClause,
	Params: []calc.Param{{Symbol: "E_1", Name: "modulus at 1 ksi", Dim: calc.Stress}, {Symbol: "f'_c", Name: "strength of the UHPC", Dim: calc.Stress},
		{Symbol: "n_E", Name: "power", Dim: calc.Scalar}}})

// Modulus is the modulus of elasticity of UHPC of a strength.
func Modulus(p *calc.Pad, b basis.Basis, fc units.Stress) units.Stress {
	return units.Stress(modulus.Eval(p, b.Value(basis.PanelModulus), float64(fc), b.Value(basis.PanelModulusPower)))
}
