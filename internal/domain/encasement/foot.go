package encasement

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Foot is bearing of one face's panel on the bottom flange over the bearing:
// AASHTO LRFD 5.6.5 without gain from confinement (from memory). The width that
// bears is what the sole plate supports and what the remaining flange can carry
// beside it by bending, not more than the panel or the flange.
type Foot struct {
	Demand      units.Force // the whole reaction
	Share       float64     // part of it that this face carries
	Fc          units.Stress
	Contact     units.Length // along the girder, over the bearing
	Thickness   units.Length // of the panel
	Overhang    units.Length // of the flange beside the web
	Supported   units.Length // of it over the sole plate
	Flange      units.Length // remaining thickness
	FlangeYield units.Stress
}

var (
	footClause   = calc.Clause{Document: "AASHTO LRFD", Article: "5.6.5", Edition: "9th ed., 2020", Tag: basis.Memory}
	flangeClause = calc.Clause{Document: "base-plate mechanics", Tag: basis.Memory}
)

var (
	footStress = calc.Define(calc.Def{Symbol: "f_b", Name: "factored bearing stress", Expr: "phi_b*k_b*f'_c", Dim: calc.Stress, Clause: footClause,
		Params: []calc.Param{{Symbol: "phi_b", Name: "resistance factor", Dim: calc.Scalar}, {Symbol: "k_b", Name: "bearing factor", Dim: calc.Scalar},
			{Symbol: "f'_c", Name: "strength of the UHPC", Dim: calc.Stress}}})
	footReach = calc.Define(calc.Def{Symbol: "c", Name: "flange that bends beside its support", Expr: "t_f*sqrt(phi_f*F_y/(2*f_b))", Dim: calc.Length, Clause: flangeClause,
		Params: []calc.Param{{Symbol: "t_f", Name: "remaining flange thickness", Dim: calc.Length}, {Symbol: "phi_f", Name: "resistance factor", Dim: calc.Scalar},
			{Symbol: "F_y", Name: "yield strength of the flange", Dim: calc.Stress}, {Symbol: "f_b", Name: "factored bearing stress", Dim: calc.Stress}}})
	footWidth = calc.Define(calc.Def{Symbol: "w", Name: "width that bears", Expr: "min(t_p, b_o, w_s + c)", Dim: calc.Length, Clause: flangeClause,
		Params: []calc.Param{{Symbol: "t_p", Name: "panel thickness", Dim: calc.Length}, {Symbol: "b_o", Name: "flange beside the web", Dim: calc.Length},
			{Symbol: "w_s", Name: "flange over the sole plate beside the web", Dim: calc.Length}, {Symbol: "c", Name: "flange that bends", Dim: calc.Length}}})
	footStrength = calc.Define(calc.Def{Symbol: "R_b", Name: "reaction that this foot allows", Expr: "f_b*b*w/s", Dim: calc.Force, Clause: footClause,
		Params: []calc.Param{{Symbol: "f_b", Name: "factored bearing stress", Dim: calc.Stress}, {Symbol: "b", Name: "length that bears", Dim: calc.Length},
			{Symbol: "w", Name: "width that bears", Dim: calc.Length}, {Symbol: "s", Name: "share of the face", Dim: calc.Scalar}}})
)

// Resistance is the reaction that this foot allows, N.
func (c Foot) Resistance(p *calc.Pad, b basis.Basis) float64 {
	f := footStress.Eval(p, b.Value(basis.PanelPhiBearing), b.Value(basis.PanelBearingFactor), float64(c.Fc))
	reach := footReach.Eval(p, math.Max(0, float64(c.Flange)), b.Value(basis.PanelPhiFlange), float64(c.FlangeYield), f)
	w := footWidth.Eval(p, float64(c.Thickness), math.Max(0, float64(c.Overhang)), float64(c.Supported), reach)
	return footStrength.Eval(p, f, math.Max(0, float64(c.Contact)), w, c.Share)
}

// Check compares the reaction with what the foot allows.
func (c Foot) Check(p *calc.Pad, b basis.Basis) calc.Check {
	return calc.Finish(calc.Check{Key: KeyFoot, Name: "Bearing of the panel on the flange", Group: repair, Demand: float64(c.Demand),
		Resistance: c.Resistance(p, b), Dim: calc.Force, Clause: footClause, Lines: p.Lines()})
}
