package outlook

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

const inch = units.Inch

func end(t testing.TB, name string) girder.Geometry {
	e, ok := girder.Lookup(name)
	require.True(t, ok, name)
	return girder.Geometry{Name: girder.Name{Span: 1, Side: girder.Near, Girder: 1}, Section: e.Section,
		Bearing: girder.Bearing{Kind: girder.Rocker, Length: 8 * inch, Width: e.Section.FlangeWidth},
		Fy:      33 * units.Ksi, Fu: 66 * units.Ksi, HeldAgainstRoll: true}
}

func stiffened(t testing.TB) girder.Geometry {
	g := end(t, "W33X130")
	g.Stiffener = &girder.Stiffener{Pairs: 1, Width: 5 * inch, Thickness: 0.75 * inch, Clip: inch, X: 4 * inch, Fy: 33 * units.Ksi}
	return g
}

// worn is a survey of ten by ten readings, deepest at the flange.
func worn() *survey.Survey {
	s := &survey.Survey{Method: survey.Ultrasonic}
	flange := units.Length(17)
	s.FlangeThickness = &flange
	for j := range 10 {
		for i := range 10 {
			deep := 6 + 0.6*float64(j) + 0.25*float64((i*7+j*3)%5)
			s.Readings = append(s.Readings, survey.Reading{Face: survey.Left, X: units.Length(20 + 45*i), Z: units.Length(15 + 40*j), T: units.Length(min(14.7, deep))})
		}
	}
	return s
}

func with(t testing.TB, pairs ...any) basis.Basis {
	t.Helper()
	var b basis.Basis
	for i := 0; i < len(pairs); i += 2 {
		var err error
		b, err = b.With(pairs[i].(basis.Key), pairs[i+1].(float64))
		require.NoError(t, err)
	}
	return b
}

// still has no scatter at all.
func still(t testing.TB, pairs ...any) basis.Basis {
	return with(t, append([]any{basis.ChanceCaliper, 0.0, basis.ChanceUltrasonic, 0.0, basis.ChancePitGauge, 0.0, basis.ChanceCalibration, 0.0,
		basis.ChanceMapEstimate, 0.0, basis.ChanceMapScatter, 0.0, basis.ChanceYieldScatter, 0.0}, pairs...)...)
}

func TestWithoutScatterEverySampleIsTheCapacity(t *testing.T) {
	t.Parallel()
	for _, g := range []girder.Geometry{end(t, "W33X130"), stiffened(t)} {
		for _, s := range []*survey.Survey{worn(), nil} {
			b := still(t)
			pr := resistance.Default(b)
			want := pr.Evaluate(nil, b, g, s, 1)
			o := Chance(b, pr, g, s, want.Capacity, 7, 500)
			require.Equal(t, want.Capacity, o.Capacity)
			require.Equal(t, 0, o.Below)
			require.Zero(t, o.Chance)
			for _, v := range []units.Force{o.Mean, o.P05, o.P50, o.P95} {
				require.InEpsilon(t, float64(want.Capacity), float64(v), 1e-12)
			}
			require.InDelta(t, 0, float64(o.Spread), 1e-6*float64(want.Capacity))
			o = Chance(b, pr, g, s, want.Capacity*1.0001, 7, 500)
			require.Equal(t, 500, o.Below)
			require.Equal(t, 1.0, o.High)
		}
	}
}

// One uniform web whose yielding governs and whose yield strength alone scatters:
// the capacity is normal, and the chance is Phi((demand - mean) / deviation).
func TestClosedForm(t *testing.T) {
	t.Parallel()
	const scatter = 0.11
	b := still(t, basis.ChanceYieldScatter, scatter, basis.ChanceYieldMean, 1.05, basis.WebPhiYielding, 0.5)
	g, pr := end(t, "W33X130"), resistance.Default(basis.Basis{})
	r := pr.Evaluate(nil, b, g, nil, 1)
	require.Equal(t, "web.yielding", r.Governing)
	mean := 1.05 * float64(r.Capacity)
	sd := scatter * mean
	const n = 20_000
	worst := 0.0
	for i, k := range []float64{-2.5, -1.5, -0.5, 0, 1, 2} {
		want := math.Erfc(-k/math.Sqrt2) / 2
		o := Chance(b, pr, g, nil, units.Force(mean+k*sd), uint64(i+1), n)
		require.InDelta(t, want, o.Chance, 4*math.Sqrt(want*(1-want)/n), "k = %g", k)
		require.InDelta(t, mean, float64(o.Mean), 4*sd/math.Sqrt(n))
		require.InEpsilon(t, sd, float64(o.Spread), 0.015)
		require.InDelta(t, mean-1.644854*sd, float64(o.P05), 0.03*sd)
		require.InDelta(t, mean+1.644854*sd, float64(o.P95), 0.03*sd)
		worst = max(worst, math.Abs(o.Chance-want))
	}
	t.Logf("chance by the normal distribution: worst difference %.5f of %d samples", worst, n)
}

// direct is one sample by the direct way: its own generator and its own way to the
// normal distribution, the readings changed one by one, the map made anew and every
// check evaluated.
func direct(t testing.TB, b basis.Basis, pr resistance.Procedure, g girder.Geometry, s *survey.Survey, c Scatter, rng *rand.Rand) units.Force {
	normal := func() float64 { return math.Sqrt(-2*math.Log(1-rng.Float64())) * math.Cos(2*math.Pi*rng.Float64()) }
	now := *s
	now.Readings = slices.Clone(s.Readings)
	shared := c.Calibration*normal() - (c.BiasLow + (c.BiasHigh-c.BiasLow)*rng.Float64())
	for i := range now.Readings {
		r := &now.Readings[i]
		require.Equal(t, survey.Left, r.Face)
		r.T = max(0, r.T+units.Length(shared+c.Reading*normal()+c.Map*normal()))
	}
	if s.FlangeThickness != nil {
		f := max(0, *s.FlangeThickness+units.Length(shared+c.Reading*normal()))
		now.FlangeThickness = &f
	}
	g.Fy *= units.Stress(c.YieldMean * (1 + c.YieldScatter*normal()))
	if g.Stiffener != nil {
		st := *g.Stiffener
		st.Fy *= units.Stress(c.YieldMean * (1 + c.YieldScatter*normal()))
		g.Stiffener = &st
	}
	return pr.Evaluate(nil, b, g, &now, 1).Capacity
}

func TestAgreesWithTheDirectWay(t *testing.T) {
	t.Parallel()
	for name, g := range map[string]girder.Geometry{"web": end(t, "W33X130"), "stiffened": stiffened(t)} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := with(t, basis.ChanceBiasLow, 0.6, basis.ChanceBiasHigh, 1.2)
			pr, s := resistance.Default(b), worn()
			demand := Chance(b, pr, g, s, 1, 1, 2000).P50 * 0.93
			fast := Chance(b, pr, g, s, demand, 3, 20_000)
			require.Equal(t, mapFromReadings, fast.Inputs.MapFrom)
			rng := rand.New(rand.NewPCG(11, 12))
			const n = 2000
			below, sum := 0, 0.0
			for range n {
				c := direct(t, b, pr, g, s, fast.Inputs, rng)
				sum += float64(c)
				if c < demand {
					below++
				}
			}
			low, high := exactInterval(below, n, 0.99)
			require.Greater(t, fast.Chance, low)
			require.Less(t, fast.Chance, high)
			require.Greater(t, fast.Chance, 0.05, "the case must not be trivial")
			require.Less(t, fast.Chance, 0.95)
			require.InDelta(t, sum/n, float64(fast.Mean), 4*float64(fast.Spread)/math.Sqrt(n))
			t.Logf("%s: %.4f by trials, %.4f by the direct way", name, fast.Chance, float64(below)/n)
		})
	}
}

func TestSameSeedSameAnswer(t *testing.T) {
	t.Parallel()
	b, g, s := basis.Basis{}, end(t, "W33X130"), worn()
	pr := resistance.Default(b)
	demand := pr.Evaluate(nil, b, g, s, 1).Capacity * 0.9
	one := Chance(b, pr, g, s, demand, 42, 3000)
	require.Equal(t, one, Chance(b, pr, g, s, demand, 42, 3000))
	require.NotEqual(t, one.Mean, Chance(b, pr, g, s, demand, 43, 3000).Mean)
	require.Equal(t, []int{100, 300, 1000, 3000}, trailSamples(one))
	require.Equal(t, []int{100, 250}, trailSamples(Chance(b, pr, g, s, demand, 42, 250)))
	require.Equal(t, one.Trail[:3], Chance(b, pr, g, s, demand, 42, 1000).Trail, "more samples go on where fewer stopped")
}

func trailSamples(o Odds) (out []int) {
	for _, s := range o.Trail {
		out = append(out, s.Samples)
	}
	return out
}

// The half-width of the interval falls with the root of the samples.
func TestConvergence(t *testing.T) {
	t.Parallel()
	b, g, s := basis.Basis{}, end(t, "W33X130"), worn()
	pr := resistance.Default(b)
	o := Chance(b, pr, g, s, Chance(b, pr, g, s, 1, 1, 1000).P50, 5, 30_000)
	var scaled []float64
	for _, st := range o.Trail {
		scaled = append(scaled, (st.High-st.Low)/2*math.Sqrt(float64(st.Samples)))
		require.LessOrEqual(t, st.Low, st.Chance)
		require.GreaterOrEqual(t, st.High, st.Chance)
		require.InDelta(t, o.Chance, st.Chance, 4*math.Sqrt(o.Chance*(1-o.Chance)/float64(st.Samples)))
	}
	require.Len(t, scaled, 6)
	for _, v := range scaled {
		require.InEpsilon(t, 1.96*math.Sqrt(o.Chance*(1-o.Chance)), v, 0.12)
	}
	t.Logf("half-width times root of samples: %.3f", scaled)
}

// Property: with one seed, a lower demand never has the higher chance, and more
// scatter of one kind never brings the percentiles nearer.
func TestMoreDemandAndMoreScatter(t *testing.T) {
	t.Parallel()
	g, s := end(t, "W33X130"), worn()
	rapid.Check(t, func(r *rapid.T) {
		key := rapid.SampledFrom([]basis.Key{basis.ChanceUltrasonic, basis.ChanceCalibration, basis.ChanceMapScatter, basis.ChanceYieldScatter,
			basis.ChanceModelScatter}).Draw(r, "what")
		d, _ := basis.Lookup(key)
		some := rapid.Float64Range(0, 0.25).Draw(r, "some") * min(d.Max, 1)
		more := some + rapid.Float64Range(0.01, 0.05).Draw(r, "more")
		seed := rapid.Uint64().Draw(r, "seed")
		pr := resistance.Default(basis.Basis{})
		whole := pr.Evaluate(nil, basis.Basis{}, g, s, 1).Capacity
		demand := whole * units.Force(rapid.Float64Range(0.5, 1.2).Draw(r, "demand"))
		const n = 400
		little := Chance(still(t, key, some), pr, g, s, demand, seed, n)
		much := Chance(still(t, key, more), pr, g, s, demand, seed, n)
		require.GreaterOrEqual(r, float64(much.P95-much.P05), float64(little.P95-little.P05))
		lower := Chance(still(t, key, more), pr, g, s, demand*0.97, seed, n)
		require.LessOrEqual(r, lower.Below, much.Below)
		require.LessOrEqual(r, much.UpperBelow, much.Below)
		require.GreaterOrEqual(r, much.Chance, much.Low)
		require.LessOrEqual(r, much.Chance, much.High)
	})
}

func TestBiasTakesMetalOffUltrasonicReadingsOnly(t *testing.T) {
	t.Parallel()
	b := still(t, basis.ChanceBiasLow, 0.6, basis.ChanceBiasHigh, 2.2)
	g, s := end(t, "W33X130"), worn()
	pr := resistance.Default(b)
	plain := pr.Evaluate(nil, b, g, s, 1).Capacity
	o := Chance(b, pr, g, s, plain, 1, 2000)
	require.Equal(t, 1.0, o.Chance)
	thinner := func(by units.Length) float64 {
		now := *s
		now.Readings = slices.Clone(s.Readings)
		for i := range now.Readings {
			now.Readings[i].T -= by
		}
		f := *s.FlangeThickness - by
		now.FlangeThickness = &f
		return float64(pr.Evaluate(nil, b, g, &now, 1).Capacity)
	}
	require.GreaterOrEqual(t, float64(o.P05), thinner(2.2))
	require.LessOrEqual(t, float64(o.P95), thinner(0.6))
	require.InEpsilon(t, thinner(1.4), float64(o.P50), 0.02)
	s.Method = survey.Caliper
	require.InEpsilon(t, float64(plain), float64(Chance(b, pr, g, s, plain, 1, 200).Mean), 1e-12)
}

// A sound plate gains nothing from an error of its readings.
func TestNoSampleIsThickerThanNew(t *testing.T) {
	t.Parallel()
	b := still(t, basis.ChanceUltrasonic, 1.0)
	g, s := end(t, "W33X130"), worn()
	for i := range s.Readings {
		s.Readings[i].T = g.Section.WebThickness
	}
	*s.FlangeThickness = g.Section.FlangeThickness
	pr := resistance.Default(b)
	o := Chance(b, pr, g, s, 1, 9, 1000)
	require.Equal(t, pr.Evaluate(nil, b, g, nil, 1).Capacity, o.Capacity)
	require.LessOrEqual(t, float64(o.P95), float64(o.Capacity))
	require.Less(t, float64(o.Mean), float64(o.Capacity))
}

// Readings scattered about a straight profile by a known deviation give it back.
func TestScatterOfTheMapComesFromTheReadings(t *testing.T) {
	t.Parallel()
	b := with(t, basis.ChanceUltrasonic, 0.3)
	g, pr := end(t, "W33X130"), resistance.Default(basis.Basis{})
	rng := rand.New(rand.NewPCG(1, 2))
	s := &survey.Survey{}
	for j := range 15 {
		for i := range 60 {
			s.Readings = append(s.Readings, survey.Reading{Face: survey.Left, X: units.Length(5 * i), Z: units.Length(25 * j),
				T: units.Length(9 + 0.01*float64(5*i) + math.Hypot(0.3, 0.4)*rng.NormFloat64())})
		}
	}
	c := scatterOf(b, pr, g, s)
	require.Equal(t, mapFromReadings, c.MapFrom)
	require.Greater(t, c.MapReadings, 500)
	require.InDelta(t, 0.4, c.Map, 0.03)
	require.Equal(t, "ultrasonic", c.Method)

	few := &survey.Survey{Readings: s.Readings[:5]}
	c = scatterOf(b, pr, g, few)
	require.Equal(t, mapFromSetting, c.MapFrom)
	require.Equal(t, 0.5, c.Map)
	smooth := worn()
	for i := range smooth.Readings {
		smooth.Readings[i].T = 9
	}
	require.Zero(t, scatterOf(b, pr, g, smooth).Map, "less than the error of reading tells nothing of the web")
	require.Equal(t, mapFromNothing, scatterOf(b, pr, g, nil).MapFrom)
	for i := range smooth.Readings {
		smooth.Readings[i].Face = survey.Through
	}
	require.Equal(t, "caliper", scatterOf(b, pr, g, smooth).Method)
}

func TestWordsSayWhatIsInAndWhatIsNot(t *testing.T) {
	t.Parallel()
	b, g := basis.Basis{}, stiffened(t)
	o := Chance(b, resistance.Default(b), g, worn(), 1, 1, 100)
	in, out := strings.Join(o.In, "\n"), strings.Join(o.Out, "\n")
	require.Contains(t, in, "0.30 mm")
	require.Contains(t, in, "web and stiffeners each by itself")
	require.Contains(t, out, "0.6 to 2.2 mm")
	require.Contains(t, out, "no factor is invented")
	o = Chance(with(t, basis.ChanceBiasHigh, 1.0, basis.ChanceModelScatter, 0.1), resistance.Default(b), end(t, "W33X130"), worn(), 1, 1, 100)
	in, out = strings.Join(o.In, "\n"), strings.Join(o.Out, "\n")
	require.Contains(t, in, "too thick by 0.00 to 1.00 mm")
	require.Contains(t, in, "strength in tests")
	require.NotContains(t, out, "no factor")
	require.NotContains(t, out, "0.6 to 2.2")
}

func TestOddCounts(t *testing.T) {
	t.Parallel()
	b, g := basis.Basis{}, end(t, "W33X130")
	pr := resistance.Default(b)
	o := Chance(b, pr, g, nil, 1, 1, 0)
	require.Zero(t, o.Samples)
	require.Equal(t, [2]float64{0, 1}, [2]float64{o.Low, o.High})
	require.Empty(t, o.Trail)
	require.Equal(t, 0, Chance(b, pr, g, nil, 1, 1, -5).Samples)
	one := Chance(b, pr, g, nil, 1, 1, 1)
	require.Equal(t, one.P05, one.P95)
	require.Zero(t, one.Spread)
}

func BenchmarkChance(b *testing.B) {
	for name, g := range map[string]girder.Geometry{"web": end(b, "W33X130"), "stiffened": stiffened(b)} {
		b.Run(name, func(b *testing.B) {
			s, pr := worn(), resistance.Default(basis.Basis{})
			b.ReportAllocs()
			for b.Loop() {
				Chance(basis.Basis{}, pr, g, s, 400*units.Kip/4, 1, 10_000)
			}
		})
	}
}

func newNoise(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0)) }
