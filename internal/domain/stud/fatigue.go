package stud

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Fatigue is the fatigue of one stud under a range of shear. Cycles of zero asks
// for infinite life. By AASHTO LRFD 6.10.10.2 (finite life read second-hand,
// infinite life from memory) or, where the design basis chooses EN 1994, by the
// line of EN 1993-1-9 and EN 1994-2 (from memory).
//
// A stud cracks at its foot early in its life and loses static strength from
// then on (J. Constr. Steel Res. 63, 2007, abstract): a used-up fatigue life and
// the full static strength must not be counted together.
type Fatigue struct {
	Diameter units.Length
	Range    units.Force
	Cycles   float64
	// By is the standard; zero is the one that the design basis chooses. A
	// standard that is named is shown for information.
	By Standard
}

var (
	fatigueClause   = calc.Clause{Document: "AASHTO LRFD", Article: "6.10.10.2", Edition: "9th ed., 2020", Tag: basis.SecondHand}
	infiniteClause  = calc.Clause{Document: "AASHTO LRFD", Article: "6.10.10.2", Edition: "9th ed., 2020", Tag: basis.Memory}
	enFatigueClause = calc.Clause{Document: "EN 1994-2 and EN 1993-1-9", Edition: "2005", Tag: basis.Memory}
)

var (
	fatigueInfinite = calc.Define(calc.Def{Symbol: "Z_r", Name: "fatigue resistance, infinite life", Expr: "z_o*d^2", Dim: calc.Force, Clause: infiniteClause,
		Params: []calc.Param{{Symbol: "z_o", Name: "constant of infinite life", Dim: calc.Stress}, {Symbol: "d", Name: "stud diameter", Dim: calc.Length}}})
	fatigueFinite = calc.Define(calc.Def{Symbol: "Z_r", Name: "fatigue resistance, finite life", Expr: "(z_a - z_b*log10(N))*d^2", Dim: calc.Force, Clause: fatigueClause,
		Params: []calc.Param{{Symbol: "z_a", Name: "first constant", Dim: calc.Stress}, {Symbol: "z_b", Name: "factor of the logarithm", Dim: calc.Stress},
			{Symbol: "N", Name: "cycles", Dim: calc.Scalar}, {Symbol: "d", Name: "stud diameter", Dim: calc.Length}}})
	fatigueEN = calc.Define(calc.Def{Symbol: "dtau_R", Name: "shear stress range at N cycles", Expr: "dtau_C*(2e6/N)^(1/m)", Dim: calc.Stress, Clause: enFatigueClause,
		Params: []calc.Param{{Symbol: "dtau_C", Name: "range at two million cycles", Dim: calc.Stress}, {Symbol: "N", Name: "cycles", Dim: calc.Scalar},
			{Symbol: "m", Name: "slope", Dim: calc.Scalar}}})
	fatigueENForce = calc.Define(calc.Def{Symbol: "P_R", Name: "force range of one stud", Expr: "dtau_R*pi*d^2/4", Dim: calc.Force, Clause: enFatigueClause,
		Params: []calc.Param{{Symbol: "dtau_R", Name: "shear stress range", Dim: calc.Stress}, {Symbol: "d", Name: "stud diameter", Dim: calc.Length}}})
)

// Resistance is the range of force that the stud survives, N. A range below zero
// (more cycles than the finite-life line reaches) is returned as zero. EN 1994
// has no infinite life: one hundred million cycles stand for it.
func (c Fatigue) Resistance(p *calc.Pad, b basis.Basis) (units.Force, calc.Clause) {
	d := float64(c.Diameter)
	by := c.By
	if by == 0 {
		by = StandardOf(b)
	}
	if by == ByEN {
		n := c.Cycles
		if n == 0 {
			n = 1e8
		}
		tau := fatigueEN.Eval(p, b.Value(basis.StudFatigueEN), n, b.Value(basis.StudFatigueSlopeEN))
		return units.Force(fatigueENForce.Eval(p, tau, d)), enFatigueClause
	}
	if c.Cycles == 0 {
		return units.Force(fatigueInfinite.Eval(p, b.Value(basis.StudFatigueInfinite), d)), infiniteClause
	}
	z := fatigueFinite.Eval(p, b.Value(basis.StudFatigueA), b.Value(basis.StudFatigueB), c.Cycles, d)
	return units.Force(math.Max(0, z)), fatigueClause
}

// Check compares the force range on one stud with its resistance. Cycles that
// are negative or not a number put it outside the rule.
func (c Fatigue) Check(p *calc.Pad, b basis.Basis) calc.Check {
	z, clause := c.Resistance(p, b)
	l := limits{read: p != nil}
	if met := c.Cycles >= 0 && !math.IsInf(c.Cycles, 1); l.wants(met) {
		l.add(met, "cycles %g, not negative", c.Cycles)
	}
	out := calc.Check{Key: "repair.fatigue", Name: "Fatigue of the hardest worked stud", Group: "repair", Demand: float64(c.Range),
		Resistance: float64(z), Dim: calc.Force, Limits: l.list, Clause: clause, Lines: p.Lines()}
	switch c.By {
	case ByAASHTO, ByAISC:
		out.Key, out.Name, out.Verdict = "stud.fatigue_aashto", "Fatigue of the hardest worked stud, AASHTO", calc.Informs
	case ByEN:
		out.Key, out.Name, out.Verdict = "stud.fatigue_en1994", "Fatigue of the hardest worked stud, EN 1994", calc.Informs
	}
	return calc.Finish(out)
}
