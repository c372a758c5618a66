package monitor

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Counted is how often something happened in a time.
type Counted struct {
	N     int
	Hours float64
}

// Rates compares two rates.
type Rates struct {
	Ratio     float64 // of the first to the second
	Low, High float64 // 95 percent; High may be +Inf
	P         float64 // two-sided, of a ratio of 1
}

// RateRatio is the ratio of the rates of a to b with its exact interval, both
// being counts of a Poisson process: given the sum, the first count is binomial
// (Przyborowski and Wilenski, Biometrika 31, 1940; interval of Clopper and
// Pearson). P adds up all counts that are no likelier than the one seen. Times must be
// positive, and something counted, or all is NaN.
func RateRatio(a, b Counted) Rates {
	nan := math.NaN()
	if !(a.Hours > 0 && b.Hours > 0) || a.N < 0 || b.N < 0 || a.N+b.N == 0 {
		return Rates{Ratio: nan, Low: nan, High: nan, P: nan}
	}
	per := b.Hours / a.Hours
	out := Rates{Ratio: math.Inf(1), High: math.Inf(1)}
	if b.N > 0 {
		out.Ratio = float64(a.N) / float64(b.N) * per
	}
	low, high := proportion(a.N, a.N+b.N, 0.95)
	out.Low = low / (1 - low) * per
	if high < 1 {
		out.High = high / (1 - high) * per
	}
	out.P = binomialP(a.N, a.N+b.N, a.Hours/(a.Hours+b.Hours))
	return out
}

// binomialP is the two-sided chance under p: all counts that are no more likely
// than k.
func binomialP(k, n int, p float64) float64 {
	at := func(i int) float64 { return distuv.Binomial{N: float64(n), P: p}.Prob(float64(i)) }
	limit := at(k) * (1 + 1e-7)
	sum := 0.0
	for i := 0; i <= n; i++ {
		if q := at(i); q <= limit {
			sum += q
		}
	}
	return min(1, sum)
}
