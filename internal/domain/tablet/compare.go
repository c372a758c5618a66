package tablet

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// samePlace is how far two readings may lie apart and still be of one place: both
// were marked from the same grid with a tape (common practice, no source).
const samePlace units.Length = 2

// Two is one place read by two people.
type Two struct {
	Face       string
	X, Z       units.Length
	Mine, That units.Length
}

// Differs is the first reading less the second.
func (t Two) Differs() units.Length { return t.Mine - t.That }

// Off is by how much they differ.
func (t Two) Off() units.Length { return units.Length(math.Abs(float64(t.Differs()))) }

func (t Two) words(number int) string {
	less := "less"
	if t.Differs() > 0 {
		less = "more"
	}
	where := map[string]string{"T": "through the web", "L": "left face", "R": "right face"}[t.Face]
	return fmt.Sprintf("At x %s, z %s, %s: %s here, %s in survey %d, %s %s.", mm(t.X), mm(t.Z), where, mm(t.Mine), mm(t.That), number, mm(t.Off()), less)
}

// Compare lists the places that two surveys both read and that differ, the greatest
// difference first. Places without access are left out.
func Compare(mine []repair.ReadingIn, that []repair.Reading) []Two {
	var out []Two
	for _, a := range mine {
		if a.NoAccess {
			continue
		}
		for _, b := range that {
			if b.NoAccess || b.SupersededBy != nil || a.Face != b.Face || apart(a.X, b.X) || apart(a.Z, b.Z) {
				continue
			}
			if a.T != b.T {
				out = append(out, Two{Face: a.Face, X: a.X, Z: a.Z, Mine: a.T, That: b.T})
			}
			break
		}
	}
	slices.SortStableFunc(out, func(a, b Two) int {
		return cmp.Compare(b.Off(), a.Off())
	})
	return out
}

func apart(a, b units.Length) bool { return math.Abs(float64(a-b)) > float64(samePlace) }
