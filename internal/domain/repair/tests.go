package repair

import (
	"cmp"
	"slices"
	"time"
)

// OrderTests puts tests in the order of casting, in which the running rule reads them.
func OrderTests(tests []StrengthTest) {
	slices.SortFunc(tests, func(a, b StrengthTest) int {
		return cmp.Or(a.CastAt.Compare(b.CastAt), a.BrokenAt.Compare(b.BrokenAt), cmp.Compare(a.PourID, b.PourID), cmp.Compare(a.BatchNo, b.BatchNo),
			cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Curing, b.Curing), cmp.Compare(a.Duty, b.Duty), cmp.Compare(a.NominalDays, b.NominalDays))
	})
}

// runs is how many consecutive tests the running rule takes together.
const runs = 3

// BesideInOrder returns the castings named and those whose tests stand so near to
// theirs, in the order of casting, that one mean of the running rule may take both.
func BesideInOrder(tests []StrengthTest, pours []Pour) []string {
	type place struct {
		pour string
		at   time.Time
		own  bool
	}
	var order []place
	var out []string
	for _, p := range pours {
		out = append(out, p.ID)
		order = append(order, place{p.ID, p.StartedAt, true})
	}
	for _, t := range tests {
		order = append(order, place{t.PourID, t.CastAt, slices.Contains(out, t.PourID)})
	}
	slices.SortFunc(order, func(a, b place) int { return cmp.Or(a.at.Compare(b.at), cmp.Compare(a.pour, b.pour)) })
	for i, x := range order {
		if !x.own {
			continue
		}
		for _, step := range []int{-1, 1} {
			for j, others := i+step, 0; j >= 0 && j < len(order) && others < runs-1; j += step {
				if !order[j].own {
					others++
					if !slices.Contains(out, order[j].pour) {
						out = append(out, order[j].pour)
					}
				}
			}
		}
	}
	return out
}
