package monitor_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/monitor"
)

// Loggers are set to a rate or to a time between rows; times are written to the
// millisecond, the second or the minute. The true step is known, so is the rate.
func TestGuessRate(t *testing.T) {
	t.Parallel()
	const ms, s, min = int64(1e6), int64(1e9), int64(60e9)
	for _, x := range []struct {
		name        string
		step, round int64
		n           int
		want        float64
		words       string
	}{
		{"100 Hz", 10 * ms, ms, 400, 100, "100 rows a second"},
		{"33 1/3 Hz to the millisecond", s / 30 * 9 / 10, ms, 400, 33.3333, "33.33 rows a second"},
		{"128 Hz to the millisecond", s / 128, ms, 400, 128, "128 rows a second"},
		{"1 Hz", s, s, 60, 1, "one row a second"},
		{"ten seconds", 10 * s, s, 40, 0.1, "one row every 10 s"},
		{"a minute", min, s, 30, 1. / 60, "one row every 60 s"},
		{"five minutes", 5 * min, min, 30, 1. / 300, "one row every 5 min"},
		{"an hour", 60 * min, min, 10, 1. / 3600, "one row every 60 min"},
		{"six hours", 360 * min, min, 5, 1. / 21600, "one row every 6 h"},
	} {
		var times []int64
		at := int64(1.7e18) / min * min
		for i := range x.n {
			written := (at + x.round/2) / x.round * x.round
			times = append(times, written)
			switch {
			case i == x.n/3:
				at += 7 * x.step // a gap
			case i == x.n/2:
				times = append(times, written, written-x.step) // a row twice, and a time that goes back
			}
			at += x.step
		}
		got := monitor.GuessRate(times)
		require.InEpsilon(t, x.want, got, 0.002, x.name)
		require.Equal(t, x.words, monitor.RateWords(got), x.name)
	}
	require.Zero(t, monitor.GuessRate(nil))
	require.Zero(t, monitor.GuessRate([]int64{5, 5, 4}))
	require.Empty(t, monitor.RateWords(0))
}

// The screening of a slow logger knows a gap and an uneven clock by its own interval.
func TestScreenOfSlowLoggers(t *testing.T) {
	t.Parallel()
	b := basis.Basis{}
	for _, step := range []int64{60e9, 300e9, 3600e9} {
		seen := monitor.NewScreen(b, 1e9/float64(step), []monitor.ScreenChannel{{Name: "S9", Kind: monitor.StrengthSensor}})
		for i := range int64(200) {
			at := i * step
			switch {
			case i > 100 && i < 105:
				continue // four rows lost
			case i == 150:
				at += 4 * step / 10
			case i%3 == 0:
				at += step / 20
			}
			seen.Row(int(i)+2, at, []float64{float64(i) / 10})
		}
		got := seen.Close()
		require.Equal(t, 1, got.Total[monitor.Gap], "step %d", step)
		require.Equal(t, 1, got.Total[monitor.Jitter])
		require.Zero(t, got.Total[monitor.ClockStep])
		require.Zero(t, got.Total[monitor.Stuck])
		require.EqualValues(t, step, got.Interval)
		for _, f := range got.Faults {
			if f.Kind == monitor.Gap {
				require.EqualValues(t, 4, f.Rows)
				require.Equal(t, 107, f.Line, "told at the row after it")
			}
		}
	}
}
