package resistance

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

var (
	parPlates = par("n", "stiffener plates", calc.Scalar)
	parBt     = par("b_t", "projecting width", calc.Length)
	parTp     = par("t_p", "stiffener thickness", calc.Length)

	fittedArea = calc.Define(calc.Def{Symbol: "A_pn", Name: "contact area outside the clip", Expr: "n*(b_t - c)*t_p", Dim: calc.Area, Clause: clauseFitted,
		Params: []calc.Param{parPlates, parBt, par("c", "clip", calc.Length), parTp}})
	fittedNominal = calc.Define(calc.Def{Symbol: "R_n", Name: "nominal bearing resistance", Expr: "c_b*A_pn*F_ys", Dim: calc.Force, Clause: clauseFitted,
		Params: []calc.Param{par("c_b", "bearing over yield strength", calc.Scalar), par("A_pn", "contact area outside the clip", calc.Area), parFys}})
)

// StiffenerBearing is bearing of the fitted ends of the stiffeners on the flange,
// AASHTO LRFD BDS 6.10.11.2.3, with the contact area that is left.
type StiffenerBearing struct {
	Plates    int          // two to a pair
	Width     units.Length // remaining
	Thickness units.Length // remaining
	Clip      units.Length
	Fy        units.Stress
	Demand    units.Force
	// Limits of the procedure that touch the ends of the plates: a flange to stand on.
	Conditions []calc.Limit
}

// Nominal is the resistance without factor.
func (c StiffenerBearing) Nominal(p *calc.Pad, b basis.Basis) units.Force {
	if !(c.Width > c.Clip) || !(c.Thickness > sliver) {
		p.Note("no contact is left outside the clip")
		return 0
	}
	a := fittedArea.Eval(p, float64(c.Plates), float64(c.Width), float64(c.Clip), float64(c.Thickness))
	return units.Force(fittedNominal.Eval(p, b.Value(basis.StiffenerBearing), a, float64(c.Fy)))
}

// Factored is the resistance to compare with the demand.
func (c StiffenerBearing) Factored(p *calc.Pad, b basis.Basis) units.Force {
	return factor(p, c.Nominal(p, b), b.Value(basis.StiffenerPhiBearing), 1)
}

// Check compares the reaction with the bearing resistance.
func (c StiffenerBearing) Check(p *calc.Pad, b basis.Basis) calc.Check {
	q := sheet(p)
	r := c.Factored(q, b)
	return calc.Finish(calc.Check{Key: "stiffener.bearing", Name: "Bearing stiffeners, bearing on the flange", Group: group,
		Demand: float64(c.Demand), Resistance: float64(r), Dim: calc.Force, Limits: c.Conditions, Clause: clauseFitted, Lines: q.Lines()})
}
