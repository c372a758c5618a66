package survey

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
)

// Options steer how readings become a map.
type Options struct {
	Reach units.Length // a reading speaks for the steel this far beyond the read area
	Row   units.Length // readings closer in height than this are one row
}

// OptionsFrom takes the options from the design basis.
func OptionsFrom(b basis.Basis) Options {
	return Options{Reach: units.Length(b.Value(basis.SurveyReach)), Row: units.Length(b.Value(basis.SurveyRow))}
}

// place is the distance within which two readings of one row are of one place.
const place = 1.0 // mm
