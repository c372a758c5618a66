package outlook

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// published reads a check table; the first row after the comments names the
// columns.
func published(t testing.TB, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "..", "testdata", "published", name))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(all), 1, name)
	var out []map[string]string
	for _, row := range all[1:] {
		m := map[string]string{}
		for i, v := range row {
			m[all[0][i]] = v
		}
		out = append(out, m)
	}
	return out
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// tally compares values with a table and keeps the worst difference.
type tally struct {
	t     *testing.T
	n     int
	worst float64
	at    string
}

// near compares within some units of the last figure shown.
func (y *tally) near(what, shown string, got, figures float64) {
	y.t.Helper()
	want := number(y.t, shown)
	digits := 0
	if i := strings.IndexByte(shown, '.'); i >= 0 {
		digits = len(shown) - i - 1
	}
	require.InDelta(y.t, want, got, figures*math.Pow(10, -float64(digits)), what)
	if gap := math.Abs(got - want); want != 0 && gap/math.Abs(want) > y.worst {
		y.worst, y.at = gap/math.Abs(want), what
	}
	y.n++
}

func (y *tally) report(table string) {
	y.t.Logf("%s: %d values, worst difference %.4f %% (%s)", table, y.n, 100*y.worst, y.at)
}

func TestPublishedInterval(t *testing.T) {
	t.Parallel()
	y := tally{t: t}
	for _, row := range published(t, "interval.csv") {
		low, high := exactInterval(int(number(t, row["x"])), int(number(t, row["n"])), number(t, row["confidence"]))
		what := row["x"] + " of " + row["n"] + " at " + row["confidence"]
		y.near(what+" low", row["low"], low, 1)
		y.near(what+" high", row["high"], high, 1)
	}
	require.Equal(t, 14, y.n)
	y.report("exact binomial interval")
}

func TestPublishedStudent(t *testing.T) {
	t.Parallel()
	y := tally{t: t}
	for _, row := range published(t, "student.csv") {
		y.near("n "+row["n"], row["t"], studentQuantile(0.95, number(t, row["n"])-1), 0.51)
	}
	require.Equal(t, 9, y.n)
	y.report("Student's t")
}

func TestIncompleteBetaClosedForms(t *testing.T) {
	t.Parallel()
	for _, x := range []float64{1e-6, 0.1, 0.37, 0.5, 0.82, 1 - 1e-9} {
		require.InDelta(t, x, betaPart(x, 1, 1), 1e-12)
		require.InDelta(t, x*x*(3-2*x), betaPart(x, 2, 2), 1e-12)
		require.InDelta(t, 2/math.Pi*math.Asin(math.Sqrt(x)), betaPart(x, 0.5, 0.5), 1e-9)
		require.InDelta(t, 1-math.Pow(1-x, 7), betaPart(x, 1, 7), 1e-12)
	}
	require.Zero(t, betaPart(0, 2, 3))
	require.Equal(t, 1.0, betaPart(1, 2, 3))
	require.Zero(t, betaPart(math.NaN(), 2, 3))
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
