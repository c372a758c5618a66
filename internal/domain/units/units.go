// Package units gives every engineering quantity a type of its own and turns
// quantities into text, and text into quantities, in US customary and SI units.
//
// Inside the program one coherent set is used: millimetre, newton, megapascal
// (1 MPa = 1 N/mm2), so a formula needs no conversion factor. Angles are in
// degrees, temperatures in degrees Celsius.
package units

// Length is in millimetres.
type Length float64

// Force is in newtons.
type Force float64

// Stress is in megapascals, which is newtons per square millimetre.
type Stress float64

// Area is in square millimetres.
type Area float64

// Volume is in cubic millimetres.
type Volume float64

// Inertia is a second moment of area, in millimetres to the fourth power.
type Inertia float64

// Moment is in newton millimetres.
type Moment float64

// Stiffness is in newtons per millimetre.
type Stiffness float64

// Angle is in degrees.
type Angle float64

// Temperature is in degrees Celsius.
type Temperature float64

// Mass is in kilograms. Formulas keep it apart from force: a mass is weighed, a
// weight presses.
type Mass float64

// Exact conversion factors. Source: NIST SP 811, appendix B (exact by definition
// of the inch and the pound-force).
const (
	Inch Length = 25.4
	Foot Length = 304.8
	Kip  Force  = 4448.2216152605
	Ksi  Stress = 6.894757293168361
)
