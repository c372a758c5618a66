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
	Demand units.Force  // on this stud
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
	v := c.Mean(p, b)
	p.Note("a mean, not a design value: in the push-outs it was set against it lies above half of the tests; the collar is a by-product and its size is not assured on an upright web")
	return calc.Finish(calc.Check{Key: "stud.collar", Name: "Mean strength with the collar", Group: "repair", Demand: float64(c.Demand), Resistance: float64(v),
		Dim: calc.Force, Verdict: calc.Informs, Clause: collarTermClause, Lines: p.Lines()})
}

// collars are the guidance sizes of EN ISO 13918, type SD, in mm: diameter of the
// stud, width and height of its collar. Read second-hand in two public copies (the
// smallest in one); a misprint of one of them at 16 and 19 mm is left out.
var collars = [...]struct{ stud, width, height float64 }{
	{10, 13, 2.5}, {13, 17, 3}, {16, 21, 4.5}, {19, 23, 6}, {22, 29, 6}, {25, 31, 7},
}

// NominalCollar is the guidance size of the collar of a stud, that of the nearest
// size in the table. It is reached in the flat position; on an upright web it is
// not assured, so a measured collar always goes before it.
func NominalCollar(diameter units.Length) (width, height units.Length) {
	best := collars[0]
	for _, c := range collars {
		if math.Abs(c.stud-float64(diameter)) < math.Abs(best.stud-float64(diameter)) {
			best = c
		}
	}
	return units.Length(best.width), units.Length(best.height)
}

// GapShare is SoundShare for a gap as an inspector records it. A stud on the web
// of a girder pushes the panel down, so its collar bears below: at six o'clock.
func GapShare(diameter units.Length, g Gap) float64 {
	if !(diameter > 0) {
		return 0
	}
	return SoundShare(units.Angle(360*float64(g.Length)/(math.Pi*float64(diameter))), units.Angle(30*(g.Clock-6)))
}

// PartialCollarWords says what a partial collar costs.
const PartialCollarWords = "A partial collar costs nothing in design strength, because the collar is never part of it, once the weld is accepted: repaired with a fillet or proven by the bend. " +
	"Until then the stud does not count. The mean strength shown with the collar loses the share of the collar that is missing on its lower side, which bears; " +
	"nothing published relates strength to a missing arc, so that share is our proposal and for back-calculation only."

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
