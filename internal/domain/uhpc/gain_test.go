package uhpc

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/published"
	"endcast/internal/domain/units"
)

func TestGainOfPublishedCurves(t *testing.T) {
	t.Parallel()
	curves := map[string]Gain{
		"untreated": GainOf(18*units.Ksi, defaults),
		"fitted":    {Plateau: 165.2, Start: 0.25, Scale: 2.95, Shape: 0.39},
	}
	y := published.Open(t, "uhpc_gain.csv")
	for _, row := range y.Rows {
		g, days, unit := curves[row.Text("curve")], row.Number("days"), units.Stress(1)
		require.NoError(t, g.Validate())
		if row.Text("unit") == "ksi" {
			unit = units.Ksi
		}
		y.Within(row, "strength", float64(g.At(nil, days)/unit), row.Number("tolerance"))
	}
	y.Done(len(y.Rows))
	// Crossings recomputed by hand: 96.5 MPa at 2.360 d, 120.7 MPa at 6.165 d.
	for strength, want := range map[units.Stress]float64{96.5: 2.360, 120.7: 6.165} {
		days, ok := curves["fitted"].Reaches(strength)
		require.True(t, ok)
		require.InDelta(t, want, days, 1e-3)
	}
	for _, never := range []units.Stress{18 * units.Ksi, 30 * units.Ksi, units.Stress(math.NaN())} {
		_, ok := curves["untreated"].Reaches(never)
		require.False(t, ok, "not reached, and no infinity")
	}
	require.Zero(t, curves["untreated"].At(nil, math.NaN()))
	require.Error(t, Gain{Plateau: 100, Scale: 0, Shape: 1}.Validate())
	require.Error(t, Gain{Plateau: 100, Scale: 1, Shape: math.NaN()}.Validate())
	p := calc.NewPad()
	curves["fitted"].At(p, 3)
	require.Len(t, p.Lines(), 1)
}

func TestGainRisesAndIsInverted(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		g := Gain{Plateau: units.Stress(rapid.Float64Range(50, 250).Draw(t, "plateau")), Start: rapid.Float64Range(0, 2).Draw(t, "start"),
			Scale: rapid.Float64Range(0.5, 10).Draw(t, "scale"), Shape: rapid.Float64Range(0.3, 1.5).Draw(t, "shape")}
		require.NoError(t, g.Validate())
		days := rapid.Float64Range(0, 60).Draw(t, "days")
		s := g.At(nil, days)
		require.GreaterOrEqual(t, g.At(nil, days+1), s)
		require.LessOrEqual(t, s, g.Plateau)
		if part := float64(s / g.Plateau); part > 1e-6 && part < 0.999 {
			back, ok := g.Reaches(s)
			require.True(t, ok)
			require.InDelta(t, days, back, 1e-6)
		}
	})
}
