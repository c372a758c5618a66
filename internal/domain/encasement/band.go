package encasement

import "math"

// The band of the row model: two diagonals either side, and two more above for
// the rows that pivoting exchanges.
const (
	diagonal  = 2
	bandWidth = 7
)

// solveBand solves a x = b in place by elimination with partial pivoting. Row i
// of a holds columns i-2 to i+4. It reports false for a singular matrix.
func solveBand(a [][bandWidth]float64, b []float64) bool {
	n := len(a)
	for k := range n {
		best, at := math.Abs(a[k][diagonal]), k
		for i := k + 1; i <= k+2 && i < n; i++ {
			if v := math.Abs(a[i][k-i+diagonal]); v > best {
				best, at = v, i
			}
		}
		if !(best > 0) || math.IsInf(best, 1) {
			return false
		}
		if at != k {
			b[at], b[k] = b[k], b[at]
			for j := k; j <= k+4 && j < n; j++ {
				// Beyond the band of the lower row there is nothing to swap in.
				c := j - at + diagonal
				a[k][j-k+diagonal], a[at][c] = a[at][c], a[k][j-k+diagonal]
			}
		}
		for i := k + 1; i <= k+2 && i < n; i++ {
			m := a[i][k-i+diagonal] / a[k][diagonal]
			if m == 0 {
				continue
			}
			for j := k; j <= k+4 && j < n; j++ {
				a[i][j-i+diagonal] -= m * a[k][j-k+diagonal]
			}
			b[i] -= m * b[k]
		}
	}
	for k := n - 1; k >= 0; k-- {
		x := b[k]
		for j := k + 1; j <= k+4 && j < n; j++ {
			x -= a[k][j-k+diagonal] * b[j]
		}
		b[k] = x / a[k][diagonal]
	}
	return true
}
