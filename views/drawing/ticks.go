package drawing

import "math"

// niceStep is the least of 1, 2 or 5 times a power of ten that is not below v.
// After P. Heckbert, "Nice numbers for graph labels", Graphics Gems, 1990, p. 61.
func niceStep(v float64) float64 {
	if !(v > 0) || math.IsInf(v, 0) {
		return 1
	}
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{1, 2, 5} {
		if m*p >= v*(1-1e-9) {
			return m * p
		}
	}
	return 10 * p
}

// ticks are the multiples of a nice step that enclose lo to hi, about count of
// them. Equal or turned limits are spread so that there is always a scale.
func ticks(lo, hi float64, count int) []float64 {
	if !finite(lo, hi) {
		lo, hi = 0, 1
	}
	if hi < lo {
		lo, hi = hi, lo
	}
	if hi-lo <= 1e-12*math.Max(math.Abs(lo), math.Abs(hi)) {
		pad := math.Max(math.Abs(lo)/2, 0.5)
		lo, hi = lo-pad, hi+pad
	}
	step := niceStep((hi - lo) / float64(max(count, 2)))
	first, last := math.Floor(lo/step+1e-9), math.Ceil(hi/step-1e-9)
	out := make([]float64, 0, int(last-first)+1)
	for k := first; k <= last; k++ {
		v := k * step
		if v == 0 {
			v = 0 // no negative zero
		}
		out = append(out, v)
	}
	return out
}

// decimals is how many a tick of the step needs.
func decimals(step float64) int {
	return max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
}
