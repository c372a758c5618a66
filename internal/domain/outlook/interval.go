package outlook

import "gonum.org/v1/gonum/stat/distuv"

// exactInterval is the two-sided Clopper-Pearson interval of a chance after below
// of n samples, Biometrika 26 (1934): it holds the true chance at least as often
// as it says, also where few or no samples fall below.
func exactInterval(below, n int, confidence float64) (low, high float64) {
	if n <= 0 {
		return 0, 1
	}
	tail, x, m := (1-confidence)/2, float64(below), float64(n)
	low, high = 0, 1
	if below > 0 {
		low = distuv.Beta{Alpha: x, Beta: m - x + 1}.Quantile(tail)
	}
	if below < n {
		high = distuv.Beta{Alpha: x + 1, Beta: m - x}.Quantile(1 - tail)
	}
	return low, high
}

// StudentQuantile is the value that Student's t stays below with probability p,
// from one half to one, with df degrees of freedom.
func StudentQuantile(p, df float64) float64 { return distuv.StudentsT{Sigma: 1, Nu: df}.Quantile(p) }
