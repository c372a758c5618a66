package outlook

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"endcast/internal/domain/girder"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Mean is what the readings above a bearing say of the mean thickness there. It is
// for information: the procedure takes rows and zone of the map, not this mean.
type Mean struct {
	Readings  int          // places read
	Mean      units.Length //
	Deviation units.Length // standard, of the places
	Lower     units.Length // one-sided 95 % lower bound on the mean; needs two places
	Wanted    int          // places that would bring the bound within a twentieth of the mean
	Words     string
}

// ZoneMean takes the readings in the zone above the bearing, where several faces
// read one place the least of them.
func ZoneMean(pr resistance.Procedure, g girder.Geometry, s *survey.Survey) Mean {
	if s == nil {
		return Mean{Words: "no survey"}
	}
	x0, x1, _ := pr.Watched(g)
	var rs []survey.Reading
	for _, r := range s.Readings {
		if !r.NoAccess && r.X >= x0 && r.X <= x1 && r.Z <= pr.ZoneHeight {
			rs = append(rs, r)
		}
	}
	slices.SortFunc(rs, func(a, b survey.Reading) int {
		return cmp.Or(cmp.Compare(a.Z, b.Z), cmp.Compare(a.X, b.X), cmp.Compare(a.T, b.T))
	})
	var ts []float64
	for i, r := range rs {
		if i > 0 && r.X == rs[i-1].X && r.Z == rs[i-1].Z {
			continue
		}
		ts = append(ts, float64(r.T))
	}
	return meanOf(ts)
}

// meanOf is the mean of some thicknesses with its lower bound:
// mean - t(0.95, n - 1) s / sqrt(n).
func meanOf(ts []float64) Mean {
	n := len(ts)
	if n == 0 {
		return Mean{Words: "no reading in the zone above the bearing"}
	}
	sum, off := 0.0, 0.0
	for _, t := range ts {
		sum += t
	}
	mean := sum / float64(n)
	out := Mean{Readings: n, Mean: units.Length(mean)}
	if n == 1 {
		out.Words = "one reading in the zone above the bearing: its mean has no bound"
		return out
	}
	for _, t := range ts {
		off += float64((t - mean) * (t - mean))
	}
	s := math.Sqrt(off / float64(n-1))
	out.Deviation = units.Length(s)
	out.Lower = units.Length(max(0, mean-StudentQuantile(0.95, float64(n-1))*s/math.Sqrt(float64(n))))
	if mean > 0 {
		e := 0.05 * mean
		out.Wanted = max(2, int(math.Ceil(min(1e6, (1.645*s/e)*(1.645*s/e)))))
	}
	out.Words = strconv.Itoa(n) + " readings in the zone above the bearing: the mean is known from below with 95 % confidence, as far as readings scatter; " +
		"an error that all of them share is not in it"
	return out
}
