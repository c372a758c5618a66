// Package survey turns readings of remaining thickness, holes and lost flange
// and stiffener metal into the reduced properties that the resistance rules use.
package survey

import "endcast/internal/domain/units"

// Face is the side of the web from which a reading was taken, looking ahead
// station; Through is a reading across the web with a caliper.
type Face string

// Faces.
const (
	Left    Face = "L"
	Right   Face = "R"
	Through Face = "T"
)

// Reading is one remaining web thickness. X is from the end of the girder along
// the web, Z above the top of the bottom flange. All faces report the metal that
// is left through the web at that place; where several faces read one place the
// least counts. NoAccess marks a place that could not be read: T is then
// meaningless and the place is taken from its neighbours, with a warning.
type Reading struct {
	Face     Face
	X, Z     units.Length
	T        units.Length
	NoAccess bool
}

// Hole is a rectangle round a hole through the web: X, Z its lower near corner.
type Hole struct {
	X, Z, Width, Height units.Length
	Rim                 units.Length // remaining thickness at its rim, zero if not read
}

// Survey is one visit's findings at one end. Pointers are nil where nothing was
// read: the as-new value then holds and the sheet says so.
type Survey struct {
	Readings           []Reading
	Holes              []Hole
	FlangeThickness    *units.Length // bottom flange over the bearing, remaining
	StiffenerThickness *units.Length // remaining
	StiffenerWidth     *units.Length // remaining
	WebDeviation       units.Length  // out of plumb over the bearing
	WebDetached        units.Length  // length of web-to-flange joint lost within the bearing zone
	// Method is how the readings were taken. It does not change the map, so it is no
	// part of the inputs of a capacity, only of what its scatter is.
	Method Method `json:"-"`
}

// Method is how a thickness was read.
type Method string

// Methods.
const (
	Caliper    Method = "caliper"
	Ultrasonic Method = "ultrasonic"
	PitGauge   Method = "pit gauge"
	Unstated   Method = ""
)
