package outlook

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/published"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

func TestPublishedMeanThickness(t *testing.T) {
	t.Parallel()
	m := meanOf([]float64{7.4, 7.1, 6.8, 7.9, 7.2, 6.5, 7.6, 7.0, 6.9})
	got := map[string]float64{"mean": float64(m.Mean), "deviation": float64(m.Deviation), "lower": float64(m.Lower)}
	y := published.Open(t, "mean_thickness.csv")
	for _, row := range y.Rows {
		y.Figures(row, "value", got[row.Text("item")], 1)
	}
	require.Equal(t, 4, m.Wanted, "(1.645 x 0.42753 / 0.35778)^2 = 3.86")
	y.Done(3)
}

// The bound lies below the true mean about as often as it says.
func TestLowerBoundHolds(t *testing.T) {
	t.Parallel()
	rng := newNoise(5)
	held := 0
	const n = 4000
	for range n {
		var ts []float64
		for range 9 {
			ts = append(ts, 9+0.8*rng.NormFloat64())
		}
		if meanOf(ts).Lower <= 9 {
			held++
		}
	}
	require.InDelta(t, 0.95, float64(held)/n, 4*math.Sqrt(0.95*0.05/n))
}

func TestZoneMeanCountsAPlaceOnce(t *testing.T) {
	t.Parallel()
	g, pr := end(t, "W33X130"), resistance.Default(basis.Basis{})
	s := &survey.Survey{}
	for i := range 4 {
		x := units.Length(20 + 40*i)
		s.Readings = append(s.Readings, survey.Reading{Face: survey.Left, X: x, Z: 20, T: units.Length(9 + i)},
			survey.Reading{Face: survey.Right, X: x, Z: 20, T: units.Length(8 + i)},
			survey.Reading{Face: survey.Right, X: x, Z: 500, T: 3}, survey.Reading{Face: survey.Right, X: x + 1, Z: 20, NoAccess: true})
	}
	m := ZoneMean(pr, g, s)
	require.Equal(t, 4, m.Readings)
	require.Equal(t, units.Length(9.5), m.Mean)
	require.Less(t, m.Lower, m.Mean)
	require.Contains(t, ZoneMean(pr, g, nil).Words, "no survey")
	require.Contains(t, ZoneMean(pr, g, &survey.Survey{}).Words, "no reading")
	one := meanOf([]float64{7})
	require.Equal(t, units.Length(7), one.Mean)
	require.Zero(t, one.Lower)
	require.Zero(t, meanOf([]float64{0, 0}).Wanted)
}
