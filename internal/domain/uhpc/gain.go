package uhpc

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// Gain is a curve of strength against age. It tells when to break a set and what
// to expect of it; it never releases a casting.
//
// The plateau is not the strength at 28 days: at that age the curve still lies
// below it.
type Gain struct {
	Plateau units.Stress
	Start   float64 // days before which there is no strength
	Scale   float64 // days
	Shape   float64
}

var gained = calc.Define(calc.Def{Symbol: "f_t", Name: "expected strength", Expr: "f_u*(1 - exp(-((t - t_0)/a)^b))", Dim: calc.Stress,
	Params: []calc.Param{{Symbol: "f_u", Name: "plateau of the curve", Dim: calc.Stress}, {Symbol: "t", Name: "age", Dim: calc.Days},
		{Symbol: "t_0", Name: "age at which strength begins", Dim: calc.Days}, {Symbol: "a", Name: "scale", Dim: calc.Days}, {Symbol: "b", Name: "shape", Dim: calc.Scalar}},
	Clause: calc.Clause{Document: "FHWA-HRT-12-064", Edition: "2012, with errata", Tag: basis.Read}})

// At28 is the strength of the curve at 28 days, which is below its plateau.
func (g Gain) At28() units.Stress { return g.At(nil, 28) }

// GainOf is the curve of the design basis for a material of the given plateau. Its
// form is read in FHWA-HRT-12-064; the parameters are those of FHWA-HRT-06-103 for
// untreated material, from memory, until a supplier's or a fitted curve replaces them.
func GainOf(plateau units.Stress, b basis.Basis) Gain {
	return Gain{Plateau: plateau, Start: b.Value(basis.GainStart), Scale: b.Value(basis.GainScale), Shape: b.Value(basis.GainShape)}
}

// Validate refuses a curve that is none.
func (g Gain) Validate() error {
	if finite(float64(g.Plateau)) && g.Plateau > 0 && g.Start >= 0 && g.Start <= 28 && g.Scale > 0 && g.Scale <= 365 && g.Shape > 0 && g.Shape <= 10 {
		return nil
	}
	return fault.New(fault.Refused, "strength curve: plateau must be above 0, start from 0 to 28 days, scale above 0 and at most 365 days, shape above 0 and at most 10, got %s, %g, %g, %g",
		both(units.Stresses, float64(g.Plateau)), g.Start, g.Scale, g.Shape)
}

// At is the expected strength at an age in days; zero up to the start.
func (g Gain) At(p *calc.Pad, days float64) units.Stress {
	if !(days > g.Start) {
		return 0
	}
	return units.Stress(gained.Eval(p, float64(g.Plateau), days, g.Start, g.Scale, g.Shape))
}

// Reaches is the age in days at which the curve reaches a strength; ok is false
// for a strength at or above the plateau, which it never reaches.
func (g Gain) Reaches(strength units.Stress) (days float64, ok bool) {
	if !(strength < g.Plateau) {
		return 0, false
	}
	if strength <= 0 {
		return g.Start, true
	}
	return solved(g.Start + g.Scale*math.Pow(-math.Log(1-float64(strength/g.Plateau)), 1/g.Shape))
}
