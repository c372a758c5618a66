package quality_test

import (
	"math"
	"math/big"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/published"
	"endcast/internal/domain/quality"
)

func TestTailAgainstPrintedTable(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "binomial_cumulative.csv")
	for _, r := range y.Rows {
		got := 1 - quality.AtLeast(int(r.Number("n")), int(r.Number("k"))+1, r.Number("p"))
		y.Within(r, "cumulative", got, 0.00005+1e-12)
	}
	y.Done(len(y.Rows))
}

// Of many studs each rarely rejected, the binomial tail is that of the Poisson
// distribution; at a million of them the two differ by less than the print shows
// (at most the square of the mean over their number, L. Le Cam 1960, from memory).
func TestTailOfRareRejectsAgainstPrintedTable(t *testing.T) {
	t.Parallel()
	const many = 1_000_000
	y := published.Open(t, "poisson_cumulative.csv")
	for _, r := range y.Rows {
		mean := r.Number("mean")
		y.Within(r, "cumulative", 1-quality.AtLeast(many, int(r.Number("k"))+1, mean/many), 0.00005+mean*mean/many)
	}
	y.Done(len(y.Rows))
}

// The tail by whole fractions, without rounding.
func exact(n, k int, num, den int64) float64 {
	p := big.NewRat(num, den)
	q := new(big.Rat).Sub(big.NewRat(1, 1), p)
	sum := new(big.Rat)
	for i := k; i <= n; i++ {
		term := new(big.Rat).SetInt(new(big.Int).Binomial(int64(n), int64(i)))
		for range i {
			term.Mul(term, p)
		}
		for range n - i {
			term.Mul(term, q)
		}
		sum.Add(sum, term)
	}
	v, _ := sum.Float64()
	return v
}

// 23 of 720 studs rejected, and 4 of 20 in one week. The normal limit at three
// standard deviations is 15.0 % of 20, so the rate of 20 % is called a signal. By the
// binomial distribution itself chance brings 4 or more about once in 300 such weeks,
// which is more often than the chart's false signals: no signal yet.
func TestFewStudsAreJudgedByTheirOwnDistribution(t *testing.T) {
	t.Parallel()
	p := 23.0 / 720
	require.InDelta(t, 0.150, p+3*math.Sqrt(p*(1-p)/20), 0.0005, "the normal limit of the worked example")
	require.InEpsilon(t, exact(20, 4, 23, 720), quality.AtLeast(20, 4, p), 1e-9)
	rate, points := quality.RejectChart([]quality.Rejects{{Group: "the rest", Welded: 700, Rejected: 19}, {Group: "the week", Welded: 20, Rejected: 4}, {Group: "none"}}, 0.0027)
	require.InDelta(t, p, rate, 1e-12)
	require.Len(t, points, 2)
	week := points[1]
	require.InDelta(t, 0.0035, week.Tail, 0.0005)
	require.Equal(t, 4, week.Most)
	require.Equal(t, quality.RejectsUsual, week.Signal)
	_, points = quality.RejectChart([]quality.Rejects{{Welded: 700, Rejected: 18}, {Welded: 20, Rejected: 5}}, 0.0027)
	require.Equal(t, quality.RejectsHigh, points[1].Signal)
	_, none := quality.RejectChart(nil, 0.0027)
	require.Empty(t, none)
}

func TestLimitsHoldTheirRisk(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n, x := rapid.IntRange(1, 400).Draw(t, "n"), rapid.IntRange(0, 400).Draw(t, "rejected")
		other := rapid.IntRange(0, 400).Draw(t, "others")
		risk := rapid.Float64Range(0.0005, 0.2).Draw(t, "risk")
		rate, points := quality.RejectChart([]quality.Rejects{{Welded: n, Rejected: min(x, n)}, {Welded: 400, Rejected: other}}, risk)
		for _, p := range points {
			require.LessOrEqual(t, quality.AtLeast(p.Welded, p.Most+1, rate), risk/2+1e-9)
			require.LessOrEqual(t, 1-quality.AtLeast(p.Welded, p.Fewest, rate), risk/2+1e-9)
			require.LessOrEqual(t, p.Fewest, p.Most)
		}
	})
}
