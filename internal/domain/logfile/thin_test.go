package logfile_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/logfile"
)

// However far a series is thinned, its extremes, its ends and its breaks are drawn,
// every point drawn is one of its readings, and there are at most four of a stretch.
func TestThinKeepsExtremes(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n, buckets := rapid.IntRange(1, 500).Draw(t, "n"), rapid.IntRange(1, 40).Draw(t, "buckets")
		start := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)
		at := start
		readings := map[time.Time]float64{}
		var list []logfile.Point
		low, high := math.Inf(1), math.Inf(-1)
		for range n {
			v := rapid.Float64Range(-40, 120).Draw(t, "v")
			list = append(list, logfile.Point{At: at, Value: v})
			readings[at] = v
			low, high = min(low, v), max(high, v)
			at = at.Add(time.Duration(rapid.IntRange(1, 7200).Draw(t, "step")) * time.Second)
		}
		thin := logfile.NewThin(start, list[n-1].At, buckets, 0)
		for _, p := range list {
			thin.Add(p.At, p.Value)
		}
		lines := thin.Lines()
		require.Len(t, lines, 1)
		gotLow, gotHigh := math.Inf(1), math.Inf(-1)
		for i, p := range lines[0] {
			require.Equal(t, readings[p.At], p.Value)
			if i > 0 {
				require.True(t, p.At.After(lines[0][i-1].At))
			}
			gotLow, gotHigh = min(gotLow, p.Value), max(gotHigh, p.Value)
		}
		require.Equal(t, [2]float64{low, high}, [2]float64{gotLow, gotHigh})
		require.LessOrEqual(t, len(lines[0]), 4*buckets)
		require.Equal(t, list[0], lines[0][0])
		require.Equal(t, list[n-1], lines[0][len(lines[0])-1])
	})
}

func TestThinBreaksAtGaps(t *testing.T) {
	t.Parallel()
	start := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)
	thin := logfile.NewThin(start, start.Add(10*time.Hour), 20, time.Hour)
	for _, h := range []int{0, 1, 2, 7, 8} {
		thin.Add(start.Add(time.Duration(h)*time.Hour), float64(h))
	}
	thin.Add(start.Add(9*time.Hour), math.NaN())
	thin.Add(start.Add(11*time.Hour), 5)
	require.Len(t, thin.Lines(), 2)
	require.Len(t, thin.Lines()[0], 3)
}
