package repair

import (
	"fmt"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/uhpc"
)

// EquivalentAge is the age that specimens of a casting had at a moment, in hours at
// the curing temperature of strength curves, by a record of their temperature; ok is
// false where no sound record reaches that moment.
type EquivalentAge func(p Pour, cure uhpc.Cure, at time.Time) (hours float64, ok bool)

// CurvePoints returns the sound sets of castings as points of the program's own
// strength curve, and says which are left out. Standard-cured sets stand at their
// age by the clock, since they were kept at one temperature; the others only where
// their own temperature is on record, at their equivalent age.
func CurvePoints(pours []Pour, batches []Batch, specimens []Specimen, reviews []SetReview, age EquivalentAge, b basis.Basis) (points []uhpc.Point, left []string) {
	unknown := 0
	for _, p := range pours {
		for _, set := range BuildSets(p, batches, specimens, reviews) {
			st := set.Stats(b)
			if st.Broken == 0 {
				continue
			}
			name := set.Batch + " at " + uhpc.AgeText(set.NominalHours)
			if st.State != uhpc.Sound {
				left = append(left, name+": "+st.Why)
				continue
			}
			hours, ok := meanAge(p, set, age, b)
			if !ok {
				unknown++
				continue
			}
			points = append(points, uhpc.Point{Name: name, Nominal: set.NominalHours / 24, Days: hours / 24, Mean: st.Mean})
		}
	}
	if unknown > 0 {
		left = append(left, fmt.Sprintf("%d field- or match-cured sets whose own temperature is not on record: their age by the clock is no age of this curve", unknown))
	}
	return points, left
}

// meanAge is the mean age of the specimens of a set that count.
func meanAge(p Pour, set uhpc.Set, age EquivalentAge, b basis.Basis) (hours float64, ok bool) {
	n := 0
	for _, sp := range set.Specimens {
		if sp.Broken.IsZero() {
			continue
		}
		br := sp.Break(nil, b)
		if !br.Counts {
			continue
		}
		h := br.AgeHours
		if set.Cure != uhpc.StandardCure {
			if age == nil {
				return 0, false
			}
			if h, ok = age(p, set.Cure, sp.Broken); !ok {
				return 0, false
			}
		}
		hours += h
		n++
	}
	if n == 0 {
		return 0, false
	}
	return hours / float64(n), true
}
