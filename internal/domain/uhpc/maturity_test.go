package uhpc

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/published"
	"endcast/internal/domain/units"
)

// noGaps are the defaults without the gap rule, for logs that textbooks print with
// few readings.
func noGaps(t *testing.T) basis.Basis {
	t.Helper()
	return with(t, with(t, defaults, basis.CuringGapLow, 240), basis.CuringGapVoid, 240)
}

// hourly is a log of steady temperatures, each for some hours, read every half
// hour; a change of temperature is sudden.
func hourly(spans ...[2]float64) Curing {
	c := Curing{Covered: cast}
	at := cast
	for _, s := range spans {
		for end := at.Add(time.Duration(s[0] * float64(time.Hour))); ; at = at.Add(30 * time.Minute) {
			c.Readings = append(c.Readings, Temperature{at, units.Temperature(s[1])})
			if !at.Before(end) {
				break
			}
		}
	}
	return c
}

func TestMaturityOfThePublishedLog(t *testing.T) {
	t.Parallel()
	hours := []float64{0, 6, 12, 18, 24, 36, 48, 72}
	temps := []units.Temperature{22, 24, 34, 40, 36, 28, 22, 18}
	b := noGaps(t)
	c := Curing{Covered: cast}
	for i, h := range hours {
		c.Readings = append(c.Readings, Temperature{cast.Add(time.Duration(h) * time.Hour), temps[i]})
	}
	require.NoError(t, c.Validate())
	y := published.Open(t, "uhpc_maturity.csv")
	for i, row := range y.Rows {
		// The values at the hour of the row, asked of the whole record.
		at := func(b basis.Basis) Maturity {
			var asked []time.Time
			for _, r := range y.Rows {
				asked = append(asked, cast.Add(time.Duration(r.Number("hours"))*time.Hour))
			}
			m := c.Evaluate(b, asked...).Marks[i]
			require.True(t, m.Known && !m.Void)
			return m.Maturity
		}
		y.Within(row, "m_minus10", at(b)[Factor], 1e-9)
		y.Within(row, "m_0", at(b)[FactorWarm], 1e-9)
		y.Within(row, "m_0", at(with(t, b, basis.MaturityDatum, 0))[Factor], 1e-9)
		y.Within(row, "te_20_4000", at(with(t, b, basis.MaturityQ, 4000))[Equivalent], 1e-3)
		y.Within(row, "te_20_5000", at(b)[Equivalent], 1e-3)
		y.Within(row, "te_23_5000", at(with(t, b, basis.MaturityReference, 23))[Equivalent], 1e-3)
	}
	y.Done(5 * len(y.Rows))
	// In degrees Fahrenheit and hours over a datum of 14 degF: 4762.8, recomputed by hand.
	require.InDelta(t, 4762.8, 1.8*c.Evaluate(b).Maturity[Factor], 1e-9)
}

func TestModelCodeAge(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "uhpc_maturity_fib.csv")
	for _, row := range y.Rows {
		r := hourly([2]float64{24 * row.Number("days_1"), row.Number("temperature_1")}, [2]float64{24 * row.Number("days_2"), row.Number("temperature_2")}).Evaluate(defaults)
		require.False(t, r.Void)
		y.Within(row, "age", r.Maturity[Fib]/24, row.Number("tolerance"))
	}
	y.Done(len(y.Rows))
}

func TestDaysAtASteadyTemperature(t *testing.T) {
	t.Parallel()
	want := Gained(nil, 20, 2.36*24, defaults)
	y := published.Open(t, "uhpc_maturity_steady.csv")
	for _, row := range y.Rows {
		hour := Gained(nil, units.Temperature(row.Number("temperature")), 1, defaults)
		y.Shown(row, "equivalent_5000", want[Equivalent]/hour[Equivalent]/24, 0)
		y.Shown(row, "factor_0", want[FactorWarm]/hour[FactorWarm]/24, 0)
		y.Shown(row, "factor_minus10", want[Factor]/hour[Factor]/24, 0)
	}
	y.Done(3 * len(y.Rows))
	y = published.Open(t, "uhpc_age_factors.csv")
	for _, row := range y.Rows {
		b := with(t, with(t, defaults, basis.MaturityQ, row.Number("q")), basis.MaturityReference, row.Number("reference"))
		for column, temp := range map[string]units.Temperature{"t5": 5, "t10": 10, "t15": 15, "t20": 20, "t23": 23, "t30": 30, "t35": 35, "t41": 41} {
			y.Shown(row, column, Gained(nil, temp, 1, b)[Equivalent], 0)
		}
	}
	y.Done(8 * len(y.Rows))
	// The datum as sensitive as an activation energy about 20 degC, recomputed by hand.
	for q, want := range map[float64]float64{5000: 2.8, 4000: -1.5, 2865: -10, 4297: 0} {
		require.InDelta(t, want, float64(MatchingDatum(q, 20)), 0.05)
	}
}

func TestTextbookStrip(t *testing.T) {
	t.Parallel()
	b := with(t, defaults, basis.MaturityDatum, -11)
	y := published.Open(t, "uhpc_strip.csv")
	for _, row := range y.Rows {
		r := hourly([2]float64{24 * row.Number("days_warm"), row.Number("warm")}, [2]float64{24 * row.Number("days_cold"), row.Number("cold")}).Evaluate(b)
		y.Within(row, "factor", r.Maturity[Factor], 1e-6)
		if row.Text("percent") != "" {
			percent := 32 + 54*math.Log10(r.Maturity[Factor]/1000)
			y.Within(row, "percent", percent, 0.1) // the book rounds down
			y.Within(row, "strength", 40*percent/100, 0.15)
		}
	}
	y.Done(4)
}

func TestGapsInALog(t *testing.T) {
	t.Parallel()
	at := func(h float64) time.Time { return cast.Add(time.Duration(h * float64(time.Hour))) }
	for _, c := range []struct {
		name     string
		readings []Temperature
		factor   float64 // over the datum of -10
		void     float64 // hours, zero if none
		lead     float64
	}{
		{"close readings count by their mean", []Temperature{{at(0), 20}, {at(2), 30}}, 70, 0, 0},
		{"a gap counts by its lower end", []Temperature{{at(0), 20}, {at(2.5), 30}}, 75, 0, 0},
		{"the longest gap that is none", []Temperature{{at(0), 20}, {at(6), 30}}, 180, 0, 0},
		{"a long gap ends the record where it began", []Temperature{{at(0), 20}, {at(1), 20}, {at(7.5), 20}, {at(8), 20}}, 30, 1, 0},
		{"before the first reading, short", []Temperature{{at(2), 20}}, 60, 0, 0},
		{"before the first reading, long: no lower end is known", []Temperature{{at(3), 20}, {at(4), 20}}, 30, 0, 3},
		{"nothing at the datum", []Temperature{{at(0), -10}, {at(1), -10}}, 0, 0, 0},
		{"nothing below the datum", []Temperature{{at(0), -15}, {at(1), -15}}, 0, 0, 0},
		{"two readings at one instant", []Temperature{{at(0), 20}, {at(1), 20}, {at(1), 30}, {at(2), 30}}, 70, 0, 0},
	} {
		r := Curing{Covered: cast, Readings: c.readings}.Evaluate(defaults, at(0.5))
		require.InDelta(t, c.factor, r.Maturity[Factor], 1e-9, c.name)
		require.Equal(t, c.void != 0, r.Void, c.name)
		if c.void != 0 {
			require.Equal(t, at(c.void), r.VoidFrom, c.name)
			require.NotEmpty(t, r.Findings, c.name)
		}
		require.Equal(t, c.lead, r.LeadHours, c.name)
	}
	r := Curing{Covered: cast, Readings: []Temperature{{at(7), 20}, {at(8), 20}}}.Evaluate(defaults)
	require.True(t, r.Void)
	require.Equal(t, cast, r.VoidFrom, "nothing is known from the covering on")
	require.Zero(t, r.Maturity)
	require.True(t, Curing{}.Evaluate(defaults).Void)
	require.Error(t, Curing{Covered: cast, Readings: []Temperature{{at(-1), 20}}}.Validate())
	require.Error(t, Curing{Covered: cast, Readings: []Temperature{{at(1), 200}}}.Validate())
}

func TestValuesAtAskedInstants(t *testing.T) {
	t.Parallel()
	at := func(h float64) time.Time { return cast.Add(time.Duration(h * float64(time.Hour))) }
	c := Curing{Covered: cast, Readings: []Temperature{{at(0), 20}, {at(1), 30}, {at(2), 30}, {at(10), 30}}}
	r := c.Evaluate(defaults, at(24), at(-1), at(0.5), at(2), at(5), at(10)) // in any order
	var got []float64
	for _, m := range r.Marks {
		got = append(got, m.Maturity[Factor])
	}
	require.InDeltaSlice(t, []float64{0, 17.5, 75, 75, 75, 75}, got, 1e-9)
	require.Equal(t, []bool{false, false, false, true, true, true}, []bool{r.Marks[0].Void, r.Marks[1].Void, r.Marks[2].Void, r.Marks[3].Void, r.Marks[4].Void, r.Marks[5].Void})
	require.InDelta(t, 25, float64(r.Marks[1].Temperature), 1e-9)
	require.True(t, r.Marks[4].Known)
	require.False(t, r.Marks[5].Known, "nothing is known past the last reading")
	require.Equal(t, at(2), r.VoidFrom)
	m, ok := r.At(at(0.5))
	require.True(t, ok)
	require.InDelta(t, 17.5, m.Maturity[Factor], 1e-9)
	_, ok = r.At(at(11))
	require.False(t, ok)
	_, ok = r.At(at(-1))
	require.False(t, ok)
}

func TestAccumulatorRefuses(t *testing.T) {
	t.Parallel()
	a := NewAccumulator(cast, defaults)
	require.ErrorIs(t, a.Add(cast.Add(-time.Second), 20), fault.Refused)
	require.NoError(t, a.Add(cast.Add(time.Hour), 20))
	before := a.Result(defaults)
	for _, bad := range []units.Temperature{-41, 121, units.Temperature(math.NaN()), units.Temperature(math.Inf(1))} {
		require.ErrorIs(t, a.Add(cast.Add(2*time.Hour), bad), fault.Refused)
	}
	require.ErrorIs(t, a.Add(cast.Add(30*time.Minute), 20), fault.Refused)
	require.Equal(t, before, a.Result(defaults), "what is refused changes nothing")
}

// Clocks went back an hour at two on 7 November 2027 in the zone of the site; the
// concrete did not.
func TestMaturityAcrossAChangeOfClock(t *testing.T) {
	t.Parallel()
	summer, winter := time.FixedZone("summer", -4*3600), time.FixedZone("winter", -5*3600)
	c := Curing{Covered: time.Date(2027, 11, 7, 1, 0, 0, 0, summer), Readings: []Temperature{
		{time.Date(2027, 11, 7, 1, 0, 0, 0, summer), 20}, {time.Date(2027, 11, 7, 1, 30, 0, 0, summer), 20},
		{time.Date(2027, 11, 7, 1, 0, 0, 0, winter), 20}, {time.Date(2027, 11, 7, 2, 0, 0, 0, winter), 20}}}
	require.NoError(t, c.Validate())
	r := c.Evaluate(defaults)
	require.Equal(t, 2.0, r.Hours)
	require.InDelta(t, 60, r.Maturity[Factor], 1e-9)
}

func TestRiseOfTemperature(t *testing.T) {
	t.Parallel()
	rises := func(step time.Duration, temps ...units.Temperature) bool {
		c := Curing{Covered: cast}
		for i, v := range temps {
			c.Readings = append(c.Readings, Temperature{cast.Add(time.Duration(i) * step), v})
		}
		for _, f := range c.Evaluate(defaults).Findings {
			if f.Key == string(basis.CuringRise) {
				return true
			}
		}
		return false
	}
	require.False(t, rises(time.Second, 20, 20.1, 20, 20.1), "the last digit of a logger is no rise")
	require.True(t, rises(time.Minute, 20, 43), "23 degrees within an hour")
	require.True(t, rises(time.Hour, 20, 43))
	require.False(t, rises(time.Hour, 20, 40, 60))
	require.False(t, rises(30*time.Minute, 20, 28, 36, 44), "16 degrees an hour")
}

func TestMethodsSayTheirLimits(t *testing.T) {
	t.Parallel()
	list := Methods(defaults)
	require.Len(t, list, int(methodCount))
	for i, m := range list {
		require.Equal(t, Method(i), m.Method)
		require.NotEmpty(t, m.Source)
		require.NotEmpty(t, m.Tag)
		require.NotEmpty(t, m.Limits)
	}
	require.Contains(t, list[Fib].Words, "0.9981")
	require.Contains(t, list[Factor].Name, "14")
	p := calc.NewPad()
	Gained(p, 20, 1, defaults)
	require.Len(t, p.Lines(), int(methodCount))
	ages := Gained(nil, 23, 24, defaults).AgesAt(23, defaults)
	for _, a := range ages {
		require.InDelta(t, 24, a, 1e-9, "at its own temperature an age is the hours of the clock")
	}
	require.Zero(t, Maturity{1, 1, 1, 1}.AgesAt(-20, defaults))
}
