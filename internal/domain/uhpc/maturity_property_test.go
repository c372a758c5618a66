package uhpc

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
)

// aLog draws a record with readings some minutes apart, a few of them in gaps.
func aLog(t *rapid.T) Curing {
	c := Curing{Covered: cast}
	at := cast
	for range rapid.IntRange(2, 40).Draw(t, "readings") {
		c.Readings = append(c.Readings, Temperature{at, units.Temperature(rapid.Float64Range(-20, 70).Draw(t, "temperature"))})
		minutes := rapid.IntRange(0, 90)
		if rapid.IntRange(0, 9).Draw(t, "gap") == 0 {
			minutes = rapid.IntRange(90, 500)
		}
		at = at.Add(time.Duration(minutes.Draw(t, "minutes")) * time.Minute)
	}
	return c
}

// noMore: by every method a has summed up no more than b, but for rounding.
func noMore(t require.TestingT, a, b Maturity, why string) {
	for i := range a {
		require.LessOrEqual(t, a[i], b[i]*(1+1e-12)+1e-9, "%s, method %d", why, i)
	}
}

func TestColderNeverGainsMore(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		warm := aLog(t)
		cold := Curing{Covered: warm.Covered, Readings: slices.Clone(warm.Readings)}
		for i := range cold.Readings {
			cold.Readings[i].Value -= units.Temperature(rapid.Float64Range(0, 15).Draw(t, "colder"))
		}
		noMore(t, cold.Evaluate(defaults).Maturity, warm.Evaluate(defaults).Maturity, "a colder record")
	})
}

func TestMoreTimeNeverTakesMaturityAway(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := aLog(t)
		r := c.Evaluate(defaults)
		for i := 1; i < len(r.Trace); i++ {
			noMore(t, r.Trace[i-1].Maturity, r.Trace[i].Maturity, "an earlier point")
		}
		// Dropping the last readings never adds.
		short := Curing{Covered: c.Covered, Readings: c.Readings[:rapid.IntRange(1, len(c.Readings)).Draw(t, "kept")]}
		noMore(t, short.Evaluate(defaults).Maturity, r.Maturity, "a shorter record")
	})
}

// A gap never adds maturity: the gap rule credits no more than the mean of the
// ends would, and losing a run of readings none of which is below both readings
// beside the run credits no more than keeping them, once the run is a gap by the
// rule. What the rule cannot see is a dip inside a gap: losing readings colder than
// both ends may add, by no more than the hours of the gap at its lower end.
func TestAGapNeverAddsMaturity(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := aLog(t)
		r := c.Evaluate(defaults)
		open, err := defaults.With(basis.CuringGapLow, 240)
		require.NoError(t, err)
		open, err = open.With(basis.CuringGapVoid, 240)
		require.NoError(t, err)
		noMore(t, r.Maturity, c.Evaluate(open).Maturity, "the gap rule")

		if len(c.Readings) < 3 {
			return
		}
		from := rapid.IntRange(1, len(c.Readings)-2).Draw(t, "from")
		to := rapid.IntRange(from+1, len(c.Readings)-1).Draw(t, "to") // readings from..to-1 are lost
		lost := Curing{Covered: c.Covered, Readings: slices.Delete(slices.Clone(c.Readings), from, to)}
		low := min(c.Readings[from-1].Value, c.Readings[to].Value)
		hours := c.Readings[to].At.Sub(c.Readings[from-1].At).Hours()
		if hours <= defaults.Value(basis.CuringGapLow) {
			return // too short to be a gap: the mean of its ends counts
		}
		got := lost.Evaluate(defaults)
		dip := low
		for _, x := range c.Readings[from:to] {
			dip = min(dip, x.Value)
		}
		allowed := r.Maturity
		if dip < low {
			allowed = allowed.plus(Gained(nil, low, hours, defaults))
		}
		noMore(t, got.Maturity, allowed, "readings lost")
	})
}

// Losing readings only makes gaps longer, so it never mends a void record.
func TestLosingReadingsNeverMendsARecord(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := aLog(t)
		if !c.Evaluate(defaults).Void {
			return
		}
		i := rapid.IntRange(0, len(c.Readings)-2).Draw(t, "lost") // the last one is what shows the gap
		lost := Curing{Covered: c.Covered, Readings: slices.Delete(slices.Clone(c.Readings), i, i+1)}
		require.True(t, lost.Evaluate(defaults).Void)
	})
}

// The plot follows the sums whatever the length of the record, and holds no more
// than its points.
func TestTraceOfALongRecord(t *testing.T) {
	t.Parallel()
	a := NewAccumulator(cast, defaults)
	for i := range 40_000 {
		require.NoError(t, a.Add(cast.Add(time.Duration(i)*time.Minute), units.Temperature(20+i%7)))
	}
	r := a.Result(defaults)
	require.LessOrEqual(t, len(r.Trace), traceMax+1)
	require.Equal(t, cast, r.Trace[0].At)
	require.Equal(t, r.Until, r.Trace[len(r.Trace)-1].At)
	asked := r.Trace[100].At
	b := NewAccumulator(cast, defaults, asked)
	for i := range 40_000 {
		require.NoError(t, b.Add(cast.Add(time.Duration(i)*time.Minute), units.Temperature(20+i%7)))
	}
	require.Equal(t, b.Result(defaults).Marks[0], r.Trace[100])
}

// A million readings of a logger, one a second.
func BenchmarkAccumulatorMillion(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		a := NewAccumulator(cast, defaults)
		at := cast
		for i := range 1_000_000 {
			if err := a.Add(at, units.Temperature(20+float64(i%300)/10)); err != nil {
				b.Fatal(err)
			}
			at = at.Add(time.Second)
		}
		require.False(b, a.Result(defaults).Void)
	}
}
