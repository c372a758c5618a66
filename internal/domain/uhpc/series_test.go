package uhpc

import (
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/published"
	"endcast/internal/domain/units"
)

func TestGrubbsLimits(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "uhpc_grubbs.csv")
	for _, row := range y.Rows {
		n := int(row.Number("n"))
		y.Shown(row, "p5", GrubbsLimit(n, 0.05), 0)
		y.Shown(row, "p2_5", GrubbsLimit(n, 0.025), 0)
		y.Shown(row, "p1", GrubbsLimit(n, 0.01), 0)
		y.Shown(row, "most", GrubbsMost(n), 0)
	}
	y.Done(16)
	// Student's t at 5 % one-sided, printed in every table: 6.314, 2.920, 2.353, 2.132.
	for df, want := range []float64{6.314, 2.920, 2.353, 2.132} {
		require.InDelta(t, want, studentAbove(0.05, df+1), 5e-4)
	}
}

func TestOutliersAreShownAndNeverAct(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "uhpc_outliers.csv")
	for _, row := range y.Rows {
		values := []float64{row.Number("a"), row.Number("b"), row.Number("c")}
		st := Spread(values)
		y.Shown(row, "mean", float64(st.Mean), 0)
		y.Shown(row, "range", 100*st.RangeShare, 0)
		y.Shown(row, "V", 100*float64(st.Deviation/st.Mean), 0)
		o, ok := FindOutlier(values, defaults)
		require.True(t, ok)
		y.Shown(row, "G", o.G, 0)
		require.False(t, o.Found, "of three values the test is silent")
		require.Contains(t, o.Words(), "nearly blind")
	}
	y.Done(8)
	o, ok := FindOutlier([]float64{22, 22.1, 22.05, 22.2, 22.1, 17}, defaults)
	require.True(t, ok)
	require.True(t, o.Found)
	require.Equal(t, 5, o.At)
	require.Contains(t, o.Words(), "nothing is left out by itself")
	for _, few := range [][]float64{nil, {1, 2}, {3, 3, 3}} {
		_, ok := FindOutlier(few, defaults)
		require.False(t, ok)
	}
}

// d2 and d3 by integration of the distribution of the range of n normal values.
func integrated(n int) (d2, d3 float64) {
	const step, reach = 0.02, 7.5
	k := int(2*reach/step) + 1
	f := make([]float64, k)
	for i := range f {
		f[i] = 0.5 * math.Erfc(-(float64(i)*step-reach)/math.Sqrt2)
	}
	pow := func(x float64) float64 { return math.Pow(x, float64(n)) }
	var square float64
	for i := range f {
		d2 += (1 - pow(f[i]) - pow(1-f[i])) * step
		for j := i; j < k; j++ {
			w := 2.0
			if j == i {
				w = 1
			}
			square += w * (1 - pow(f[j]) - pow(1-f[i]) + pow(f[j]-f[i])) * step * step
		}
	}
	return d2, math.Sqrt(square - d2*d2)
}

func TestRangeFactors(t *testing.T) {
	t.Parallel()
	for n := 2; n <= 10; n++ {
		d2, d3, ok := RangeFactors(n)
		require.True(t, ok)
		i2, i3 := integrated(n)
		require.InDelta(t, i2, d2, 2e-6, n)
		require.InDelta(t, i3, d3, 2e-4, n)
	}
	_, _, ok := RangeFactors(11)
	require.False(t, ok)
	require.Zero(t, RangeLimit(1, 3))
	y := published.Open(t, "uhpc_ranges.csv")
	for _, row := range y.Rows {
		n := int(row.Number("n"))
		d2, _, _ := RangeFactors(n)
		y.Shown(row, "d2", d2, 0)
		y.Within(row, "D4", RangeLimit(n, 3), 0.0015) // tables differ in the last figure
	}
	y.Done(10)
}

// The factor of a range that two results exceed once in twenty times is 1.96 times
// the root of two, 2.772; of three results it is 3.314 (ASTM C39 and C670, from
// memory).
func TestPrecisionOfASet(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "uhpc_precision.csv")
	for _, row := range y.Rows {
		y.Within(row, "two", row.Number("V")*1.959964*math.Sqrt2, 0.15)
		y.Within(row, "three", row.Number("V")*rangeQuantile3(0.95), 0.16)
	}
	y.Done(6)
	require.InDelta(t, 3.314, rangeQuantile3(0.95), 1e-3)
	require.InDelta(t, 0.106, defaults.Value(basis.RangeReview), 1e-12, "the limit of review is that of three 4 x 8 in results")
}

// rangeQuantile3 is the range of three normal values, over their standard
// deviation, that is not exceeded with probability p.
func rangeQuantile3(p float64) float64 {
	chance := func(w float64) float64 {
		const step = 0.005
		sum := 0.0
		for x := -8.0; x < 8; x += step {
			d := 0.5 * (math.Erfc(-(x+w)/math.Sqrt2) - math.Erfc(-x/math.Sqrt2))
			sum += 3 * math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) * d * d * step
		}
		return sum
	}
	low, high := 0.0, 10.0
	for range 40 {
		if mid := (low + high) / 2; chance(mid) < p {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

func TestRequiredAverage(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "uhpc_required.csv")
	for _, row := range y.Rows {
		got := RequiredMean(nil, units.Stress(row.Number("specified"))*units.Ksi, units.Stress(row.Number("s"))*units.Ksi, defaults)
		y.Shown(row, "required", float64(got/units.Ksi), 0)
	}
	y.Done(5)
}

// workedTests are those of uhpc_sets.csv.
func workedTests(t testing.TB) []Test {
	var out []Test
	for i, row := range published.Rows(t, "uhpc_sets.csv") {
		st := setOf(row.Number("a"), row.Number("b"), row.Number("c")).Stats(defaults)
		out = append(out, Test{Label: strconv.Itoa(i + 1), Cast: cast.AddDate(0, 0, 7*i), Mean: st.Mean, Range: st.Range, N: st.Counted})
	}
	return out
}

// Recomputed by hand: grand mean 22.330 ksi, s 0.6459 (V 2.89 %), mean range 0.870,
// s1 0.5140, V1 2.30 %.
func TestSeriesOfThePublishedTests(t *testing.T) {
	t.Parallel()
	tests := workedTests(t)
	p := calc.NewPad()
	s := SeriesOf(p, tests, 22*units.Ksi, defaults)
	ksi := func(v units.Stress) float64 { return float64(v / units.Ksi) }
	require.InDelta(t, 22.330, ksi(s.Mean), 5e-4)
	require.InDelta(t, 0.6459, ksi(s.Deviation), 5e-5)
	require.InDelta(t, 0.0289, s.V, 5e-5)
	require.InDelta(t, 0.870, ksi(s.MeanR), 5e-4)
	require.InDelta(t, 0.5140, ksi(s.Within), 5e-5)
	require.InDelta(t, 0.0230, s.V1, 5e-5)
	require.InDelta(t, 22.8655, ksi(s.Required), 5e-5)
	require.Len(t, s.Notes, 1, "ten tests do not make a known deviation")
	require.NotEmpty(t, p.Lines())

	// Moving ranges of the means: 0.133 0.767 1.567 2.067 0.933 0.967 1.367 0.7 0.233, mean 0.970.
	require.InDelta(t, 0.9704, ksi(s.Charts.Moving.Center), 5e-4)
	require.Len(t, s.Charts.Moving.Points, 9)
	require.InDelta(t, 22.330+3*0.9704/1.1284, ksi(s.Charts.Means.Points[0].High), 1e-3)
	require.InDelta(t, 0.870*2.5746, ksi(s.Charts.Ranges.Points[0].High), 1e-3)
	require.Len(t, s.Charts.Running.Points, 8)
	require.InDelta(t, 22.056, ksi(s.Charts.Running.Points[2].Value), 5e-4)
	for _, c := range []Chart{s.Charts.Means, s.Charts.Moving, s.Charts.Ranges} {
		for _, x := range c.Points {
			require.False(t, x.Beyond)
		}
	}
	tests[4].Mean = 17 * units.Ksi
	require.True(t, SeriesOf(nil, tests, 22*units.Ksi, defaults).Charts.Means.Points[4].Beyond || SeriesOf(nil, tests, 22*units.Ksi, defaults).Charts.Moving.Points[3].Beyond)
	tests[3].N, tests[3].Range = 4, 1.2*units.Ksi
	mixed := SeriesOf(nil, tests, 22*units.Ksi, defaults)
	require.Equal(t, 10, mixed.Pairs)
	require.Empty(t, SeriesOf(nil, nil, 1, defaults).Charts.Means.Points)
	one := SeriesOf(nil, tests[:1], 1, defaults)
	require.Zero(t, one.Deviation)
	require.Zero(t, one.Charts.Means.Points[0].High)
}

func TestAcceptanceByTheRunningRule(t *testing.T) {
	t.Parallel()
	tests := workedTests(t)
	a := Acceptable(tests, 22*units.Ksi, defaults)
	require.True(t, a.Accepted)
	require.Len(t, a.Evidence, 2)
	require.Contains(t, a.Evidence[0].Line(units.US), "the lowest single test, 5, is 21.20\u00a0ksi, at least 19.80\u00a0ksi")
	require.Contains(t, a.Evidence[1].Line(units.US), "closed by 5, is 22.06\u00a0ksi, at least 22.00\u00a0ksi")
	a = Acceptable(tests, 22.1*units.Ksi, defaults)
	require.False(t, a.Accepted)
	require.Equal(t, []int{4}, a.Low)
	require.Equal(t, "mean of tests 3, 4 and 5 is 22.06\u00a0ksi, at least 22.10\u00a0ksi", a.Evidence[0].Line(units.US))
	require.False(t, Acceptable(nil, 1, defaults).Accepted)
	require.Empty(t, a.Outside)
}

func TestIdentityAndProduction(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "uhpc_identity.csv")
	for _, row := range y.Rows {
		var tests []Test
		for i, w := range strings.Fields(row.Text("results")) {
			v, err := strconv.ParseFloat(w, 64)
			require.NoError(t, err)
			tests = append(tests, Test{Label: strconv.Itoa(i + 1), Mean: units.Stress(v), N: 3})
		}
		got := 0.0
		if Acceptable(tests, 90, with(t, defaults, basis.AcceptanceRule, row.Number("rule"))).Accepted {
			got = 1
		}
		y.Within(row, "accepted", got, 0)
	}
	y.Done(13)

	identity := with(t, defaults, basis.AcceptanceRule, IdentityRule)
	a := Acceptable(workedTests(t)[:4], 21.7*units.Ksi, identity)
	require.NotEmpty(t, a.Outside, "above the classes of the standard")
	require.False(t, Acceptable(workedTests(t), 10*units.Ksi, with(t, identity, basis.IdentityDays, 366)).Accepted, "more than six results of one volume")
	weeks := []Test{{Label: "1", Cast: cast, Mean: 95}, {Label: "2", Cast: cast.Add(167 * time.Hour), Mean: 86.5}, {Label: "3", Cast: cast.Add(168 * time.Hour), Mean: 85}}
	a = Acceptable(weeks, 90, identity) // mean of the first week 90.75, below 91; the second has one result, below 86
	require.Equal(t, []Fall{{At: 1, Of: []int{0, 1}, Value: 90.75, Limit: 91, Asks: "mean of two to four results of a defined volume"}}, a.Falls[:1])
	require.Len(t, a.Falls, 2)
	require.True(t, a.Falls[1].Single())
	require.Equal(t, []int{1, 2}, a.Low)
	require.False(t, Acceptable(nil, 90, identity).Accepted)
}

func TestContinuousProduction(t *testing.T) {
	t.Parallel()
	b := with(t, defaults, basis.AcceptanceRule, ProductionRule)
	var tests []Test
	for i := range 60 {
		tests = append(tests, Test{Label: strconv.Itoa(i + 1), Cast: cast.Add(time.Duration(i) * 100 * time.Hour), Mean: 100 + units.Stress(5*math.Sin(float64(i)*2.4)), N: 3})
	}
	sigma := 0.0
	{
		var v []float64
		for _, x := range tests[:35] {
			v = append(v, float64(x.Mean))
		}
		sigma = float64(Spread(v).Deviation)
	}
	limit := func(specified units.Stress) Acceptance { return Acceptable(tests, specified, b) }
	a := limit(90)
	require.True(t, a.Accepted, a.Evidence)
	require.Contains(t, a.Name, "continuous")
	last := a.Evidence[len(a.Evidence)-1]
	require.InDelta(t, 90+1.48*sigma, last.Limit, 1e-9)
	require.False(t, limit(97).Accepted)
	for i := 45; i < 60; i++ {
		tests[i].Mean = 100
	}
	require.False(t, limit(90).Accepted, "a deviation that no longer holds is to be taken anew")
}

// Raising one test never turns an accepted series down under the running rule.
func TestAcceptanceProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Float64Range(100, 180), 1, 12).Draw(t, "means")
		tests := make([]Test, len(values))
		for i, v := range values {
			tests[i] = Test{Label: strconv.Itoa(i), Mean: units.Stress(v), N: 3, Range: 2}
		}
		was := Acceptable(tests, 140, defaults)
		k := rapid.IntRange(0, len(tests)-1).Draw(t, "which")
		tests[k].Mean *= 1.02
		now := Acceptable(tests, 140, defaults)
		require.True(t, !was.Accepted || now.Accepted)
		for _, e := range now.Evidence {
			require.Equal(t, calc.AtLeast(e.Value, e.Limit), e.Met)
		}
		s := SeriesOf(nil, tests, 140, defaults)
		// Scaling all strengths scales the deviation and leaves the shares alone.
		for i := range tests {
			tests[i].Mean, tests[i].Range = 2*tests[i].Mean, 2*tests[i].Range
		}
		d := SeriesOf(nil, tests, 140, defaults)
		require.InDelta(t, 2*float64(s.Deviation), float64(d.Deviation), 1e-9)
		require.InDelta(t, s.V, d.V, 1e-9)
		require.InDelta(t, s.V1, d.V1, 1e-9)
	})
}
