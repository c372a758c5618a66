package uhpc

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/published"
	"endcast/internal/domain/units"
)

func hour(h float64) time.Time { return cast.Add(time.Duration(h * float64(time.Hour))) }

// madeUp is the log of the published tables.
func madeUp() Curing {
	c := Curing{Covered: cast}
	for i, h := range []float64{0, 6, 12, 18, 24, 36, 48, 72} {
		c.Readings = append(c.Readings, Temperature{hour(h), []units.Temperature{22, 24, 34, 40, 36, 28, 22, 18}[i]})
	}
	return c
}

func TestForecastOfThePublishedLog(t *testing.T) {
	t.Parallel()
	b := noGaps(t)
	fitted := Strengthening{Curve: Gain{Plateau: 165.2, Start: 0.25, Scale: 2.95, Shape: 0.39}, Origin: OwnFit, Curing: 20}
	asked := []time.Time{}
	y := published.Open(t, "uhpc_forecast.csv")
	for _, row := range y.Rows {
		asked = append(asked, hour(row.Number("hours")))
	}
	r := madeUp().Evaluate(b, asked...)
	f := NewForecast(fitted, cast, &r, nil, b)
	for i, row := range y.Rows {
		days := r.Marks[i].Maturity.AgesAt(20, b)[Equivalent] / 24
		v, reach := fitted.At(days)
		require.Equal(t, Inside, reach)
		y.Within(row, "age_days", days, 0.001)
		y.Within(row, "strength", float64(v), 0.06)
		y.Within(row, "ksi", float64(v/units.Ksi), 0.006)
		y.Within(row, "by_clock", float64(fitted.Curve.At(nil, row.Number("hours")/24)), 0.06)
		e := f.At(asked[i])
		require.InDelta(t, days*24, e.Ages[Equivalent], 0.02, "the plot follows the sums")
		require.LessOrEqual(t, e.Value, v, "the forecast is by the most cautious method")
		require.GreaterOrEqual(t, e.High, v)
		require.True(t, e.Measured)
	}
	y.Done(4 * len(y.Rows))
	// 14 ksi at 24 h: below, hold; at 48 h: above, which still opens nothing.
	require.Less(t, float64(fitted.Curve.At(nil, 2.020)), 96.5)
	days, ok := fitted.Curve.Reaches(96.5)
	require.True(t, ok)
	// Crossings recomputed by hand: 28.2 h by the log, 56.6 h by the clock.
	require.InDelta(t, 28.2, f.reached(Equivalent, days*24).At.Sub(cast).Hours(), 0.05)
	require.InDelta(t, 56.6, days*24, 0.05)
	c := f.Reaches(96.5)
	require.Equal(t, Passed, c.Expected.State)
	require.Greater(t, c.Expected.Hours, 28.2, "the slowest method is later")
	require.LessOrEqual(t, c.Early.Hours, 28.25)
}

func TestForecastWithoutARecord(t *testing.T) {
	t.Parallel()
	s := DefaultStrengthening(21.7*units.Ksi, defaults)
	f := NewForecast(s, cast, nil, []Ahead{{Temperature: 23}}, defaults)
	require.Empty(t, f.Refused())
	e := f.At(hour(7 * 24))
	for _, a := range e.Ages {
		require.InDelta(t, 7*24, a, 1e-9, "at the curing temperature of the curve an age is the clock's")
	}
	// 0.7836 of the plateau at seven days, recomputed by hand.
	require.InDelta(t, 0.7836*21.7, float64(e.Value/units.Ksi), 0.01)
	require.InDelta(t, 0.8*float64(e.Value), float64(e.Low), 1e-9)
	require.False(t, e.Measured)
	require.Contains(t, f.Words, "as entered, 73\u00a0°F (23.0\u00a0°C); nothing was measured")

	cold := NewForecast(s, cast, nil, []Ahead{{Temperature: 5}}, defaults).At(hour(7 * 24))
	require.Equal(t, FactorWarm, cold.Method, "in the cold the higher datum is the cautious one")
	hot := NewForecast(s, cast, nil, []Ahead{{Temperature: 35}}, defaults).At(hour(7 * 24))
	require.Equal(t, Factor, hot.Method, "in heat the lower datum is")

	c := f.Reaches(21.7 * units.Ksi)
	require.Equal(t, NotReached, c.Expected.State)
	require.True(t, c.Expected.At.IsZero())
	require.Equal(t, NotReached, c.Cautious.State)
	require.Equal(t, ToCome, c.Early.State)
	n := f.NextBreak(21.7*units.Ksi, cast)
	require.True(t, n.At.IsZero())
	require.Equal(t, "no hour: not reached", n.Words)
	n = f.NextBreak(14*units.Ksi, cast)
	require.InDelta(t, f.Reaches(14*units.Ksi).Cautious.Hours, n.Hours, 1e-9)
	n = f.NextBreak(14*units.Ksi, hour(9000))
	require.Equal(t, hour(9000), n.At)
	require.Contains(t, n.Words, "which has passed")
	n = f.NextBreak(18*units.Ksi, cast) // 18/0.8 is above the plateau
	require.Contains(t, n.Words, "may fall short")

	frozen := NewForecast(s, cast, nil, []Ahead{{Temperature: -12}}, defaults)
	require.Equal(t, NotReached, frozen.Reaches(14*units.Ksi).Early.State)
	require.Zero(t, frozen.At(hour(1000)).Value)
	thaw := NewForecast(s, cast, nil, []Ahead{{Temperature: -12}, {From: hour(100), Temperature: 23}}, defaults)
	require.InDelta(t, 100+7*24, thaw.Reaches(e.Value).Expected.Hours, 1e-6)
}

func TestTemperatureAhead(t *testing.T) {
	t.Parallel()
	s := DefaultStrengthening(150, defaults)
	warm := hourly([2]float64{12, 40}).Evaluate(defaults)
	require.Equal(t, units.Temperature(20), NewForecast(s, cast, &warm, nil, defaults).Ahead[0].Temperature, "warm concrete cools")
	cold := hourly([2]float64{12, 8}).Evaluate(defaults)
	require.Equal(t, units.Temperature(8), NewForecast(s, cast, &cold, nil, defaults).Ahead[0].Temperature)
}

func TestForecastThatIsRefused(t *testing.T) {
	t.Parallel()
	s := DefaultStrengthening(150, defaults)
	gap := Curing{Covered: cast, Readings: []Temperature{{cast, 20}, {hour(7), 20}}}.Evaluate(defaults)
	f := NewForecast(s, cast, &gap, nil, defaults)
	require.Contains(t, f.Refused(), "a gap that ends it at 2027-07-04 01:30 UTC")
	require.Equal(t, f.Refused(), f.NextBreak(90, cast).Words)
	require.Contains(t, NewForecast(Strengthening{Curve: Gain{}}, cast, nil, nil, defaults).Refused(), "plateau must be above 0")
	require.Contains(t, NewForecast(Strengthening{}, cast, nil, nil, defaults).Refused(), "no strength curve")
	cold := DefaultStrengthening(150, with(t, defaults, basis.GainTemperature, 0))
	require.Contains(t, NewForecast(cold, cast, nil, nil, defaults).Refused(), "at or below a datum")
	empty := Curing{Covered: cast}.Evaluate(defaults)
	require.Empty(t, NewForecast(s, cast, &empty, nil, defaults).Refused(), "an empty record is none")
}

func TestForecastByAFittedCurveStaysWithinItsAges(t *testing.T) {
	t.Parallel()
	s, ok := FitCurve(openMix(t, "B30"), 30, defaults).Strengthening(defaults)
	require.True(t, ok)
	f := NewForecast(s, cast, nil, []Ahead{{Temperature: 30}}, defaults)
	e := f.At(hour(12))
	require.Equal(t, Before, e.Reach)
	require.Zero(t, e.Value)
	require.Equal(t, Beyond, f.At(hour(200*24)).Reach)
	c := f.Reaches(60) // below what was tested at one day
	require.Equal(t, ByTested, c.Expected.State)
	require.InDelta(t, 24, c.Expected.Hours, 1e-6)
	c = f.Reaches(176) // below the plateau, far beyond the ages tested
	require.Equal(t, Untested, c.Expected.State)
	require.True(t, c.Expected.At.IsZero())
	require.Equal(t, NotReached, c.Cautious.State, "the lower edge of the band never has it")
}

func TestGoverningSensor(t *testing.T) {
	t.Parallel()
	steady := func(name string, p Place, hours, temp float64) Sensor {
		return Sensor{name, p, hourly([2]float64{hours, temp}).Evaluate(defaults)}
	}
	stopped := func(name string, at, temp float64) Sensor {
		c := hourly([2]float64{at, temp})
		c.Readings = append(c.Readings, Temperature{hour(at + 10), units.Temperature(temp)})
		return Sensor{name, Core, c.Evaluate(defaults)}
	}
	core, flange, air, block := steady("core", Core, 48, 35), steady("flange", Coldest, 24, 15), steady("air", InAir, 48, 2), steady("cubes", AtSpecimen, 48, 1)
	g, ok := Govern([]Sensor{core, air, flange, block}, defaults)
	require.True(t, ok)
	require.Equal(t, 2, g.Sensor, "the coldest in the concrete, though its record is shorter and the air colder")
	require.Empty(t, g.Words)
	g, ok = Govern([]Sensor{core, air}, defaults)
	require.True(t, ok)
	require.Zero(t, g.Sensor, "one in the concrete governs over the air")
	require.Contains(t, g.Words[0], "1 of at least 2")
	g, ok = Govern([]Sensor{air, block}, defaults)
	require.True(t, ok && g.Air)
	_, ok = Govern([]Sensor{block, {Name: "empty", Place: Core}}, defaults)
	require.False(t, ok)
	// A sensor that stopped is left out only where it was not the colder one.
	g, ok = Govern([]Sensor{stopped("edge", 12, 40), core}, defaults)
	require.True(t, ok)
	require.Equal(t, 1, g.Sensor)
	require.Contains(t, g.Words[len(g.Words)-1], "edge is left out")
	g, ok = Govern([]Sensor{stopped("edge", 12, 10), core}, defaults)
	require.False(t, ok)
	require.Contains(t, g.Words[len(g.Words)-1], "no other can stand in")
}

// Whatever the record, the curve and the limit: colder is never earlier nor
// stronger, more time is never less strength, the band holds the forecast, and the
// hours of a limit stand in their order.
func TestForecastInvariants(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := defaults
		for key, r := range map[basis.Key][2]float64{basis.MaturityDatum: {-15, 5}, basis.MaturityDatumWarm: {-5, 10}, basis.MaturityQ: {1000, 20000}, basis.MaturityReference: {10, 30}} {
			var err error
			b, err = b.With(key, rapid.Float64Range(r[0], r[1]).Draw(t, string(key)))
			require.NoError(t, err)
		}
		s := Strengthening{Curve: Gain{Plateau: units.Stress(rapid.Float64Range(100, 200).Draw(t, "plateau")), Start: rapid.Float64Range(0, 1).Draw(t, "start"), Scale: 3, Shape: 0.6},
			Curing: units.Temperature(rapid.Float64Range(15, 30).Draw(t, "curing")), DoubtPart: rapid.Float64Range(0, 0.3).Draw(t, "part"), DoubtStress: units.Stress(rapid.Float64Range(0, 15).Draw(t, "stress"))}
		if rapid.Bool().Draw(t, "tested") {
			s.From, s.To = 1, 56
		}
		readings := func(colder float64) *CuringResult {
			c := Curing{Covered: cast}
			for i := range 20 {
				c.Readings = append(c.Readings, Temperature{hour(float64(i)), units.Temperature(25 - float64(i)/2 - colder)})
			}
			r := c.Evaluate(b)
			return &r
		}
		colder := rapid.Float64Range(0, 12).Draw(t, "colder")
		ahead := rapid.Float64Range(-5, 35).Draw(t, "ahead")
		warm := NewForecast(s, cast, readings(0), []Ahead{{Temperature: units.Temperature(ahead)}, {From: hour(60), Temperature: units.Temperature(ahead + 3)}}, b)
		cold := NewForecast(s, cast, readings(colder), []Ahead{{Temperature: units.Temperature(ahead - colder)}, {From: hour(60), Temperature: units.Temperature(ahead + 3 - colder)}}, b)
		const hair = units.Stress(1e-9)
		var last Expected
		for _, h := range []float64{0, 5, 18.5, 19, 24, 48, 59, 61, 96, 400, 3000} {
			e, c := warm.At(hour(h)), cold.At(hour(h))
			require.LessOrEqual(t, c.Value, e.Value+hair, "colder is never stronger, at %g h", h)
			require.LessOrEqual(t, c.High, e.High+hair)
			require.GreaterOrEqual(t, e.Value, last.Value-hair, "more time is never less strength")
			require.LessOrEqual(t, e.Low, e.Value)
			require.LessOrEqual(t, e.Value, e.High+hair)
			require.Equal(t, h <= 19, e.Measured)
			last = e
		}
		limit := units.Stress(rapid.Float64Range(10, 210).Draw(t, "limit"))
		never := hour(1e6)
		at := func(c Crossing) time.Time {
			require.Equal(t, c.At.IsZero(), c.State == NotReached || c.State == Untested)
			if c.At.IsZero() {
				return never
			}
			return c.At
		}
		w, c := warm.Reaches(limit), cold.Reaches(limit)
		require.False(t, at(w.Early).After(at(w.Expected).Add(time.Millisecond)))
		require.False(t, at(w.Expected).After(at(w.Cautious).Add(time.Millisecond)))
		for _, pair := range [][2]Crossing{{w.Early, c.Early}, {w.Expected, c.Expected}, {w.Cautious, c.Cautious}} {
			require.False(t, at(pair[1]).Before(at(pair[0]).Add(-time.Millisecond)), "colder is never earlier")
		}
		if x := w.Expected; x.State == ToCome {
			require.InDelta(t, float64(limit), float64(warm.At(x.At).Value), 1e-3, "the hour and the strength agree")
		}
	})
}
