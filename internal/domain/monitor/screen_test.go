package monitor

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
)

// screenRows is a stream of noise, changed by f; a false leaves the row out.
func screenRows(f func(i int, t int64, v []float64) (int64, bool)) Listed {
	s := NewScreen(basis.Basis{}, 100, []ScreenChannel{{Name: "web", Kind: WebGauge, Low: -500, High: 500}, {Name: "air", Kind: Thermometer}, {Name: "slip", Kind: Displacement}})
	d, v := NewDraw(1), make([]float64, 3)
	for i := range 60_000 {
		v[0], v[1], v[2] = d.Normal(), 12, d.Normal()
		if t, ok := f(i, int64(i)*10e6, v); ok {
			s.Row(i+2, t, v)
		}
	}
	return s.Close()
}

func TestACleanStreamHasNoFaults(t *testing.T) {
	t.Parallel()
	got := screenRows(func(_ int, t int64, _ []float64) (int64, bool) { return t, true })
	require.Empty(t, got.Faults, "air of one temperature for ten minutes is not stuck")
	require.Equal(t, int64(60_000), got.Rows)
	require.Equal(t, int64(10e6), got.Interval)
	require.Zero(t, got.Lost)
}

// Each fault is put in once and is the only one found, at its line and with its size.
func TestFaultsAreFound(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		change func(i int, t int64, v []float64) (int64, bool)
		want   Fault
	}{
		"gap": {func(i int, t int64, _ []float64) (int64, bool) { return t, i < 3000 || i >= 3100 },
			Fault{Kind: Gap, Channel: -1, Line: 3102, Rows: 100, Size: 1, Words: "1 s without rows"}},
		"lost row": {func(i int, t int64, _ []float64) (int64, bool) { return t, i != 3000 },
			Fault{Kind: Gap, Channel: -1, Line: 3003, Rows: 1, Size: 0.01, Words: "0.01 s without rows"}},
		"clock set forward": {func(i int, t int64, _ []float64) (int64, bool) {
			if i >= 3000 {
				t += 123_456_000
			}
			return t, true
		}, Fault{Kind: ClockStep, Channel: -1, Line: 3002, Rows: 12, Size: 0.123456, Words: "jumps by 0.133 s"}},
		"clock set back": {func(i int, t int64, _ []float64) (int64, bool) {
			if i >= 3000 {
				t -= 60e9
			}
			return t, true
		}, Fault{Kind: ClockBack, Channel: -1, Line: 3002, Rows: 6000, Size: 59.99, Words: "time goes back by 59.99 s"}},
		"duplicate": {func(i int, t int64, v []float64) (int64, bool) {
			if i == 3000 {
				t -= 10e6
			}
			return t, true
		}, Fault{}},
		"jitter": {func(i int, t int64, _ []float64) (int64, bool) {
			if i%1000 == 500 {
				t += 4e6
			}
			return t, true
		}, Fault{Kind: Jitter, Channel: -1, Rows: 120, Size: 0.4, Words: "120 time stamps"}},
		"missing": {func(i int, t int64, v []float64) (int64, bool) {
			if i >= 3000 && i < 4000 {
				v[2] = math.NaN()
			}
			return t, true
		}, Fault{Kind: Missing, Channel: 2, Line: 3002, Rows: 1000, Size: 10, Words: "slip gives no number for 10 s"}},
		"stuck": {func(i int, t int64, v []float64) (int64, bool) {
			if i >= 3000 && i < 5000 {
				v[0] = 7
			}
			return t, true
		}, Fault{Kind: Stuck, Channel: 0, Line: 3002, Rows: 2000, Size: 7, Words: "web reads 7 for 19.99 s"}},
		"saturated": {func(i int, t int64, v []float64) (int64, bool) {
			if i >= 3000 && i < 3010 {
				v[0] = -500
			}
			return t, true
		}, Fault{Kind: Saturated, Channel: 0, Line: 3002, Rows: 10, Size: -500, Words: "range of -500 to 500"}},
		"flat tops": {func(i int, t int64, v []float64) (int64, bool) {
			v[2] = min(v[2]+50*max(0, math.Sin(float64(i)/200)-0.5), 20)
			return t, true
		}, Fault{Kind: Saturated, Channel: 2, Line: 0, Size: 20, Words: "flat ends at 20"}},
	} {
		got := screenRows(c.change)
		if name == "duplicate" {
			require.Equal(t, 1, got.Total[Duplicate])
			require.Equal(t, 1, got.Total[Gap], "the time that it should have had is missing")
			require.Contains(t, got.Faults[1].Words, "other values")
			continue
		}
		require.Len(t, got.Faults, 1, "%s: %+v", name, got.Faults)
		f := got.Faults[0]
		require.Equal(t, 1, got.Total[f.Kind], name)
		require.Equal(t, c.want.Kind, f.Kind, name)
		require.Equal(t, c.want.Channel, f.Channel, name)
		require.Contains(t, f.Words, c.want.Words, name)
		require.InDelta(t, c.want.Size, f.Size, 1e-6, name)
		if c.want.Line > 0 {
			require.Equal(t, c.want.Line, f.Line, name)
			require.Equal(t, c.want.Rows, f.Rows, name)
		}
		require.LessOrEqual(t, f.From, f.To, name)
	}
	lost := screenRows(func(i int, t int64, _ []float64) (int64, bool) { return t, i < 15_000 || i >= 45_000 })
	require.InDelta(t, 0.5, lost.Lost, 0.001)
	require.Contains(t, lost.Faults[0].Words, "5.0 min")
	require.Equal(t, "3.0 h", seconds(10800))
}

// A stream of nothing but faults stays small, and keeps the worst.
func TestManyFaultsStayBounded(t *testing.T) {
	t.Parallel()
	got := screenRows(func(i int, t int64, v []float64) (int64, bool) {
		if i%10 < 2 || i > 50_000 && i < 51_000 {
			v[2] = math.NaN()
		}
		return t, true
	})
	require.Len(t, got.Faults, mostListed)
	require.Greater(t, got.Total[Missing], 5000)
	longest := int64(0)
	for _, f := range got.Faults {
		longest = max(longest, f.Rows)
	}
	require.Greater(t, longest, int64(990))
}

// Whatever rows come, those in order are later than the ones before, and nothing
// panics.
func TestAnyRowsAreScreened(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := NewScreen(basis.Basis{}, 100, []ScreenChannel{{Name: "web", Kind: WebGauge}, {Name: "slip", Kind: Displacement, Low: -1, High: 1}})
		d, at, top := NewDraw(rapid.Uint64().Draw(t, "seed")), int64(0), int64(math.MinInt64)
		for i := range rapid.IntRange(0, 500).Draw(t, "rows") {
			switch d.Index(12) {
			case 0:
				at += int64((d.Uniform() - 0.5) * math.Pow(10, 12*d.Uniform()))
			case 1:
			default:
				at += 10e6
			}
			row := []float64{math.Round(d.Normal()), []float64{math.NaN(), math.Inf(-1), 0, 2}[d.Index(4)]}
			in := s.Row(i, at, row[:d.Index(3)])
			require.Equal(t, at > top, in)
			top = max(top, at)
		}
		got := s.Close()
		for _, f := range got.Faults {
			require.NotEmpty(t, strings.TrimSpace(f.Words))
			require.LessOrEqual(t, f.From, f.To, "%+v", f)
			require.Positive(t, f.Rows, "%+v", f)
		}
	})
}

func BenchmarkScreen(b *testing.B) {
	channels := make([]ScreenChannel, 6)
	rows, d := make([][]float64, 4096), NewDraw(1)
	for i := range rows {
		for range channels {
			rows[i] = append(rows[i], d.Normal())
		}
	}
	s, i := NewScreen(basis.Basis{}, 100, channels), 0
	for b.Loop() {
		s.Row(i, int64(i)*10e6, rows[i%len(rows)])
		i++
	}
	b.ReportMetric(float64(6*b.N)/b.Elapsed().Seconds(), "samples/s")
}
