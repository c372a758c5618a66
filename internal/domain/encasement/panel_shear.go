package encasement

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// PanelShear is shear in one face's panel beside the bearing: what the studs
// beyond an edge of the bearing hand to the panel has to cross the upright
// section at that edge (AASHTO UHPC guide specification, from memory). Studs over
// the bearing ask for none.
type PanelShear struct {
	Demand    units.Force // the whole reaction
	Share     float64     // part of it that this face carries beyond an edge
	Thickness units.Length
	Height    units.Length
}

var panelShearClause = calc.Clause{Document: "AASHTO UHPC guide specification", Edition: "1st ed., 2024", Tag: basis.Memory}

var panelShearStrength = calc.Define(calc.Def{Symbol: "R_v", Name: "reaction that panel shear allows", Expr: "phi_u*gamma_u*f_t*t_p*h_p/(tan(theta)*s)", Dim: calc.Force,
	Clause: panelShearClause, Params: []calc.Param{{Symbol: "phi_u", Name: "resistance factor", Dim: calc.Scalar}, {Symbol: "gamma_u", Name: "reduction for scatter", Dim: calc.Scalar},
		{Symbol: "f_t", Name: "tension that UHPC holds", Dim: calc.Stress}, {Symbol: "t_p", Name: "panel thickness", Dim: calc.Length},
		{Symbol: "h_p", Name: "panel height", Dim: calc.Length}, {Symbol: "theta", Name: "angle of the struts", Dim: calc.Angle},
		{Symbol: "s", Name: "share of the face beyond the bearing", Dim: calc.Scalar}}})

// Resistance is the reaction that panel shear allows, N.
func (c PanelShear) Resistance(p *calc.Pad, b basis.Basis) float64 {
	return panelShearStrength.Eval(p, b.Value(basis.PanelPhiShear), b.Value(basis.PanelGammaU), b.Value(basis.PanelTension),
		float64(c.Thickness), float64(c.Height), b.Value(basis.PanelShearAngle), c.Share)
}

// Check compares the reaction with what panel shear allows.
func (c PanelShear) Check(p *calc.Pad, b basis.Basis) calc.Check {
	return calc.Finish(calc.Check{Key: KeyPanelShear, Name: "Shear of the panel beside the bearing", Group: repair, Demand: float64(c.Demand),
		Resistance: c.Resistance(p, b), Dim: calc.Force, Clause: panelShearClause, Lines: p.Lines()})
}
