package monitor

import "gonum.org/v1/gonum/stat/distuv"

// proportion is the two-sided Clopper-Pearson interval, Biometrika 26 (1934), of a
// chance after k of n; confidence such as 0.95.
func proportion(k, n int, confidence float64) (low, high float64) {
	if n <= 0 {
		return 0, 1
	}
	tail, x, m := (1-confidence)/2, float64(k), float64(n)
	low, high = 0, 1
	if k > 0 {
		low = distuv.Beta{Alpha: x, Beta: m - x + 1}.Quantile(tail)
	}
	if k < n {
		high = distuv.Beta{Alpha: x + 1, Beta: m - x}.Quantile(1 - tail)
	}
	return low, high
}
