package resistance_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
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

// near compares with a relative tolerance and one unit of the last figure shown.
func (y *tally) near(what string, shown string, got, tolerance float64) {
	y.t.Helper()
	want := number(y.t, shown)
	require.InDelta(y.t, want, got, tolerance*math.Abs(want)+half(shown), what)
	if gap := math.Abs(got-want) / math.Abs(want); gap > y.worst {
		y.worst, y.at = gap, what
	}
	y.n++
}

// half is half a unit of the last figure of a printed number.
func half(shown string) float64 {
	for i := range len(shown) {
		if shown[i] == '.' {
			return 0.501 * math.Pow(10, -float64(len(shown)-i-1))
		}
	}
	return 0.501
}

func (y *tally) report(table string) {
	y.t.Logf("%s: %d values, worst difference %.4f %% (%s)", table, y.n, 100*y.worst, y.at)
}

// with sets settings of the basis.
func with(t testing.TB, pairs ...any) basis.Basis {
	t.Helper()
	var b basis.Basis
	for i := 0; i < len(pairs); i += 2 {
		var err error
		b, err = b.With(pairs[i].(basis.Key), pairs[i+1].(float64))
		require.NoError(t, err)
	}
	return b
}

const (
	inch = units.Inch
	kip  = float64(units.Kip)
)

// w18x50 is the beam of AISC Design Example II.D-2, which the library leaves out.
func w18x50() girder.Section {
	return girder.Section{Name: "W18X50", Kind: girder.Rolled, Depth: 18.0 * inch, FlangeWidth: 7.50 * inch, TopFlangeWidth: 7.50 * inch,
		FlangeThickness: 0.570 * inch, TopFlangeThickness: 0.570 * inch, WebThickness: 0.355 * inch, FilletK: 0.972 * inch}
}

func shape(t testing.TB, name string) girder.Section {
	t.Helper()
	if name == "W18X50" {
		return w18x50()
	}
	e, ok := girder.Lookup(name)
	require.True(t, ok, name)
	return e.Section
}
