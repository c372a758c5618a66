package uhpc

import (
	"fmt"
	"math"

	"endcast/internal/domain/basis"
)

// Outlier is the test of Grubbs (ASTM E178) on the value that lies farthest from
// the mean of a set. It is shown and never acts: at three values it is nearly
// blind, since no set of three can exceed its limit by more than a hair, so the
// rule on the range decides.
type Outlier struct {
	N     int
	At    int     // position of the value farthest from the mean
	G     float64 // its distance over the standard deviation
	Limit float64 // one-sided, at the level of the design basis
	Most  float64 // the greatest G that so many values can have
	Level float64
	Found bool
}

// FindOutlier tests the values; ok is false for fewer than three of them or where
// all are equal.
func FindOutlier(values []float64, b basis.Basis) (o Outlier, ok bool) {
	st := Spread(values)
	o = Outlier{N: len(values), Level: b.Value(basis.OutlierLevel)}
	if o.N < 3 || !(st.Deviation > 0) {
		return o, false
	}
	for i, v := range values {
		if g := math.Abs(v-float64(st.Mean)) / float64(st.Deviation); g > o.G {
			o.G, o.At = g, i
		}
	}
	o.Limit, o.Most = GrubbsLimit(o.N, o.Level), GrubbsMost(o.N)
	o.Found = o.G > o.Limit
	return o, true
}

// Words say what the test is worth.
func (o Outlier) Words() string {
	s := fmt.Sprintf("G is %.3f, its %.3g %% limit for %d values %.3f", o.G, 100*o.Level, o.N, o.Limit)
	if o.N == 3 {
		return s + fmt.Sprintf("; of three values none can be above %.4f, so that the test is nearly blind and the rule on the range decides", o.Most)
	}
	if o.Found {
		return s + ": look for a cause; nothing is left out by itself"
	}
	return s
}

// GrubbsMost is the greatest G that n values can have, (n-1)/sqrt(n).
func GrubbsMost(n int) float64 { return float64(n-1) / math.Sqrt(float64(n)) }

// GrubbsLimit is the one-sided limit of G for n values at a level, from Student's
// t with n-2 degrees of freedom at level/n (ASTM E178). It needs n of at least 3.
func GrubbsLimit(n int, level float64) float64 {
	t := studentAbove(level/float64(n), n-2)
	return GrubbsMost(n) * math.Sqrt(t*t/(float64(n-2)+t*t))
}

// studentAbove is the value that Student's t with df degrees of freedom exceeds
// with probability p, for p below one half, by halving.
func studentAbove(p float64, df int) float64 {
	low, high := 0.0, 1.0
	for studentTail(high, df) > p && high < 1e9 {
		high *= 2
	}
	for range 200 {
		mid := (low + high) / 2
		if mid == low || mid == high {
			break
		}
		if studentTail(mid, df) > p {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// studentTail is the chance that Student's t exceeds t, for whole degrees of
// freedom a finite sum: Abramowitz and Stegun, Handbook of Mathematical Functions,
// 26.7.3 and 26.7.4.
func studentTail(t float64, df int) float64 {
	angle := math.Atan(t / math.Sqrt(float64(df)))
	sin, cos := math.Sincos(angle)
	sum, term := 0.0, 1.0
	if df%2 == 1 {
		term = cos
		for k := 1; k <= (df-1)/2; k++ {
			sum += term
			term *= cos * cos * float64(2*k) / float64(2*k+1)
		}
		return 0.5 - (angle+sin*sum)/math.Pi
	}
	for k := 1; k <= df/2; k++ {
		sum += term
		term *= cos * cos * float64(2*k-1) / float64(2*k)
	}
	return 0.5 - sin*sum/2
}
