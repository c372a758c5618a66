package assign

import (
	"cmp"
	"slices"
)

// hull is the concave frontier of worth over minutes that a set of courses could reach with fractions of offers and
// all crews' minutes in one pot: the linear relaxation of the multiple-choice knapsack, whose optimum takes the steps
// of the courses' upper hulls by falling slope. It is a bound from above.
type hull struct{ parts []slope }

type slope struct {
	minutes int
	worth   float64
}

// with returns the hull with one more course.
func (h hull) with(offers []offer) hull {
	parts := slices.Clone(h.parts)
	parts = append(parts, upper(offers)...)
	slices.SortStableFunc(parts, func(a, b slope) int {
		return cmp.Compare(b.worth/float64(b.minutes), a.worth/float64(a.minutes))
	})
	return hull{parts}
}

// worth is the most that m minutes can bring.
func (h hull) worth(m int) float64 {
	sum := 0.0
	for _, p := range h.parts {
		if p.minutes >= m {
			return sum + p.worth*float64(m)/float64(p.minutes)
		}
		sum, m = sum+p.worth, m-p.minutes
	}
	return sum
}

// upper is the upper concave hull of a course's offers from the origin, as steps of falling slope.
func upper(offers []offer) []slope {
	type point struct {
		m int
		w float64
	}
	pts := []point{{0, 0}}
	for _, o := range offers { // minutes rise with k
		if len(o.crews) == 0 || o.worth <= pts[len(pts)-1].w {
			continue
		}
		for len(pts) > 1 {
			a, b := pts[len(pts)-2], pts[len(pts)-1]
			// b is under the line from a to the new point
			if (b.w-a.w)*float64(o.minutes-a.m) <= (o.worth-a.w)*float64(b.m-a.m) {
				pts = pts[:len(pts)-1]
				continue
			}
			break
		}
		pts = append(pts, point{o.minutes, o.worth})
	}
	out := make([]slope, 0, len(pts))
	for i := 1; i < len(pts); i++ {
		out = append(out, slope{pts[i].m - pts[i-1].m, pts[i].w - pts[i-1].w})
	}
	return out
}
