package outlook

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Findings that nobody validated must not bring anything down, nor read as sure.
func TestNonsenseDoesNotPanic(t *testing.T) {
	t.Parallel()
	odd := []float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, -1, 1e300, 1e-300, 5, 20, 100}
	rapid.Check(t, func(r *rapid.T) {
		v := func(what string) units.Length { return units.Length(rapid.SampledFrom(odd).Draw(r, what)) }
		g := stiffened(t)
		if rapid.IntRange(0, 3).Draw(r, "spoil") == 0 {
			g.Bearing.Length, g.Section.WebThickness = v("bearing"), v("web")
		}
		take := func() *survey.Survey {
			s := &survey.Survey{Method: rapid.SampledFrom([]survey.Method{survey.Caliper, survey.Ultrasonic, survey.Unstated}).Draw(r, "method")}
			for range rapid.IntRange(0, 12).Draw(r, "readings") {
				s.Readings = append(s.Readings, survey.Reading{Face: rapid.SampledFrom([]survey.Face{survey.Left, survey.Through}).Draw(r, "face"), X: v("x"), Z: v("z"), T: v("t")})
			}
			if rapid.Bool().Draw(r, "plates") {
				a, b := v("flange"), v("stiffener")
				s.FlangeThickness, s.StiffenerThickness = &a, &b
			}
			return s
		}
		b := basis.Basis{}
		pr := resistance.Default(b)
		demand := units.Force(rapid.SampledFrom(odd).Draw(r, "demand"))
		list := []Dated{{Number: 1, On: time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC), Survey: take()}, {Number: 2, On: time.Date(2010, 1, 1, 0, 0, 0, 0, time.UTC), Survey: take()}, {Number: 3}}
		built := rapid.IntRange(-10, 3000).Draw(r, "built")
		f := Decline(b, pr, g, list, demand, &built, nil)
		if f.Verdict == Falls {
			require.Greater(r, f.Year, f.From)
		}
		o := Chance(b, pr, g, list[1].Survey, demand, 1, 20)
		require.GreaterOrEqual(r, o.Chance, 0.0)
		require.LessOrEqual(r, o.Chance, 1.0)
		ZoneMean(pr, g, list[0].Survey)
	})
}

func TestSamplingAllocatesNothing(t *testing.T) {
	g, s := stiffened(t), worn()
	pr := resistance.Default(basis.Basis{})
	trial := pr.Trial(basis.Basis{}, g, s)
	d := newDraw(basis.Basis{}, g, s, scatterOf(basis.Basis{}, pr, g, s), trial)
	d.rng = newNoise(1)
	require.Zero(t, testing.AllocsPerRun(100, func() { d.sample() }))
}
