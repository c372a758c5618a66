package resistance

import (
	"slices"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

var (
	spreadEnd = calc.Define(calc.Def{Symbol: "L", Name: "length of web that yields", Expr: "N + 2.5*k", Dim: calc.Length,
		Clause: clauseJ102, Params: []calc.Param{parN, parK}})
	spreadInterior = calc.Define(calc.Def{Symbol: "L", Name: "length of web that yields", Expr: "N + 5*k", Dim: calc.Length,
		Clause: clauseJ102, Params: []calc.Param{parN, parK}})
	yieldNominal = calc.Define(calc.Def{Symbol: "R_n", Name: "nominal resistance", Expr: "F_yw*A_w", Dim: calc.Force, Clause: clauseYielding,
		Params: []calc.Param{parFyw, par("A_w", "smallest horizontal section of the web over L", calc.Area)}})
	factored = calc.Define(calc.Def{Symbol: "R_r", Name: "factored resistance", Expr: "phi*R_n", Dim: calc.Force,
		Params: []calc.Param{parPhi, parRn}})
	reduced = calc.Define(calc.Def{Symbol: "R_r", Name: "factored resistance", Expr: "alpha*phi*R_n", Dim: calc.Force, Clause: clauseProcedure,
		Params: []calc.Param{par("alpha", "factor of the procedure", calc.Scalar), parPhi, parRn}})
)

// Spread is the length of web that yields over a bearing of length n: 2.5 k to
// the span side at an end, 2.5 k to both sides where the reaction lies farther
// than the depth from the end.
func Spread(p *calc.Pad, n, k units.Length, interior bool) units.Length {
	f := spreadEnd
	if interior {
		f = spreadInterior
	}
	return units.Length(f.Eval(p, float64(n), float64(k)))
}

// Yielding is local yielding of the web over the bearing, AASHTO LRFD BDS D6.5.2
// with the algebra of AISC 360-22 J10.2: the yield strength times the smallest
// horizontal section left over the length Spread. Holes need no rule of their own.
// It decides only where no bearing stiffeners carry the reaction; Evaluate sees to that.
type Yielding struct {
	Fy         units.Stress
	Area       units.Area   // smallest horizontal section of the web over Spread
	Bearing    units.Length // full bearing length N
	K          units.Length // as built
	KLeft      units.Length // less what the flange has lost; zero for K
	Interior   bool         // the reaction lies farther than the depth from the end
	Demand     units.Force
	Alpha      float64      // factor of the procedure; 1 or zero for none
	Conditions []calc.Limit // limits of the procedure
}

// Nominal is the resistance without factor.
func (c Yielding) Nominal(p *calc.Pad) units.Force {
	if p != nil {
		k := c.KLeft
		if k == 0 {
			k = c.K
		}
		Spread(p, c.Bearing, k, c.Interior)
	}
	p.Given("A_w", "smallest horizontal section of the web over L", calc.Area, float64(c.Area), "thickness map")
	return units.Force(yieldNominal.Eval(p, float64(c.Fy), float64(c.Area)))
}

// Factored is the resistance to compare with the demand.
func (c Yielding) Factored(p *calc.Pad, b basis.Basis) units.Force {
	return factor(p, c.Nominal(p), b.Value(basis.WebPhiYielding), c.Alpha)
}

func factor(p *calc.Pad, nominal units.Force, phi, alpha float64) units.Force {
	if alpha == 0 || alpha == 1 {
		return units.Force(factored.Eval(p, phi, float64(nominal)))
	}
	return units.Force(reduced.Eval(p, alpha, phi, float64(nominal)))
}

// Check compares the reaction with the yielding resistance.
func (c Yielding) Check(p *calc.Pad, b basis.Basis) calc.Check {
	q := sheet(p)
	r := c.Factored(q, b)
	l := limits{read: p != nil, list: slices.Clip(c.Conditions)}
	l.atLeast("bearing length over k", float64(c.Bearing/c.K), 1)
	return calc.Finish(calc.Check{Key: "web.yielding", Name: "Web local yielding over the bearing", Group: group,
		Demand: float64(c.Demand), Resistance: float64(r), Dim: calc.Force,
		Limits: l.list, Clause: clauseYielding, Lines: q.Lines()})
}
