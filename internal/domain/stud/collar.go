package stud

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// CollarTerm is the mean shear strength of a stud with its weld collar, from
// German studies of about 2001 to 2006 (from memory). It is for information: the
// collar is a by-product that varies, mostly so on a vertical web, and in the
// push-outs the program was set against the formula is above half of the tests.
// It never enters a design resistance.
type CollarTerm struct {
	Stud
	Width  units.Length // measured outer diameter of the collar
	Length units.Length // measured height of the collar
	Sound  float64      // sound share of the bearing side, see SoundShare
}

var collarTermClause = calc.Clause{Document: "studies of studs in high-strength concrete", Edition: "2001 to 2006", Tag: basis.Memory}

var collarTerm = calc.Define(calc.Def{Symbol: "P_u", Name: "mean strength with the collar", Expr: "(pi*d^2/4)*f_u + zeta*eta*f_c*d_wc*l_wc", Dim: calc.Force,
	Clause: collarTermClause, Params: []calc.Param{{Symbol: "d", Name: "stud diameter", Dim: calc.Length}, {Symbol: "f_u", Name: "tensile strength", Dim: calc.Stress},
		{Symbol: "zeta", Name: "sound share of the collar", Dim: calc.Scalar}, {Symbol: "eta", Name: "factor of the collar", Dim: calc.Scalar},
		{Symbol: "f_c", Name: "concrete strength", Dim: calc.Stress}, {Symbol: "d_wc", Name: "collar diameter", Dim: calc.Length},
		{Symbol: "l_wc", Name: "collar height", Dim: calc.Length}}})

// Mean is the mean strength, N.
func (c CollarTerm) Mean(p *calc.Pad, b basis.Basis) units.Force {
	return units.Force(collarTerm.Eval(p, float64(c.Diameter), float64(c.Fu), c.Sound, b.Value(basis.StudEta), float64(c.Fc), float64(c.Width), float64(c.Length)))
}

// Check shows the mean strength; it decides nothing.
func (c CollarTerm) Check(p *calc.Pad, b basis.Basis) calc.Check {
	return calc.Finish(calc.Check{Key: "stud.collar", Name: "Mean strength with the collar", Group: "repair", Resistance: float64(c.Mean(p, b)),
		Dim: calc.Force, Verdict: calc.Informs, Clause: collarTermClause, Lines: p.Lines()})
}

// SoundShare is the share of the collar left on the side that bears, seen along
// the force, for a gap of width gap whose middle lies at from the bearing
// direction. Our proposal, for back-calculation only: nothing published relates
// strength to a missing arc.
func SoundShare(gap, at units.Angle) float64 {
	g := math.Max(0, math.Min(360, float64(gap)))
	a := math.Mod(float64(at), 360)
	lost := 0.0
	// The gap may enter the bearing half from either end.
	for _, turn := range [...]float64{-360, 0, 360} {
		lo := math.Max(-90, a+turn-g/2)
		hi := math.Min(90, a+turn+g/2)
		if hi > lo {
			lost += (math.Sin(hi*math.Pi/180) - math.Sin(lo*math.Pi/180)) / 2
		}
	}
	return math.Max(0, 1-lost)
}
