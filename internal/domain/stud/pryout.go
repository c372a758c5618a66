package stud

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// PryOut is the concrete pry-out of one short stud, ACI 318-19 17.7.3 (from
// memory), for ordinary concrete: it counts strength to a limit only and no
// fibers, so it is low for UHPC. Advice for short studs, never a resistance.
type PryOut struct {
	Stud
	Demand units.Force // on this stud
}

var pryOutClause = calc.Clause{Document: "ACI 318", Article: "17.7.3", Edition: "2019", Tag: basis.Memory}

var (
	pryDepth = calc.Define(calc.Def{Symbol: "h_ef", Name: "stud below its head", Expr: "h - k_h*d", Dim: calc.Length, Clause: pryOutClause,
		Params: []calc.Param{{Symbol: "h", Name: "stud height", Dim: calc.Length}, {Symbol: "k_h", Name: "head thickness over diameter", Dim: calc.Scalar},
			{Symbol: "d", Name: "stud diameter", Dim: calc.Length}}})
	pryBreakout = calc.Define(calc.Def{Symbol: "N_b", Name: "breakout of one stud", Expr: "k_c*sqrt(f'_c*0.001[ksi])*h_ef^1.5*sqrt(1[in])", Dim: calc.Force, Clause: pryOutClause,
		Params: []calc.Param{{Symbol: "k_c", Name: "factor of breakout", Dim: calc.Scalar}, {Symbol: "f'_c", Name: "strength counted", Dim: calc.Stress},
			{Symbol: "h_ef", Name: "stud below its head", Dim: calc.Length}}})
	pryOut = calc.Define(calc.Def{Symbol: "V_cp", Name: "pry-out of one stud", Expr: "k_cp*N_b", Dim: calc.Force, Clause: pryOutClause,
		Params: []calc.Param{{Symbol: "k_cp", Name: "factor of pry-out", Dim: calc.Scalar}, {Symbol: "N_b", Name: "breakout of one stud", Dim: calc.Force}}})
)

// Resistance is the pry-out of one stud, N; zero for a stud no longer than its
// head.
func (c PryOut) Resistance(p *calc.Pad, b basis.Basis) units.Force {
	depth := pryDepth.Eval(p, float64(c.Height), b.Value(basis.StudHeadRatio), float64(c.Diameter))
	if !(depth > 0) {
		return 0
	}
	n := pryBreakout.Eval(p, b.Value(basis.StudPryFactor), math.Min(float64(c.Fc), b.Value(basis.StudPryFc)), depth)
	k := 2.0
	if depth < 2.5*float64(units.Inch)*(1-rounding) {
		k = 1
	}
	return units.Force(pryOut.Eval(p, k, n))
}

// Check shows the pry-out; it decides nothing.
func (c PryOut) Check(p *calc.Pad, b basis.Basis) calc.Check {
	v := c.Resistance(p, b)
	l := limits{read: p != nil}
	l.ratioAtLeast("height over diameter, below which a cited test has to stand in for the rule,", float64(c.Height/c.Diameter), b.Value(basis.StudSlenderness))
	p.Note("for ordinary concrete: strength is counted to a limit and fibers are not, so it is low for UHPC")
	return calc.Finish(calc.Check{Key: "stud.pryout", Name: "Pry-out of a short stud", Group: "repair", Demand: float64(c.Demand), Resistance: float64(v),
		Dim: calc.Force, Verdict: calc.Informs, Limits: l.list, Clause: pryOutClause, Lines: p.Lines()})
}
