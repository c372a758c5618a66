package monitor

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Ranked is the outcome of MannWhitney.
type Ranked struct {
	U   float64 // pairs in which the value of x is the larger, ties counting one half
	AUC float64 // U over all pairs: the chance that x is the larger
	P   float64 // two-sided
	// Exact tells that P counts all orders; otherwise it is the normal approximation
	// with correction for ties and for continuity.
	Exact bool
}

// mostExact is the most pairs for which all orders are counted.
const mostExact = 400

// MannWhitney tests whether values of x tend to be larger or smaller than those of
// y (Annals of Mathematical Statistics 18, 1947). Exact asks for the exact P, which
// is given for up to 400 pairs without ties. NaN anywhere, or an empty side, gives
// NaN.
func MannWhitney(x, y []float64, exact bool) Ranked {
	n1, n2 := len(x), len(y)
	u, ties, ok := countPairs(x, y)
	if !ok {
		return Ranked{U: math.NaN(), AUC: math.NaN(), P: math.NaN()}
	}
	pairs := float64(n1) * float64(n2)
	out := Ranked{U: u, AUC: u / pairs}
	if exact && ties == 0 && pairs <= mostExact {
		out.P, out.Exact = exactU(n1, n2, u), true
		return out
	}
	n := float64(n1 + n2)
	variance := pairs / 12 * (n + 1 - ties/(n*(n-1)))
	if !(variance > 0) {
		out.P = 1 // all values alike
		return out
	}
	out.P = 2 * distuv.UnitNormal.CDF(-max(0, math.Abs(u-pairs/2)-0.5)/math.Sqrt(variance))
	return out
}

// countPairs returns U of x and the sum of t^3 - t over groups of t equal values.
func countPairs(x, y []float64) (u, ties float64, ok bool) {
	if len(x) == 0 || len(y) == 0 {
		return 0, 0, false
	}
	a, b := slices.Clone(x), slices.Clone(y)
	slices.Sort(a)
	slices.Sort(b)
	if math.IsNaN(a[0]) || math.IsNaN(b[0]) {
		return 0, 0, false
	}
	for i, j := 0, 0; i < len(a) || j < len(b); {
		v := 0.0
		if j >= len(b) || i < len(a) && a[i] <= b[j] {
			v = a[i]
		} else {
			v = b[j]
		}
		i0, j0 := i, j
		for i < len(a) && a[i] == v {
			i++
		}
		for j < len(b) && b[j] == v {
			j++
		}
		ta, tb := float64(i-i0), float64(j-j0)
		u += ta * (float64(j0) + tb/2)
		t := ta + tb
		ties += t*t*t - t
	}
	return u, ties, true
}

// exactU is the two-sided chance of a U at least as far from its mean, all orders
// of n1 and n2 values being alike, by the recurrence of Mann and Whitney.
func exactU(n1, n2 int, u float64) float64 {
	// ways[i][k]: orders of i values of x among the first j of y with U = k.
	most := n1 * n2
	ways := make([][]float64, n1+1)
	for i := range ways {
		ways[i] = make([]float64, most+1)
		ways[i][0] = 1 // no y yet
	}
	for j := 1; j <= n2; j++ {
		for i := 1; i <= n1; i++ {
			// The largest of all is an x, above j values of y, or a y.
			next := make([]float64, most+1)
			for k := range next {
				next[k] = ways[i][k]
				if k >= j {
					next[k] += ways[i-1][k-j]
				}
			}
			ways[i] = next
		}
	}
	far := math.Abs(u - float64(most)/2)
	var all, beyond float64
	for k, w := range ways[n1] {
		all += w
		if math.Abs(float64(k)-float64(most)/2) >= far-1e-9 {
			beyond += w
		}
	}
	return beyond / all
}

// Apart is the outcome of KolmogorovSmirnov.
type Apart struct {
	D float64 // largest difference of the two cumulative shares
	P float64 // chance of so large a D for one distribution
	// Form says how P was found: "exact" counts all orders, "limit" is the series for
	// large samples. The two differ much in the tails; name the form beside P.
	Form string
}

// mostLattice is the most pairs for which the orders are counted.
const mostLattice = 10_000_000

// KolmogorovSmirnov compares the distributions of x and y. P is exact up to ten
// million pairs. An empty side or NaN gives NaN.
func KolmogorovSmirnov(x, y []float64) Apart {
	a, b := slices.Clone(x), slices.Clone(y)
	slices.Sort(a)
	slices.Sort(b)
	n1, n2 := len(a), len(b)
	if n1 == 0 || n2 == 0 || math.IsNaN(a[0]) || math.IsNaN(b[0]) {
		return Apart{D: math.NaN(), P: math.NaN()}
	}
	far := 0 // of i*n2 - j*n1, in whole numbers, so that ties in D stay ties
	for i, j := 0, 0; i < n1 && j < n2; {
		v := min(a[i], b[j])
		for i < n1 && a[i] == v {
			i++
		}
		for j < n2 && b[j] == v {
			j++
		}
		far = max(far, abs(i*n2-j*n1))
	}
	out := Apart{D: float64(far) / float64(n1) / float64(n2), Form: "exact"}
	if n1*n2 > mostLattice {
		out.Form = "limit"
		out.P = kolmogorovLimit(math.Sqrt(float64(n1)*float64(n2)/float64(n1+n2)) * out.D)
		return out
	}
	out.P = latticeP(n1, n2, far)
	return out
}

// latticeP is the chance that a path from corner to corner of an n1 by n2 lattice
// touches |i*n2 - j*n1| >= far. It sums the chance of first touching, not the
// complement of never touching, so that small chances keep their figures: a path
// at (i, j) goes on to i+1 with chance (n1-i)/(n1+n2-i-j).
func latticeP(n1, n2, far int) float64 {
	if far <= 0 {
		return 1
	}
	row := make([]float64, n2+1) // chance of being at (i, j) untouched
	touched := 0.0
	for i := 0; i <= n1; i++ {
		for j := 0; j <= n2; j++ {
			here := 0.0
			if i == 0 && j == 0 {
				here = 1
			}
			if i > 0 {
				here += row[j] * float64(n1-i+1) / float64(n1+n2-i+1-j)
			}
			if j > 0 {
				here += row[j-1] * float64(n2-j+1) / float64(n1+n2-i-j+1)
			}
			if abs(i*n2-j*n1) >= far {
				touched += here
				here = 0
			}
			row[j] = here
		}
	}
	return touched
}

// kolmogorovLimit is 2 sum (-1)^(k-1) exp(-2 k^2 z^2).
func kolmogorovLimit(z float64) float64 {
	if z < 0.2 {
		return 1 // the series alternates too slowly; the rest is below 1e-12
	}
	sum, sign := 0.0, 2.0
	for k := 1.0; k < 200; k++ {
		term := math.Exp(-2 * k * k * z * z)
		sum += sign * term
		sign = -sign
		if term < 1e-300 {
			break
		}
	}
	return min(1, max(0, sum))
}

func abs(x int) int {
	if x < 0 {
		return -x
	}
	return x
}
