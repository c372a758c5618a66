package monitor_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/monitor"
)

// What is packed comes back bit for bit, whatever it is.
func TestPackedSamplesComeBackExactly(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var v []float64
		switch rapid.IntRange(0, 2).Draw(t, "form") {
		case 0:
			places := math.Pow10(rapid.IntRange(0, 6).Draw(t, "places"))
			for _, n := range rapid.SliceOfN(rapid.Int64Range(-1e9, 1e9), 0, 300).Draw(t, "whole") {
				v = append(v, float64(n)/places)
			}
		case 1:
			v = rapid.SliceOfN(rapid.Float64(), 0, 300).Draw(t, "any")
		default:
			v = append(rapid.SliceOfN(rapid.Float64Range(-1e3, 1e3), 0, 50).Draw(t, "some"), math.NaN(), math.Copysign(0, -1), math.Inf(1))
		}
		got, err := monitor.UnpackValues(nil, monitor.PackValues(v))
		require.NoError(t, err)
		require.Len(t, got, len(v))
		for i := range v {
			if math.IsNaN(v[i]) {
				require.True(t, math.IsNaN(got[i]))
			} else {
				require.Equal(t, math.Float64bits(v[i]), math.Float64bits(got[i]))
			}
		}
		at := rapid.SliceOfN(rapid.Int64Range(-4e18, 4e18), 0, 200).Draw(t, "times")
		back, err := monitor.UnpackTimes(nil, monitor.PackTimes(at))
		require.NoError(t, err)
		require.Equal(t, len(at), len(back))
		for i := range at {
			require.Equal(t, at[i], back[i])
		}
	})
}

func TestDamagedSamplesAreRefused(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SliceOfN(rapid.Byte(), 0, 60).Draw(t, "bytes")
		if v, err := monitor.UnpackValues(nil, b); err != nil {
			require.ErrorIs(t, err, monitor.ErrPacked)
		} else {
			require.LessOrEqual(t, len(v), 1<<20)
		}
		if _, err := monitor.UnpackTimes(nil, b); err != nil {
			require.ErrorIs(t, err, monitor.ErrPacked)
		}
	})
}

// The bins of a picture never hide an extreme.
func TestPackedBinsKeepExtremes(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := monitor.Bin{Min: rapid.Float64Range(-1e6, 1e6).Draw(t, "min"), N: 5}
		b.Max = b.Min + rapid.Float64Range(0, 1e6).Draw(t, "more")
		got := monitor.UnpackBins(nil, monitor.PackBins([]monitor.Bin{b}))
		require.Len(t, got, 1)
		require.LessOrEqual(t, got[0].Min, b.Min)
		require.GreaterOrEqual(t, got[0].Max, b.Max)
		require.InDelta(t, b.Min, got[0].Min, 1e-6*math.Abs(b.Min)+1e-6)
	})
}
