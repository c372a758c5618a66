package monitor

import (
	"math"
	"slices"
)

// Percentile is the value that a share p (0 to 1) of the values stays below, by
// linear interpolation between order statistics at (n-1)p: type 7 of Hyndman and
// Fan, The American Statistician 50 (1996). Libraries differ in their default;
// this one is the common default of numeric languages. It is NaN for no values or a
// p outside 0 to 1; values need no order and stay as they are.
func Percentile(values []float64, p float64) float64 {
	s := slices.Clone(values)
	slices.Sort(s)
	return percentileSorted(s, p)
}

// percentileSorted is Percentile of values in rising order.
func percentileSorted(s []float64, p float64) float64 {
	if len(s) == 0 || !(p >= 0 && p <= 1) || math.IsNaN(s[0]) { // NaN sorts first
		return math.NaN()
	}
	h := float64(len(s)-1) * p
	i := int(h)
	if i+1 >= len(s) {
		return s[len(s)-1]
	}
	return between(s[i], s[i+1], h-float64(i))
}

// between is the value a part f of the way from a to b, never outside them.
func between(a, b, f float64) float64 {
	if f == 0 || a == b {
		return a
	}
	return a + f*(b-a)
}

// Median is the value in the middle, the mean of the middle two of an even count.
func Median(values []float64) float64 { return Percentile(values, 0.5) }

// medianIn is Median of values whose order it may change; none may be NaN. It
// allocates nothing.
func medianIn(v []float64) float64 {
	n := len(v)
	if n == 0 {
		return math.NaN()
	}
	k := n / 2
	selectAt(v, k)
	if n%2 == 1 {
		return v[k]
	}
	below := v[0]
	for _, x := range v[1:k] {
		below = max(below, x)
	}
	return (below + v[k]) / 2
}

// selectAt moves the values so that v[k] is the one that stands there in rising
// order, those before it are not larger, those behind it not smaller (Hoare's
// quickselect with the median of three).
func selectAt(v []float64, k int) {
	lo, hi := 0, len(v)-1
	for hi-lo > 11 {
		mid := lo + (hi-lo)/2
		if v[mid] < v[lo] {
			v[mid], v[lo] = v[lo], v[mid]
		}
		if v[hi] < v[lo] {
			v[hi], v[lo] = v[lo], v[hi]
		}
		if v[hi] < v[mid] {
			v[hi], v[mid] = v[mid], v[hi]
		}
		pivot := v[mid]
		i, j := lo, hi
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return
		}
	}
	for i := lo + 1; i <= hi; i++ {
		x := v[i]
		j := i - 1
		for j >= lo && v[j] > x {
			v[j+1] = v[j]
			j--
		}
		v[j+1] = x
	}
}

// normalOfMAD makes the median absolute deviation an estimate of the standard
// deviation of normal values: 1/0.6745, as it is usually rounded.
const normalOfMAD = 1.4826

// Spread is 1.4826 times the median absolute deviation from the median: a standard
// deviation that a few wild values do not move.
func Spread(values []float64) float64 {
	v := slices.Clone(values)
	return spreadIn(v)
}

func spreadIn(v []float64) float64 {
	m := medianIn(v)
	for i, x := range v {
		v[i] = math.Abs(x - m)
	}
	return normalOfMAD * medianIn(v)
}

// MeanDeviation returns mean and standard deviation, with n-1. The deviation of
// fewer than two values is NaN.
func MeanDeviation(values []float64) (mean, deviation float64) {
	n := float64(len(values))
	for _, x := range values {
		mean += x
	}
	mean /= n
	if n < 2 {
		return mean, math.NaN()
	}
	for _, x := range values {
		deviation += (x - mean) * (x - mean)
	}
	return mean, math.Sqrt(deviation / (n - 1))
}
