// Package progress is the arithmetic of a dashboard: how long steps took, how long
// ends stand in them, how many are open against time, and when a rate is out of the
// ordinary. It knows counts only, no record and no clock.
package progress

import (
	"math"
	"slices"
	"sort"
	"time"
)

// Spread counts how often each span of whole days occurred.
type Spread map[int]int64

// N is how many there are.
func (s Spread) N() int64 {
	n := int64(0)
	for _, k := range s {
		n += k
	}
	return n
}

// Quantile is the least number of days within which the share q (0 to 1) of all lay:
// the nearest rank, so that it is always a value that occurred. Zero without any.
// Common practice, no source.
func (s Spread) Quantile(q float64) int {
	n := s.N()
	if n == 0 {
		return 0
	}
	rank := max(int64(math.Ceil(q*float64(n)-1e-9)), 1)
	days := make([]int, 0, len(s))
	for d := range s {
		days = append(days, d)
	}
	slices.Sort(days)
	seen := int64(0)
	for _, d := range days {
		if seen += s[d]; seen >= rank {
			return d
		}
	}
	return days[len(days)-1]
}

// Mean is the mean number of days; zero without any.
func (s Spread) Mean() float64 {
	n, sum := int64(0), int64(0)
	for d, k := range s {
		n, sum = n+k, sum+int64(d)*k
	}
	if n == 0 {
		return 0
	}
	return float64(sum) / float64(n)
}

// Max is the longest; zero without any.
func (s Spread) Max() int {
	m := 0
	for d, k := range s {
		if k > 0 {
			m = max(m, d)
		}
	}
	return m
}

// Over is how many took longer than some days.
func (s Spread) Over(days int) int64 {
	n := int64(0)
	for d, k := range s {
		if d > days {
			n += k
		}
	}
	return n
}

// NormalLimits are the limits of a control chart for a rate p of n: three standard
// deviations of the normal distribution to both sides, p ± 3·√(p(1 − p)/n), cut at 0
// and 1. With few (n·p below about 3) they are rough and the exact tail is to be used.
// Source: the p-chart of statistical process control, as in textbooks; from memory.
func NormalLimits(p float64, n int) (low, high float64) {
	if n <= 0 {
		return 0, 1
	}
	d := 3 * math.Sqrt(p*(1-p)/float64(n))
	return max(p-d, 0), min(p+d, 1)
}

// Little is the mean number in work by Little's law: arrivals a day times the mean
// number of days in work. It holds over a time at whose beginning and end nothing is
// in work, and otherwise where the days of each are counted within that time only.
// Source: J. D. C. Little, "A proof for the queuing formula L = λW", 1961.
func Little(perDay, days float64) float64 { return perDay * days }

// Flow is what came and went day by day, by day as "2006-01-02".
type Flow map[string]int64

// Level is a number that stands from a day on.
type Level struct {
	Day time.Time
	N   int64
}

// Levels are the numbers open at the end of each day on which anything came or went:
// what came up to then less what went. What was added later is a step upward; nothing
// is counted back.
func Levels(came, went Flow) []Level {
	change := map[string]int64{}
	for d, n := range came {
		change[d] += n
	}
	for d, n := range went {
		change[d] -= n
	}
	days := make([]string, 0, len(change))
	for d := range change {
		days = append(days, d)
	}
	sort.Strings(days)
	var out []Level
	n := int64(0)
	for _, d := range days {
		at, err := time.Parse(time.DateOnly, d)
		if err != nil {
			continue
		}
		n += change[d]
		out = append(out, Level{at, n})
	}
	return out
}

// At is the number at the end of a day; zero before the first.
func At(levels []Level, day time.Time) int64 {
	i := sort.Search(len(levels), func(i int) bool { return levels[i].Day.After(day) })
	if i == 0 {
		return 0
	}
	return levels[i-1].N
}

// MeanLevel is the mean number from one day to another, both whole.
func MeanLevel(levels []Level, from, to time.Time) float64 {
	days, sum := 0, int64(0)
	for d := from; !d.After(to); d = d.AddDate(0, 0, 1) {
		days++
		sum += At(levels, d)
	}
	if days == 0 {
		return 0
	}
	return float64(sum) / float64(days)
}
