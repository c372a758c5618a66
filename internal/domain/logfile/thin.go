package logfile

import (
	"math"
	"time"
)

// Point is one reading of a thinned series.
type Point struct {
	At    time.Time
	Value float64
}

// Bucket is what is kept of the readings of one stretch of time.
type Bucket struct {
	N                      int
	First, Last, Low, High Point
	Broken                 bool // the series is broken between this bucket and the readings before it
}

// Thin reduces a series to stretches of equal length, of which each keeps its first,
// last, lowest and highest reading: drawn over that many pixels, it looks as the
// whole series would. Readings come in order of time; memory does not grow with them.
type Thin struct {
	from, step int64
	gap        int64
	last       int64
	any        bool
	Buckets    []Bucket
}

// NewThin divides from..to into n stretches. Two readings more than gap apart are
// not joined; 0 joins all. Readings outside from..to are passed over.
func NewThin(from, to time.Time, n int, gap time.Duration) *Thin {
	n = max(n, 1)
	span := max(to.UnixNano()-from.UnixNano(), 0)
	return &Thin{from: from.UnixNano(), step: span/int64(n) + 1, gap: int64(gap), Buckets: make([]Bucket, n)}
}

// Add adds a reading; NaN is none.
func (t *Thin) Add(at time.Time, v float64) {
	ns := at.UnixNano()
	i := (ns - t.from) / t.step
	if ns < t.from || i >= int64(len(t.Buckets)) || math.IsNaN(v) {
		return
	}
	b, p := &t.Buckets[i], Point{at, v}
	if b.N == 0 {
		b.First, b.Low, b.High = p, p, p
		b.Broken = t.any && t.gap > 0 && ns-t.last > t.gap
	}
	if v < b.Low.Value {
		b.Low = p
	}
	if v > b.High.Value {
		b.High = p
	}
	b.Last = p
	b.N++
	t.last, t.any = ns, true
}

// Lines returns the thinned series as lines to draw, one for each unbroken part, in
// order of time and without repeated points.
func (t *Thin) Lines() [][]Point {
	var out [][]Point
	var line []Point
	for i := range t.Buckets {
		b := &t.Buckets[i]
		if b.N == 0 {
			continue
		}
		if b.Broken && len(line) > 0 {
			out = append(out, line)
			line = nil
		}
		mid := [2]Point{b.Low, b.High}
		if mid[1].At.Before(mid[0].At) {
			mid[0], mid[1] = mid[1], mid[0]
		}
		for _, p := range [4]Point{b.First, mid[0], mid[1], b.Last} {
			if n := len(line); n == 0 || line[n-1].At.Before(p.At) {
				line = append(line, p)
			}
		}
	}
	if len(line) > 0 {
		out = append(out, line)
	}
	return out
}
