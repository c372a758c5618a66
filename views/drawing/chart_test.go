package drawing

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// The example of P. Heckbert, "Nice numbers for graph labels", Graphics Gems
// (1990), p. 61: 105 to 543 with five marks is labeled 100 to 600 (from memory).
func TestTicks(t *testing.T) {
	t.Parallel()
	require.Equal(t, []float64{100, 200, 300, 400, 500, 600}, ticks(105, 543, 5))
	require.Equal(t, []float64{0, 20, 40, 60}, ticks(0, 58, 5))
	require.Equal(t, []float64{-1, -0.5, 0, 0.5, 1}, ticks(-0.9, 0.9, 4))
	require.Equal(t, []float64{0, 5, 10}, ticks(10, 0, 2))
	for v, want := range map[float64]float64{1: 1, 1.1: 2, 2: 2, 3: 5, 5.1: 10, 0.03: 0.05, 700: 1000, 0: 1, -4: 1} {
		require.InEpsilon(t, want, niceStep(v), 1e-12, v)
	}
	require.Equal(t, 1.0, niceStep(math.Inf(1)))
	for step, want := range map[float64]int{100: 0, 1: 0, 0.5: 1, 0.2: 1, 0.05: 2} {
		require.Equal(t, want, decimals(step), step)
	}
}

func TestTicksEnclose(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lo, hi := rapid.Float64Range(-1e9, 1e9).Draw(t, "lo"), rapid.Float64Range(-1e9, 1e9).Draw(t, "hi")
		vs := ticks(lo, hi, 5)
		require.GreaterOrEqual(t, len(vs), 2)
		require.LessOrEqual(t, len(vs), 8)
		step := vs[1] - vs[0]
		require.LessOrEqual(t, vs[0], min(lo, hi)+step*1e-6)
		require.GreaterOrEqual(t, vs[len(vs)-1], max(lo, hi)-step*1e-6)
	})
}

func TestCapacityToScale(t *testing.T) {
	t.Parallel()
	kip := float64(units.Kip)
	c := layCapacity(CapacityData{System: units.US, Kind: units.Forces, Rows: []CapacityRow{
		{"As new", 200 * kip, 120 * kip, calc.Passes}, {"Now", 80 * kip, 120 * kip, calc.Fails}, {"Gone", 0, 120 * kip, calc.Fails}, {"Odd", math.NaN(), math.Inf(1), calc.Outside}}})
	require.InDelta(t, 80.0/200, c.rows[1].bar.W/c.rows[0].bar.W, 1e-9)
	require.InDelta(t, 120.0/200, (c.rows[0].tick.X1-rowLabel)/c.rows[0].bar.W, 1e-9)
	require.Nil(t, c.rows[0].short)
	require.InDelta(t, 40.0/80, c.rows[1].short.W/c.rows[1].bar.W, 1e-9)
	require.Contains(t, c.desc, "Now: capacity 80.0\u00a0kip, demand 120.0\u00a0kip, ratio 1.50, does not pass")
	require.Contains(t, c.desc, "ratio ∞")
	require.Contains(t, c.desc, "ratio –")
}

func TestSteps(t *testing.T) {
	t.Parallel()
	s := laySteps(StepBarsData{Steps: []StepCount{{Code: "DES", Name: "Design", Free: 2, Paper: 6}, {Code: "CLN", Name: "Cleaned", Steel: 1, Access: 3}, {Code: "CST", Name: "Cast"}}})
	require.Len(t, s.rows[0].parts, 2)
	require.InDelta(t, 3, s.rows[0].parts[1].box.W/s.rows[0].parts[0].box.W, 1e-9)
	require.InDelta(t, s.rows[0].parts[0].box.W*2, s.rows[1].parts[0].box.W+s.rows[1].parts[1].box.W, 1e-9)
	require.Empty(t, s.rows[2].parts)
	require.Equal(t, "Design: 8, 2 free to go on, 6 blocked by paper", s.rows[0].said)
	require.Contains(t, s.desc, "12 open ends")
	require.Equal(t, 30.0, s.rows[0].hit.H)
	require.Equal(t, comfortable, laySteps(StepBarsData{Tall: true, Steps: make([]StepCount, 1)}).rows[0].hit.H)
	require.Empty(t, laySteps(StepBarsData{}).rows)
}

func TestLineCurve(t *testing.T) {
	t.Parallel()
	same := func(v float64) float64 { return v }
	s := Series{Points: []Point{{0, 10}, {5, 8}, {math.NaN(), 3}, {9, 2}, {10, 1}}}
	require.Equal(t, "M0 10L5 8M9 2L10 1", drawCurve(s, 0, same, same).d)
	s.Step = true
	require.Equal(t, "M0 10L5 10L5 8M9 2L10 2L10 1", drawCurve(s, 0, same, same).d)
	s.Band = []Spread{{0, 1, 3}, {5, 2, 6}}
	require.Equal(t, "M0 3L5 6L5 2L0 1Z", drawCurve(s, 0, same, same).band)
}

func TestLineLayout(t *testing.T) {
	t.Parallel()
	start := DayNumber(time.Date(2027, time.March, 8, 7, 0, 0, 0, time.FixedZone("", -5*3600)))
	require.Equal(t, DayNumber(time.Date(2027, time.March, 8, 0, 0, 0, 0, time.UTC)), start)
	l := layLine(LineData{Days: true, Zero: true, Series: []Series{
		{Name: "open", Points: []Point{{start, 58}, {start + 130, 27}}}, {Name: "plan", Points: []Point{{start, 58}, {start + 130, 27}}}},
		Dates: []Rule{{start + 130, "today"}, {start + 131, "tomorrow"}}})
	require.Contains(t, l.desc, "open: from 58 at 2027-03-08 to 27 at 2027-07-16")
	// Two lines that end in one place have names that do not cover each other.
	require.GreaterOrEqual(t, math.Abs(l.curves[0].name.Y-l.curves[1].name.Y), 14.0)
	for _, c := range l.curves {
		require.LessOrEqual(t, c.name.X, l.width)
		require.True(t, c.name.Y > 0 && c.name.Y < l.height)
	}
	empty := layLine(LineData{Series: []Series{{Name: "none", Points: []Point{{math.NaN(), 1}}}}})
	require.True(t, finite(empty.width, empty.height))
}

func TestDays(t *testing.T) {
	t.Parallel()
	day := func(y int, m time.Month, d int) float64 { return DayNumber(time.Date(y, m, d, 0, 0, 0, 0, time.UTC)) }
	_, texts := days(day(2027, 7, 14), day(2027, 7, 19), 8)
	require.Equal(t, []string{"Jul 14", "Jul 15", "Jul 16", "Jul 17", "Jul 18", "Jul 19"}, texts)
	xs, texts := days(day(2027, 6, 1), day(2027, 7, 16), 8)
	require.Equal(t, []string{"Jun 7", "Jun 14", "Jun 21", "Jun 28", "Jul 5", "Jul 12"}, texts)
	for _, v := range xs {
		require.Equal(t, time.Monday, time.Unix(int64(v)*86400, 0).UTC().Weekday())
	}
	_, texts = days(day(2027, 9, 8), day(2028, 2, 19), 8)
	require.Equal(t, []string{"Oct 2027", "Nov", "Dec", "Jan 2028", "Feb"}, texts)
	xs, _ = days(0, 1e12, 8)
	require.Empty(t, xs)
}
