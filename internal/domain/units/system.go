package units

import "fmt"

// System says in which family of units a reader reads and types.
type System string

// The two families.
const (
	US System = "us" // inch, foot, kip, ksi, degree Fahrenheit
	SI System = "si" // millimetre, metre, kilonewton, megapascal, degree Celsius
)

// ParseSystem returns the family that a stored or submitted word names.
func ParseSystem(word string) (System, error) {
	switch s := System(word); s {
	case US, SI:
		return s, nil
	}
	return "", fmt.Errorf("unit system %.20q: want %q or %q", word, US, SI)
}

// Name is the family's name for a page.
func (s System) Name() string {
	if s == SI {
		return "SI"
	}
	return "US customary"
}

// column is the place of the family in a kind's pair of shown units. Anything
// that is not SI reads as US, so that the zero value is usable.
func (s System) column() int {
	if s == SI {
		return 1
	}
	return 0
}
