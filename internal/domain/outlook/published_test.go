package outlook

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/published"
)

func TestPublishedInterval(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "interval.csv")
	for _, row := range y.Rows {
		low, high := exactInterval(int(row.Number("x")), int(row.Number("n")), row.Number("confidence"))
		y.Figures(row, "low", low, 1)
		y.Figures(row, "high", high, 1)
	}
	y.Done(14)
}

func TestPublishedStudent(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "student.csv")
	for _, row := range y.Rows {
		y.Figures(row, "t", StudentQuantile(0.95, row.Number("n")-1), 0.51)
	}
	y.Done(9)
}

// The interval of many samples is that of the normal distribution, and holds the
// chance that it was found for.
func TestIntervalOfManySamples(t *testing.T) {
	t.Parallel()
	for _, n := range []int{1000, 100_000, 1_000_000} {
		for _, p := range []float64{0.01, 0.3, 0.5} {
			x := int(p * float64(n))
			low, high := exactInterval(x, n, 0.95)
			half := 1.959964 * math.Sqrt(p*(1-p)/float64(n))
			require.InEpsilon(t, half, (high-low)/2, 0.12)
			require.Less(t, low, p)
			require.Greater(t, high, p)
		}
	}
	low, high := exactInterval(5, 5, 0.95)
	require.Equal(t, 1.0, high)
	require.InDelta(t, math.Pow(0.025, 0.2), low, 1e-12)
	low, high = exactInterval(0, 0, 0.95)
	require.Equal(t, [2]float64{0, 1}, [2]float64{low, high})
}
