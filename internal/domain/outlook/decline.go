package outlook

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/units"
)

// Decline carries the last survey forward in time and finds the year in which the
// capacity of an end falls below the demand. Built is the year of construction,
// assumed the owner's own rate; either may be nil.
func Decline(b basis.Basis, pr resistance.Procedure, g girder.Geometry, surveys []Dated, demand units.Force, built *int, assumed *Rate) Fall {
	return Fall{Verdict: Unknown, Demand: demand}
}
