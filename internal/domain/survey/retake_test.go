package survey_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Property: a map whose readings were taken anew is the map made from them.
func TestRetakeIsTheMapMadeAnew(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(r *rapid.T) {
		g := end()
		o := survey.Options{Reach: 100, Row: units.Length(rapid.SampledFrom([]float64{0, 5, 30}).Draw(r, "row"))}
		s := &survey.Survey{}
		n := rapid.IntRange(0, 25).Draw(r, "readings")
		for range n {
			s.Readings = append(s.Readings, survey.Reading{X: units.Length(rapid.IntRange(0, 40).Draw(r, "x")) * 10.5,
				Z: units.Length(rapid.IntRange(0, 50).Draw(r, "z")) * 10, T: units.Length(rapid.Float64Range(0, 14).Draw(r, "t")),
				NoAccess: rapid.IntRange(0, 9).Draw(r, "access") == 0})
		}
		s.Holes = []survey.Hole{{X: 40, Z: 0, Width: 50, Height: 20}}
		m := survey.NewMap(g, s, o)
		again := *s
		again.Readings = append([]survey.Reading(nil), s.Readings...)
		thickness := make([]float64, n)
		for i := range again.Readings {
			thickness[i] = rapid.Float64Range(-1, 14).Draw(r, "then")
			again.Readings[i].T = units.Length(max(0, thickness[i]))
		}
		m.Retake(thickness)
		want := survey.NewMap(g, &again, o)
		require.Equal(r, want.Zone(0, 200, 100, 250), m.Zone(0, 200, 100, 250))
		require.Equal(r, want.Panel(0, 600), m.Panel(0, 600))
		require.Equal(r, want.Least(), m.Least())
		require.Equal(r, want.Unread(0, 200, 0, 250), m.Unread(0, 200, 0, 250))
		var a, b []float64
		want.Grid(func(x, z, t units.Length) { a = append(a, float64(x), float64(z), float64(t)) })
		m.Grid(func(x, z, t units.Length) { b = append(b, float64(x), float64(z), float64(t)) })
		require.Equal(r, a, b)
	})
}
