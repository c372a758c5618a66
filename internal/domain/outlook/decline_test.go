package outlook

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/published"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

func day(year, month int) time.Time {
	return time.Date(year, time.Month(month), 1, 0, 0, 0, 0, time.UTC)
}

// flat reads one thickness at ten by ten places.
func flat(t float64) *survey.Survey {
	s := worn()
	for i := range s.Readings {
		s.Readings[i].T = units.Length(t)
	}
	s.FlangeThickness = nil
	return s
}

func dated(number int, on time.Time, s *survey.Survey) Dated {
	return Dated{Number: number, On: on, Kind: AsFound, Method: survey.Ultrasonic, Survey: s}
}

func said(f Fall) string { return strings.Join(f.Words, "\n") }

func decline(t testing.TB, g girder.Geometry, list []Dated, demand units.Force, built *int, assumed *Rate) Fall {
	b := basis.Basis{}
	return Decline(b, resistance.Default(b), g, list, demand, built, assumed)
}

// A uniform web governed by crippling: the year comes from the thickness at which
// the rule of AISC 360-22 J10.3, written out, gives the demand.
func TestYearByHand(t *testing.T) {
	t.Parallel()
	g := end(t, "W33X130")
	b := with(t, basis.ChanceCalibration, 0.0)
	pr := resistance.Default(b)
	const t0, t1, later = 12.0, 11.2, 4.0
	list := []Dated{dated(2, day(2024, 1), flat(t1)), dated(1, day(2020, 1), flat(t0))}
	tf, n, d := float64(g.Section.FlangeThickness), float64(g.Bearing.Length), float64(g.Section.Depth)
	need := 9.0 // mm
	// The flange was not read and loses what the web loses.
	rate := (t0 - t1) / later
	years := (t1 - need) / rate
	left := tf - rate*years
	wlc := func(tf float64) float64 {
		r := math.Pow(need/tf, 1.5)
		q := 1 + (4*n/d-0.2)*r
		return 0.80 * 0.40 * need * need * q * math.Sqrt(29000*6.894757293168361*float64(g.Fy)*tf/need)
	}
	demand := units.Force(min(wlc(left), wlc(tf)))
	f := Decline(b, pr, g, list, demand, nil, nil)
	require.Equal(t, Falls, f.Verdict, said(f))
	require.Equal(t, FromSurveys, f.Source)
	require.Equal(t, 2024.0, f.From)
	require.InDelta(t, 2024+years, f.Year, 0.005)
	require.InDelta(t, f.Year, f.Early, 1e-3, "without scatter all rates are one")
	require.InDelta(t, f.Year, f.Late, 1e-3)
	require.InDelta(t, rate, float64(f.Rate.Central), 1e-4)
	require.Len(t, f.Pairs, 1)
	require.Equal(t, "place", f.Pairs[0].By)
	require.Equal(t, 100, f.Pairs[0].Matched)
	require.True(t, f.Pairs[0].Used)
	require.InDelta(t, 0.8, float64(f.Pairs[0].Loss), 1e-9)
	require.Len(t, f.Curve, 41)
	require.Equal(t, 2024.0, f.Curve[0].Year)
	require.Contains(t, said(f), "falls below the demand about "+calendar(f.Year))
}

// The projection is Evaluate of the thinner steel, point by point.
func TestCurveIsEvaluateOfThinnerSteel(t *testing.T) {
	t.Parallel()
	g := stiffened(t)
	s := worn()
	tp := units.Length(15)
	s.StiffenerThickness = &tp
	b := basis.Basis{}
	pr := resistance.Default(b)
	whole := pr.Evaluate(nil, b, g, s, 1).Capacity
	f := Decline(b, pr, g, []Dated{dated(1, day(2021, 7), s)}, whole*0.7, nil, &Rate{Low: 0.05, Central: 0.1, High: 0.2, Origin: "coupons"})
	require.Equal(t, FromOwner, f.Source)
	require.Contains(t, f.Rate.Origin, "coupons")
	require.InDelta(t, 0.1, float64(f.Rate.Central), 1e-12)
	for _, p := range f.Curve {
		for rate, got := range map[units.Length]units.Force{0.05: p.High, 0.1: p.Central, 0.2: p.Low} {
			off := units.Length(p.Year-f.From) * rate
			now := *s
			now.Readings = slices.Clone(s.Readings)
			for i := range now.Readings {
				now.Readings[i].T = max(0, now.Readings[i].T-off)
			}
			flange, plate := max(0, *s.FlangeThickness-off), max(0, tp-off)
			now.FlangeThickness, now.StiffenerThickness = &flange, &plate
			require.InEpsilon(t, float64(pr.Evaluate(nil, b, g, &now, 1).Capacity)+1, float64(got)+1, 1e-9)
		}
	}
	require.Less(t, f.Early, f.Year)
	require.Less(t, f.Year, f.Late)
	require.InDelta(t, 2021.496, f.From, 0.001)
}

func TestPairsThatTellNoRate(t *testing.T) {
	t.Parallel()
	g := end(t, "W33X130")
	first := func() Dated { return dated(1, day(2020, 1), flat(12)) }
	for name, c := range map[string]struct {
		spoil func(a, b *Dated)
		says  string
	}{
		"cleaned":  {func(a, b *Dated) { b.Kind = Cleaned }, "before and after cleaning: what lies between them was cleaned off, and is no loss in time; they differ by 1.00 mm"},
		"close":    {func(a, b *Dated) { b.On = day(2020, 7) }, "0.50 years apart, at least 1.00 are wanted"},
		"method":   {func(a, b *Dated) { b.Method = survey.Caliper }, "survey 1 was read by ultrasonic, survey 2 by caliper"},
		"unstated": {func(a, b *Dated) { b.Method, b.Survey.Method = survey.Unstated, survey.Unstated }, "survey 2 by an unstated method"},
		"gained":   {func(a, b *Dated) { b.Survey = flat(12.3) }, "survey 1 and survey 2 show 0.30 mm more metal after 4.0 years (100 places)"},
		"faces": {func(a, b *Dated) {
			for i := range b.Survey.Readings {
				b.Survey.Readings[i].Face = survey.Right
			}
		}, "read no face in common"},
		"places": {func(a, b *Dated) {
			b.Survey.Readings = b.Survey.Readings[:2]
		}, "have 2 places in common, at least 5 are wanted"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			a, b := first(), dated(2, day(2024, 1), flat(11))
			c.spoil(&a, &b)
			f := decline(t, g, []Dated{a, b}, 1, nil, nil)
			require.Equal(t, Unknown, f.Verdict)
			require.Equal(t, NoRate, f.Source)
			require.Contains(t, said(f), c.says)
			require.Len(t, f.Pairs, 1)
			require.False(t, f.Pairs[0].Used)
			require.Zero(t, f.Year+f.Early+f.Late)
			require.Zero(t, f.Rate)
			require.Empty(t, f.Curve)
			// The owner's rate, where there is one, is taken then.
			f = decline(t, g, []Dated{a, b}, 1, nil, &Rate{Central: 0.1})
			require.Equal(t, FromOwner, f.Source)
			require.Contains(t, said(f), c.says)
		})
	}
}

// Two surveys before cleaning give a rate that is carried on from the one after.
func TestRateBeforeCleaningGoesOnAfterIt(t *testing.T) {
	t.Parallel()
	after := dated(3, day(2025, 1), flat(10.0))
	after.Kind = Cleaned
	f := decline(t, end(t, "W33X130"), []Dated{dated(1, day(2020, 1), flat(12)), dated(2, day(2024, 1), flat(11.2)), after}, 1, nil, nil)
	require.Equal(t, FromSurveys, f.Source)
	require.Equal(t, 2025.0, f.From)
	require.InDelta(t, 0.2, float64(f.Rate.Central), 1e-4)
	used := 0
	for _, p := range f.Pairs {
		if p.Used {
			used++
			require.Equal(t, [2]int{1, 2}, [2]int{p.First, p.Second})
		}
	}
	require.Equal(t, 1, used)
	require.Len(t, f.Pairs, 3)
}

func TestTheLongestTimeIsUsed(t *testing.T) {
	t.Parallel()
	f := decline(t, end(t, "W33X130"), []Dated{dated(1, day(2010, 1), flat(12)), dated(2, day(2018, 1), flat(11.6)), dated(3, day(2024, 1), flat(10.6))}, 1, nil, nil)
	require.InDelta(t, 0.1, float64(f.Rate.Central), 1e-4)
	require.Equal(t, []bool{false, true, false}, []bool{f.Pairs[0].Used, f.Pairs[1].Used, f.Pairs[2].Used})
}

// Each row of readings has the rate that was seen in it.
func TestRowsKeepTheirOwnRate(t *testing.T) {
	t.Parallel()
	g := end(t, "W33X130")
	a, b := flat(12), flat(12)
	for i := range b.Readings {
		switch z := b.Readings[i].Z; {
		case z < 40:
			b.Readings[i].T -= 2
		case z > 300:
			b.Readings[i].T += 0.1
		default:
			b.Readings[i].T -= 0.4
		}
	}
	pr := resistance.Default(basis.Basis{})
	c := compare(basis.Basis{}, pr, g, dated(1, day(2020, 1), a), dated(2, day(2024, 1), b))
	require.Empty(t, c.Refused)
	r := c.rates(basis.Basis{}, b)
	for i, rd := range b.Readings {
		switch {
		case rd.Z < 40:
			require.InDelta(t, 0.5, r.web[i].central, 1e-3)
		case rd.Z > 300:
			require.Zero(t, r.web[i].central)
			require.Zero(t, r.web[i].low)
		default:
			require.InDelta(t, 0.1, r.web[i].central, 1e-3)
		}
		require.LessOrEqual(t, r.web[i].low, r.web[i].central)
		require.LessOrEqual(t, r.web[i].central, r.web[i].high)
	}
	f := Decline(basis.Basis{}, pr, g, []Dated{dated(1, day(2020, 1), a), dated(2, day(2024, 1), b)}, 1, nil, nil)
	require.Contains(t, said(f), "shows 0.10 mm more metal: no loss is counted there")
}

// Where places differ rows are compared, and where rows differ the zone.
func TestRowsAndZonesWherePlacesDiffer(t *testing.T) {
	t.Parallel()
	g := end(t, "W33X130")
	b := basis.Basis{}
	pr := resistance.Default(b)
	moved := func(t, dx, dz units.Length) *survey.Survey {
		s := flat(float64(t))
		for i := range s.Readings {
			s.Readings[i].X += dx
			s.Readings[i].Z += dz
		}
		return s
	}
	c := compare(b, pr, g, dated(1, day(2020, 1), flat(12)), dated(2, day(2024, 1), moved(11, 20, 0)))
	require.Empty(t, c.Refused)
	require.Equal(t, "row", c.By)
	require.Equal(t, 10, c.Matched)
	require.InDelta(t, 1, float64(c.Loss), 1e-9)
	c = compare(b, pr, g, dated(1, day(2020, 1), flat(12)), dated(2, day(2024, 1), moved(11, 20, 19)))
	require.Empty(t, c.Refused)
	require.Equal(t, "zone", c.By)
	require.InDelta(t, 1, float64(c.Loss), 1e-9)
	require.InDelta(t, 0.25, c.rates(b, flat(11)).web[0].central, 1e-9)
}

// The interval of the rate holds the true rate about as often as it says.
func TestIntervalOfTheRateHolds(t *testing.T) {
	t.Parallel()
	g := end(t, "W33X130")
	b := with(t, basis.ChanceCalibration, 0.0)
	pr := resistance.Default(b)
	x0, x1, top := pr.Watched(g)
	d := newNoise(3)
	held, wide := 0, 0
	const n = 400
	for range n {
		was, is := flat(12), flat(11.4)
		for i := range was.Readings {
			was.Readings[i].T += units.Length(0.3 * d.NormFloat64())
			is.Readings[i].T += units.Length(0.3 * d.NormFloat64())
		}
		c := compare(b, pr, g, dated(1, day(2020, 1), was), dated(2, day(2026, 1), is))
		require.Empty(t, c.Refused)
		if math.Abs(c.overall.loss-0.6) <= c.overall.half {
			held++
		}
		r := c.rates(b, is).watched(is, x0, x1, top)
		require.LessOrEqual(t, r.Low, r.Central)
		require.LessOrEqual(t, r.Central, r.High)
		if r.Low <= 0.1 && r.High >= 0.1 {
			wide++
		}
	}
	require.InDelta(t, 0.90, float64(held)/n, 0.05)
	require.Greater(t, wide, held, "a row alone is known less well than all together")
	t.Logf("the 90 %% interval of the loss held it in %d of %d", held, n)
}

func TestLossOverAge(t *testing.T) {
	t.Parallel()
	g := end(t, "W33X130")
	built := 1960
	f := decline(t, g, []Dated{dated(1, day(2020, 1), flat(10))}, 1, &built, nil)
	require.Equal(t, FromAge, f.Source)
	lost := float64(g.Section.WebThickness) - 10
	require.InDelta(t, lost/40, float64(f.Rate.Central), 1e-9)
	require.InDelta(t, 2*0.2396/20, float64(f.Rate.Low), 1e-4, "two faces, class C4, lower limit")
	require.InDelta(t, 2*3.354/20, float64(f.Rate.High), 1e-4, "two faces, class CX, upper limit")
	require.Contains(t, f.Rate.Origin, "40.0 years without coating")
	// Each place goes on at its own rate: deep places stay deep.
	s := worn()
	p, why := ofAge(basis.Basis{}, g, s, 2020, built)
	require.Empty(t, why)
	for i, r := range s.Readings {
		require.InDelta(t, max(0, float64(g.Section.WebThickness-r.T))/40, p.web[i].central, 1e-9)
	}
	require.InDelta(t, float64(g.Section.FlangeThickness-17)/40, p.flange.central, 1e-9)
	young := 2001
	f = decline(t, g, []Dated{dated(1, day(2020, 1), flat(10))}, 1, &young, nil)
	require.Equal(t, Unknown, f.Verdict)
	require.Contains(t, said(f), "too few to tell a rate")
}

func TestVerdictsInWords(t *testing.T) {
	t.Parallel()
	g := end(t, "W33X130")
	b := basis.Basis{}
	s := flat(10)
	now := resistance.Evaluate(nil, b, g, s, 1).Capacity
	list := []Dated{dated(4, day(2022, 1), s)}
	rate := &Rate{Low: 0.01, Central: 0.02, High: 0.03}
	f := decline(t, g, list, now*1.25, nil, rate)
	require.Equal(t, Already, f.Verdict)
	require.Contains(t, said(f), "80 % of the demand: it is below it already")
	require.Zero(t, f.Year)
	require.NotEmpty(t, f.Curve)
	f = decline(t, g, list, now*1.25, nil, nil)
	require.Equal(t, Already, f.Verdict, "also without a rate")
	f = decline(t, g, list, now*0.1, nil, rate)
	require.Equal(t, Beyond, f.Verdict)
	require.Contains(t, said(f), "does not fall below the demand within 100 years")
	require.Equal(t, Falls, decline(t, g, list, now*0.9, nil, rate).Verdict)
	require.Equal(t, Unknown, decline(t, g, list, 0, nil, rate).Verdict)
	require.Contains(t, said(decline(t, g, list, 0, nil, rate)), "no demand")
	require.Contains(t, said(decline(t, g, nil, now, nil, rate)), "no survey")
	f = decline(t, g, []Dated{dated(1, day(2022, 1), &survey.Survey{Readings: []survey.Reading{{NoAccess: true}}})}, now, nil, rate)
	require.Contains(t, said(f), "no reading of the web")
	require.Equal(t, Unknown, f.Verdict)
	f = decline(t, g, list, now*0.9, nil, &Rate{Central: units.Length(math.NaN())})
	require.Equal(t, Unknown, f.Verdict)
	require.Contains(t, said(f), "is none")
	require.Contains(t, said(decline(t, g, list, now*0.9, nil, rate)), "along a straight line")
	// Without loss it never falls.
	require.Equal(t, Beyond, decline(t, g, list, now*0.999, nil, &Rate{}).Verdict)
}

// Property: a higher demand falls no later, a higher rate falls no later, the curve
// is ordered and does not rise but for the step that two rules have in themselves.
func TestDeclineIsOrdered(t *testing.T) {
	t.Parallel()
	g, s := end(t, "W33X130"), worn()
	now := resistance.Evaluate(nil, basis.Basis{}, g, s, 1).Capacity
	when := func(y float64) float64 {
		if y == 0 {
			return math.Inf(1)
		}
		return y
	}
	rapid.Check(t, func(r *rapid.T) {
		rate := Rate{Low: units.Length(rapid.Float64Range(0, 0.1).Draw(r, "low"))}
		rate.Central = rate.Low + units.Length(rapid.Float64Range(0, 0.1).Draw(r, "central"))
		rate.High = rate.Central + units.Length(rapid.Float64Range(0, 0.2).Draw(r, "high"))
		demand := now * units.Force(rapid.Float64Range(0.1, 0.99).Draw(r, "demand"))
		list := []Dated{dated(1, day(2022, 1), s)}
		f := decline(t, g, list, demand, nil, &rate)
		const slack = 0.1
		require.LessOrEqual(r, when(f.Early), when(f.Year)+slack)
		require.LessOrEqual(r, when(f.Year), when(f.Late)+slack)
		for i, p := range f.Curve {
			require.LessOrEqual(r, float64(p.Low), float64(p.Central)*1.0011)
			require.LessOrEqual(r, float64(p.Central), float64(p.High)*1.0011)
			if i > 0 {
				require.LessOrEqual(r, float64(p.Low), float64(f.Curve[i-1].Low)*1.0011)
			}
		}
		higher := decline(t, g, list, demand*1.005, nil, &rate)
		require.LessOrEqual(r, when(higher.Year), when(f.Year)+slack)
	})
}

func TestPublishedAtmosphere(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "atmosphere.csv")
	b := basis.Basis{}
	for _, row := range y.Rows {
		first := units.Length(row.Number("year1") / 1000)
		for col, years := range map[string]float64{"year1": 1, "year5": 5, "year10": 10, "year20": 20} {
			y.Figures(row, col, 1000*float64(Loss(b, first, years)), 0.51)
		}
		require.InEpsilon(t, float64(Loss(b, first, 20))/20, float64(Yearly(b, first)), 1e-12)
	}
	y.Done(32)
	low, _ := basis.Lookup(basis.DeclineLow)
	high, _ := basis.Lookup(basis.DeclineHigh)
	require.Equal(t, [2]float64{0.050, 0.700}, [2]float64{low.Default, high.Default}, "the band runs from the lower limit of C4 to the upper limit of CX")
}

func BenchmarkDecline(b *testing.B) {
	g, was, is := stiffened(b), worn(), worn()
	for i := range is.Readings {
		is.Readings[i].T -= 0.3
	}
	pr := resistance.Default(basis.Basis{})
	demand := pr.Evaluate(nil, basis.Basis{}, g, is, 1).Capacity * 0.8
	list := []Dated{dated(1, day(2020, 1), was), dated(2, day(2024, 1), is)}
	b.ReportAllocs()
	for b.Loop() {
		Decline(basis.Basis{}, pr, g, list, demand, nil, nil)
	}
}
