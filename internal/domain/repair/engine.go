package repair

import (
	"slices"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

func corroded(in Inputs, b basis.Basis, p *calc.Pad) *Evaluation {
	return conclude(calc.Digest(in), in.Demand, nil)
}

func repaired(in Inputs, b basis.Basis, p *calc.Pad) *Evaluation {
	return conclude(calc.Digest(in), in.Demand, nil)
}

// orderReadings puts readings in an order of place, so that the order in which
// they came does not matter.
func orderReadings(rs []survey.Reading) {
	slices.SortFunc(rs, func(a, b survey.Reading) int {
		switch {
		case a.Z != b.Z:
			return sign(float64(a.Z - b.Z))
		case a.X != b.X:
			return sign(float64(a.X - b.X))
		case a.Face != b.Face:
			if a.Face < b.Face {
				return -1
			}
			return 1
		}
		return sign(float64(a.T - b.T))
	})
}

func sign(v float64) int {
	if v < 0 {
		return -1
	}
	if v > 0 {
		return 1
	}
	return 0
}

// deepestLoss is the greatest share of web thickness gone, 1 at a hole.
func deepestLoss(s *survey.Survey, web units.Length) float64 {
	if len(s.Holes) > 0 {
		return 1
	}
	least := web
	for _, r := range s.Readings {
		if !r.NoAccess {
			least = min(least, r.T)
		}
	}
	return float64(web-least) / float64(web)
}
