package resistance

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

var paramsCrippling = []calc.Param{parTw, parN, parD, parTf, parE, parFyw}

var (
	crippleInterior = calc.Define(calc.Def{Symbol: "R_n", Name: "nominal resistance, half the depth or more from the end", Dim: calc.Force,
		Expr: "0.80*t_w^2*(1 + 3*N/d*(t_w/t_f)^1.5)*sqrt(E*F_yw*t_f/t_w)", Clause: clauseJ103, Params: paramsCrippling})
	crippleShort = calc.Define(calc.Def{Symbol: "R_n", Name: "nominal resistance at an end, N/d at most 0.2", Dim: calc.Force,
		Expr: "0.40*t_w^2*(1 + 3*N/d*(t_w/t_f)^1.5)*sqrt(E*F_yw*t_f/t_w)", Clause: clauseJ103, Params: paramsCrippling})
	crippleLong = calc.Define(calc.Def{Symbol: "R_n", Name: "nominal resistance at an end, N/d above 0.2", Dim: calc.Force,
		Expr: "0.40*t_w^2*(1 + (4*N/d - 0.2)*(t_w/t_f)^1.5)*sqrt(E*F_yw*t_f/t_w)", Clause: clauseJ103, Params: paramsCrippling})
	// The resistance has its least value where its slope in t_f is zero:
	// d/dt_f of sqrt(t_f) (1 + q (t_w/t_f)^1.5) = 0.
	worstFlange = calc.Define(calc.Def{Symbol: "t_f", Name: "flange thickness at which the resistance is least", Dim: calc.Length,
		Expr: "t_w*(2*q)^(2/3)", Clause: clauseProcedure, Params: []calc.Param{parTw, par("q", "factor of (t_w/t_f)^1.5", calc.Scalar)}})
)

// Crippling is local crippling of the web over the bearing, AASHTO LRFD BDS
// D6.5.3 with the algebra of AISC 360-22 J10.3. It decides only where no bearing
// stiffeners carry the reaction; Evaluate sees to that.
//
// The rule is not monotonic in the flange: over a sound web a thinner flange would
// seem to add strength. So the flange counts with whichever thickness from the
// remaining to the as-built one gives least.
type Crippling struct {
	Depth         units.Length // d, as built
	Fy            units.Stress
	Thickness     units.Length // of the web, as the procedure reads the map
	Reading       string       // how it was read, for the sheet
	Flange        units.Length // remaining
	FlangeAsBuilt units.Length
	Bearing       units.Length // counted bearing length, less holes in the lowest row
	Interior      bool
	Demand        units.Force
	Alpha         float64      // factor of the procedure; 1 or zero for none
	Conditions    []calc.Limit // limits of the procedure
	Band          bool         // the other end of the modelling band: shown, does not decide
}

// Nominal is the resistance without factor. Without web or flange it is zero.
func (c Crippling) Nominal(p *calc.Pad, b basis.Basis) units.Force {
	tw, tf, d := float64(c.Thickness), float64(c.Flange), float64(c.Depth)
	n := max(0, float64(c.Bearing))
	if !(tw > sliver) || !(tf > sliver) || !(d > 0) {
		p.Note("no web or no flange is left to resist crippling")
		return 0
	}
	e, fy := b.Value(basis.SteelModulus), float64(c.Fy)
	f, q := crippleShort, 3*n/d
	switch {
	case c.Interior:
		f = crippleInterior
	case n/d > 0.2:
		f, q = crippleLong, 4*n/d-0.2
	}
	counted, least := tf, f.Eval(nil, tw, n, d, tf, e, fy)
	from, to := tf, float64(c.FlangeAsBuilt)
	if !(from >= to) {
		for _, t := range [2]float64{to, worstFlange.Eval(nil, tw, q)} {
			if t <= from || t > to {
				continue
			}
			if r := f.Eval(nil, tw, n, d, t, e, fy); r < least {
				counted, least = t, r
			}
		}
	}
	if p == nil {
		return units.Force(least)
	}
	p.Given("t_w", "web thickness", calc.Length, tw, c.Reading)
	p.Given("N", "bearing length less holes in the lowest row", calc.Length, n, "thickness map")
	if counted != tf {
		p.Note("the flange counts with the thickness, from the remaining to the as-built one, that gives least")
		if counted != to {
			worstFlange.Eval(p, tw, q)
		}
	}
	return units.Force(f.Eval(p, tw, n, d, counted, e, fy))
}

// Factored is the resistance to compare with the demand.
func (c Crippling) Factored(p *calc.Pad, b basis.Basis) units.Force {
	return factor(p, c.Nominal(p, b), b.Value(basis.WebPhiCrippling), c.Alpha)
}

// Check compares the reaction with the crippling resistance.
func (c Crippling) Check(p *calc.Pad, b basis.Basis) calc.Check {
	q := sheet(p)
	r := c.Factored(q, b)
	out := calc.Check{Key: "web.crippling", Name: "Web local crippling over the bearing", Group: group,
		Demand: float64(c.Demand), Resistance: float64(r), Dim: calc.Force,
		Limits: c.Conditions, Clause: clauseCrippling, Lines: q.Lines()}
	if c.Band {
		out.Key, out.Name, out.Verdict = "web.crippling_band", "Web local crippling, upper end of the band", calc.Informs
	}
	return calc.Finish(out)
}

// interior reports whether a reaction at x counts as away from the end.
func interior(x, depth, part float64) bool { return !math.IsNaN(x) && x >= depth*part }
