package resistance_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Property: a trial is Evaluate of the same steel, bit for bit, and the first
// trials leave no trace in the later ones.
func TestTrialIsEvaluate(t *testing.T) {
	t.Parallel()
	plain, plates := end(t, "W33X130", 33, 8), stiffened(t)
	rapid.Check(t, func(r *rapid.T) {
		g := plain
		if rapid.Bool().Draw(r, "stiffened") {
			g = plates
		}
		g.EndPanel = units.Length(rapid.SampledFrom([]float64{0, 900}).Draw(r, "panel"))
		g.Bearing.Start = units.Length(rapid.SampledFrom([]float64{0, 40, 1000}).Draw(r, "start"))
		if g.Stiffener != nil {
			st := *g.Stiffener
			st.X += g.Bearing.Start
			g.Stiffener = &st
		}
		pr := resistance.Default(basis.Basis{})
		pr.Averaging = rapid.SampledFrom([]resistance.Averaging{resistance.RowMinimum, resistance.ZoneMean, resistance.Thinnest}).Draw(r, "averaging")
		part := func(what string) float64 { return rapid.Float64Range(0, 1).Draw(r, what) }
		s := &survey.Survey{Holes: []survey.Hole{{X: 30, Z: 0, Width: 40, Height: 15}}}
		for range rapid.IntRange(0, 20).Draw(r, "readings") {
			s.Readings = append(s.Readings, survey.Reading{Face: survey.Through, X: units.Length(1200 * part("x")), Z: units.Length(790 * part("z")), T: 14})
		}
		trial := pr.Trial(basis.Basis{}, g, s)
		for range 3 {
			now := *s
			now.Readings = slices.Clone(s.Readings)
			x := trial.Base()
			for i := range x.Web {
				x.Web[i] = 15 * part("t")
				now.Readings[i].T = units.Length(x.Web[i])
			}
			x.Flange = g.Section.FlangeThickness * units.Length(part("flange"))
			now.FlangeThickness = &x.Flange
			x.Yield = 0.5 + part("yield")
			there := g
			there.Fy *= units.Stress(x.Yield)
			if g.Stiffener != nil {
				x.Stiffener, x.StiffenerWidth = g.Stiffener.Thickness*units.Length(part("tp")), g.Stiffener.Width*units.Length(part("bt"))
				now.StiffenerThickness, now.StiffenerWidth = &x.Stiffener, &x.StiffenerWidth
				x.StiffenerYield = 0.5 + part("yield of plates")
				st := *g.Stiffener
				st.Fy *= units.Stress(x.StiffenerYield)
				there.Stiffener = &st
			}
			want := pr.Evaluate(nil, basis.Basis{}, there, &now, 100*units.Kip)
			got, upper := trial.Capacity(&x)
			require.Equal(r, want.Capacity, got)
			require.Equal(r, want.BandUpper, upper)
		}
	})
}

func TestTrialOfTheEndAsBuilt(t *testing.T) {
	t.Parallel()
	for _, g := range []girder.Geometry{end(t, "W33X130", 33, 8), stiffened(t)} {
		trial := resistance.Default(basis.Basis{}).Trial(basis.Basis{}, g, nil)
		x := trial.Base()
		got, _ := trial.Capacity(&x)
		require.Equal(t, resistance.Evaluate(nil, basis.Basis{}, g, nil, 1).Capacity, got)
	}
}

func BenchmarkTrial(b *testing.B) {
	g := end(b, "W36X150", 36, 9)
	var s survey.Survey
	for i := range 10 {
		for j := range 10 {
			s.Readings = append(s.Readings, survey.Reading{Face: survey.Through, X: units.Length(20 + 50*i), Z: units.Length(20 + 45*j),
				T: units.Length(8 + 0.5*float64(j))})
		}
	}
	plates := g
	plates.Stiffener = stiffened(b).Stiffener
	for name, g := range map[string]girder.Geometry{"web": g, "stiffened": plates} {
		b.Run(name, func(b *testing.B) {
			trial := resistance.Default(basis.Basis{}).Trial(basis.Basis{}, g, &s)
			x := trial.Base()
			b.ReportAllocs()
			for b.Loop() {
				trial.Capacity(&x)
			}
		})
	}
}
