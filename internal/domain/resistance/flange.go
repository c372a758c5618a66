package resistance

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

func flangeDef(symbol, name, expr string, d calc.Dim, params ...calc.Param) *calc.Formula {
	return calc.Define(calc.Def{Symbol: symbol, Name: name, Expr: expr, Dim: d, Clause: clauseFlange, Params: params})
}

var (
	parB  = par("B", "width of the bearing under the flange", calc.Length)
	parRu = par("R_u", "reaction", calc.Force)
	parFy = par("F_y", "yield strength of the flange", calc.Stress)

	flangeArm  = flangeDef("n", "cantilever of the flange", "max(0, B/2 - k)", calc.Length, parB, parK)
	flangeArea = flangeDef("A_1", "bearing area", "B*N", calc.Area, parB, parN)
	flangeNeed = flangeDef("t_min", "flange thickness needed", "sqrt(2*R_u*n^2/(phi*F_y*A_1))", calc.Length, parRu, par("n", "cantilever of the flange", calc.Length),
		parPhi, parFy, par("A_1", "bearing area", calc.Area))
	flangeReserve = flangeDef("q", "strength of the flange over the reaction", "phi*F_y*N*t_f^2/R_u", calc.Length, parPhi, parFy, parN, parTf, parRu)
	// The width at which t_min equals t_f: B^2/2 - (2 k + q) B + 2 k^2 = 0, the larger root.
	flangeCounted = flangeDef("B_c", "width of the bearing that counts", "2*k + q + sqrt((2*k + q)^2 - 4*k^2)", calc.Length, parK, par("q", "strength of the flange over the reaction", calc.Length))
)

// Flange is bending of the bottom flange as a cantilever beside the web, over
// even pressure from the bearing, as in AISC Design Example II.D-2. It does not
// decide: a flange that is too thin spreads the reaction over less of the bearing.
type Flange struct {
	Thickness units.Length // remaining
	K         units.Length // flange face to web toe of the fillet, remaining
	Width     units.Length // of bearing under the flange
	Length    units.Length // of bearing
	Fy        units.Stress
	Demand    units.Force
}

// Needed is the flange thickness that the whole width asks for.
func (c Flange) Needed(p *calc.Pad, b basis.Basis) units.Length {
	if !(c.Demand > 0) {
		return 0
	}
	n := flangeArm.Eval(p, float64(c.Width), float64(c.K))
	a := flangeArea.Eval(p, float64(c.Width), float64(c.Length))
	return units.Length(flangeNeed.Eval(p, float64(c.Demand), n, b.Value(basis.FlangePhi), float64(c.Fy), a))
}

// Counted is the width of the bearing that the remaining flange can use.
func (c Flange) Counted(p *calc.Pad, b basis.Basis) units.Length {
	return c.counted(p, b, c.Needed(nil, b))
}

func (c Flange) counted(p *calc.Pad, b basis.Basis, need units.Length) units.Length {
	if need <= c.Thickness {
		return c.Width
	}
	q := flangeReserve.Eval(p, b.Value(basis.FlangePhi), float64(c.Fy), float64(c.Length), float64(c.Thickness), float64(c.Demand))
	return min(c.Width, units.Length(flangeCounted.Eval(p, float64(c.K), q)))
}

// Check shows the thickness needed beside the thickness left; it does not decide.
func (c Flange) Check(p *calc.Pad, b basis.Basis) calc.Check {
	out, _ := c.check(p, b)
	return out
}

// check also returns the width of the bearing that counts.
func (c Flange) check(p *calc.Pad, b basis.Basis) (calc.Check, units.Length) {
	q := sheet(p)
	need := c.Needed(q, b)
	counted := c.counted(q, b, need)
	return calc.Finish(calc.Check{Key: "flange.cantilever", Name: "Bottom flange as a cantilever on the bearing", Group: group,
		Demand: float64(need), Resistance: float64(c.Thickness), Dim: calc.Length, Verdict: calc.Informs, Clause: clauseFlange, Lines: q.Lines()}), counted
}
