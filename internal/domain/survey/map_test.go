package survey_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

var opts = survey.OptionsFrom(basis.Basis{})

// end is a beam with a 10 mm web, 1000 mm clear.
func end() girder.Geometry {
	return girder.Geometry{
		Section: girder.Section{Kind: girder.Rolled, Depth: 1040, FlangeWidth: 300, TopFlangeWidth: 300, FlangeThickness: 20,
			TopFlangeThickness: 20, WebThickness: 10, FilletK: 36},
		Bearing: girder.Bearing{Start: 50, Length: 200, Width: 250},
	}
}

// lattice reads the thickness f at every crossing.
func lattice(xs, zs []float64, f func(x, z float64) float64) []survey.Reading {
	var out []survey.Reading
	for _, z := range zs {
		for _, x := range xs {
			out = append(out, survey.Reading{Face: survey.Through, X: units.Length(x), Z: units.Length(z), T: units.Length(f(x, z))})
		}
	}
	return out
}

func TestAsBuilt(t *testing.T) {
	t.Parallel()
	for _, s := range []*survey.Survey{nil, {}} {
		m := survey.NewMap(end(), s, opts)
		z := m.Zone(50, 340, 101.6, 500)
		require.Equal(t, units.Area(2900), z.LeastArea)
		require.Equal(t, units.Length(10), z.Mean)
		p := m.Panel(50, 1050)
		require.Equal(t, units.Area(10000), p.LeastCut)
		require.Equal(t, units.Length(10), p.Mean)
		require.Equal(t, units.Length(10), m.Least())
		require.Equal(t, units.Length(10), m.Around(120, 80, 30))
		require.True(t, math.IsInf(float64(m.HoleDistance(1, 1)), 1))
		require.True(t, m.Unread(0, 1, 0, 1))
	}
}

// A plane field is met exactly by linear interpolation: t = 4 + x/100 + z/200 on
// x 0..400, z 0..400, so every integral is known by hand.
func TestPlaneField(t *testing.T) {
	t.Parallel()
	s := &survey.Survey{Readings: lattice([]float64{0, 100, 150, 400}, []float64{0, 50, 400}, func(x, z float64) float64 { return 4 + x/100 + z/200 })}
	m := survey.NewMap(end(), s, opts)
	require.InDelta(t, 4+2.2+0.9, float64(m.Thickness(220, 180)), 1e-12)
	z := m.Zone(100, 300, 100, 200)
	require.InDelta(t, 200*(4+2), float64(z.LeastArea), 1e-9)
	require.Zero(t, z.LeastZ)
	require.InDelta(t, 4+2+0.25, float64(z.Mean), 1e-12, "the lowest allowed zone is the worst, for the field grows upward")
	require.InDelta(t, 100, float64(z.Height), 1e-9)
	// Upright section at x = 100: 5 to 7 up to 400, then 7 for the reach of 152.4, then 10.
	p := m.Panel(100, 300)
	require.InDelta(t, 400*6+152.4*7+447.6*10, float64(p.LeastCut), 1e-9)
	require.InDelta(t, 100, float64(p.LeastX), 1e-12)
	require.False(t, m.Unread(0, 500, 0, 500))
	require.True(t, m.Unread(0, 600, 0, 500))
	require.InDelta(t, 4+1.9+0.35, float64(m.Around(200, 80, 10)), 1e-12)
}

func TestHolesTakeMetalOnce(t *testing.T) {
	t.Parallel()
	two := []survey.Hole{{X: 100, Z: 10, Width: 60, Height: 40, Rim: 3}, {X: 140, Z: 30, Width: 60, Height: 40}}
	s := &survey.Survey{Holes: two}
	m := survey.NewMap(end(), s, opts)
	z := m.Zone(50, 350, 100, 500)
	require.InDelta(t, (300-100)*10, float64(z.LeastArea), 1e-9, "between z 30 and 50 both holes, 100 mm together")
	area := 2*60*40 - 20*20.0
	require.InDelta(t, 10-area*10/(300*100), float64(z.Mean), 1e-9)
	p := m.Panel(50, 350)
	require.InDelta(t, 10*(1000-60), float64(p.LeastCut), 1e-9)
	require.InDelta(t, 10-area*10/(300*1000), float64(p.Mean), 1e-9)
	row := m.LowestRow(50, 180, 40)
	require.InDelta(t, 80, float64(row.InBearing), 1e-12)
	require.InDelta(t, 100, float64(row.Longest), 1e-12)
	require.Equal(t, survey.Row{InBearing: 60, Longest: 60}, m.LowestRow(50, 180, 20))
	require.Zero(t, m.Thickness(150, 40))
	require.Zero(t, m.Around(150, 40, 5))
	require.InDelta(t, 5, float64(m.HoleDistance(97, 6)), 1e-12)
	require.InDelta(t, 3, float64(m.Around(97, 6, 5)), 1e-12, "the rim is in reach")
	require.InDelta(t, 10, float64(m.Around(97, 6, 4)), 1e-12)
	require.Zero(t, m.Least())
}

func TestLeastOfFacesCounts(t *testing.T) {
	t.Parallel()
	s := &survey.Survey{Readings: []survey.Reading{
		{Face: survey.Left, X: 100, Z: 50, T: 7}, {Face: survey.Right, X: 100.5, Z: 52, T: 6}, {Face: survey.Left, X: 200, Z: 50, T: 8},
		{Face: survey.Left, X: 300, Z: 50, NoAccess: true},
	}}
	m := survey.NewMap(end(), s, opts)
	require.Equal(t, units.Length(6), m.Thickness(100, 50))
	require.InDelta(t, 7, float64(m.Thickness(150, 50)), 1e-12)
	require.Equal(t, units.Length(8), m.Thickness(300, 50), "taken from the neighbour in reach")
	require.Equal(t, 1, m.NoAccess())
	require.Equal(t, units.Length(10), m.Thickness(400, 50), "out of reach")
	require.Equal(t, units.Length(8), m.Thickness(352.4, 50), "on the step the smaller side counts")
	require.Equal(t, 3, m.Count(100, 200, 0, 100))
}

// A short row between two long ones takes from them what it did not read.
func TestShortRowTakesFromItsNeighbours(t *testing.T) {
	t.Parallel()
	rs := lattice([]float64{0, 500, 1000}, []float64{0, 100}, func(x, z float64) float64 { return 5 + z/100 })
	rs = append(rs, survey.Reading{Face: survey.Left, X: 500, Z: 50, T: 2})
	m := survey.NewMap(end(), &survey.Survey{Readings: rs}, opts)
	require.InDelta(t, 2, float64(m.Thickness(500, 50)), 1e-12)
	require.InDelta(t, 5.5, float64(m.Thickness(1000, 50)), 1e-12)
	require.False(t, m.Unread(0, 1000, 0, 200))
}

var coordinates = rapid.Float64Range(0, 700)

func drawSurvey(r *rapid.T) *survey.Survey {
	s := &survey.Survey{}
	n := rapid.IntRange(0, 30).Draw(r, "readings")
	for range n {
		s.Readings = append(s.Readings, survey.Reading{
			Face: rapid.SampledFrom([]survey.Face{survey.Left, survey.Right, survey.Through}).Draw(r, "face"),
			X:    units.Length(rapid.OneOf(coordinates, rapid.SampledFrom([]float64{0, 50, 100, 200})).Draw(r, "x")),
			Z:    units.Length(rapid.OneOf(coordinates, rapid.SampledFrom([]float64{0, 25, 50, 100})).Draw(r, "z")),
			T:    units.Length(rapid.Float64Range(0, 11).Draw(r, "t")),
		})
	}
	for range rapid.IntRange(0, 4).Draw(r, "holes") {
		s.Holes = append(s.Holes, drawHole(r))
	}
	return s
}

func drawHole(r *rapid.T) survey.Hole {
	return survey.Hole{X: units.Length(coordinates.Draw(r, "hole x")), Z: units.Length(rapid.Float64Range(0, 300).Draw(r, "hole z")),
		Width: units.Length(rapid.Float64Range(1, 200).Draw(r, "w")), Height: units.Length(rapid.Float64Range(1, 200).Draw(r, "h")),
		Rim: units.Length(rapid.Float64Range(0, 10).Draw(r, "rim"))}
}

type props struct {
	zone   survey.Zone
	panel  survey.Panel
	row    survey.Row
	least  units.Length
	around units.Length
	hole   units.Length
}

func all(m *survey.Map) props {
	return props{m.Zone(50, 340, 101.6, 500), m.Panel(50, 1150), m.LowestRow(50, 250, 40), m.Least(), m.Around(200, 100, 40), m.HoleDistance(200, 100)}
}

// Property: the order in which readings were taken does not matter, to the bit.
func TestOrderDoesNotMatter(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(r *rapid.T) {
		s := drawSurvey(r)
		want := all(survey.NewMap(end(), s, opts))
		mixed := survey.Survey{Readings: rapid.Permutation(s.Readings).Draw(r, "mixed"), Holes: rapid.Permutation(s.Holes).Draw(r, "mixed holes")}
		require.Equal(r, want, all(survey.NewMap(end(), &mixed, opts)))
		// And a reused map gives the same as a new one.
		m := survey.NewMap(end(), drawSurvey(r), opts)
		m.Reset(end(), s, opts)
		require.Equal(r, want, all(m))
	})
}

// Property: more loss anywhere never makes any property better.
func TestMoreLossIsNeverBetter(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(r *rapid.T) {
		s := drawSurvey(r)
		before := all(survey.NewMap(end(), s, opts))
		worse := survey.Survey{Readings: slices.Clone(s.Readings), Holes: slices.Clone(s.Holes)}
		for i := range worse.Readings {
			worse.Readings[i].T *= units.Length(rapid.Float64Range(0, 1).Draw(r, "left"))
		}
		for i := range worse.Holes {
			h := &worse.Holes[i]
			h.Width += units.Length(rapid.Float64Range(0, 100).Draw(r, "wider"))
			h.Height += units.Length(rapid.Float64Range(0, 100).Draw(r, "higher"))
			h.Rim *= 0.5
		}
		if rapid.Bool().Draw(r, "new hole") {
			worse.Holes = append(worse.Holes, drawHole(r))
		}
		after := all(survey.NewMap(end(), &worse, opts))
		const slack = 1 + 1e-9
		const tiny = 1e-9
		require.LessOrEqual(r, float64(after.zone.LeastArea), float64(before.zone.LeastArea)*slack+tiny)
		require.LessOrEqual(r, float64(after.zone.Mean), float64(before.zone.Mean)*slack+tiny)
		require.LessOrEqual(r, float64(after.panel.LeastCut), float64(before.panel.LeastCut)*slack+tiny)
		require.LessOrEqual(r, float64(after.panel.Mean), float64(before.panel.Mean)*slack+tiny)
		require.LessOrEqual(r, float64(after.least), float64(before.least))
		require.LessOrEqual(r, float64(after.around), float64(before.around)*slack+tiny)
		require.LessOrEqual(r, float64(after.hole), float64(before.hole))
		require.GreaterOrEqual(r, float64(after.row.InBearing), float64(before.row.InBearing)-tiny)
		require.GreaterOrEqual(r, float64(after.row.Longest), float64(before.row.Longest)-tiny)
	})
}

// Property: the exact integrals agree with counting the map cell by cell.
func TestIntegralsAgreeWithSampling(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(r *rapid.T) {
		s := drawSurvey(r)
		m := survey.NewMap(end(), s, opts)
		const n = 120
		const x0, x1, depth = 50.0, 650.0, 1000.0
		dx, dz := (x1-x0)/n, depth/n
		total := 0.0
		var rows, cuts [n]float64
		for j := range n {
			for i := range n {
				v := float64(m.Thickness(units.Length(x0+(float64(i)+0.5)*dx), units.Length((float64(j)+0.5)*dz)))
				total += v
				rows[j] += v * dx
				cuts[i] += v * dz
			}
		}
		p := m.Panel(x0, x1)
		z := m.Zone(x0, x1, depth, depth)
		require.InDelta(r, total/(n*n), float64(p.Mean), 0.15)
		require.InDelta(r, float64(p.Mean), float64(z.Mean), 1e-9, "one field, integrated along x first or along z first")
		// The worst zone, against every zone of whole cells.
		sum, mean := 0.0, math.Inf(1)
		for j := range n {
			sum += rows[j] * dz
			if h := float64(j+1) * dz; h >= 101.6 && h <= 500 {
				mean = min(mean, sum/(h*(x1-x0)))
			}
		}
		require.InDelta(r, mean, float64(m.Zone(x0, x1, 101.6, 500).Mean), 0.6, "cells of 8 mm at the edges of holes")
		// The smallest sections are really there.
		const fine = 1500
		row, cut := math.Inf(1), math.Inf(1)
		for _, off := range []float64{-1e-7, 1e-7} {
			var a, v float64
			for i := range fine {
				a += float64(m.Thickness(units.Length(x0+(float64(i)+0.5)*(x1-x0)/fine), z.LeastZ+units.Length(off))) * (x1 - x0) / fine
				v += float64(m.Thickness(p.LeastX+units.Length(off), units.Length((float64(i)+0.5)*depth/fine))) * depth / fine
			}
			row, cut = min(row, a), min(cut, v)
		}
		require.InDelta(r, row, float64(z.LeastArea), 30)
		require.InDelta(r, cut, float64(p.LeastCut), 40)
		slackRow, slackCut := 10*dx*10, 10*dz*10 // a hole edge within each cell
		require.LessOrEqual(r, float64(z.LeastArea), slices.Min(rows[:])+slackRow)
		require.LessOrEqual(r, float64(p.LeastCut), slices.Min(cuts[:])+slackCut)
	})
}

func BenchmarkMap(b *testing.B) {
	var xs, zs []float64
	for i := range 10 {
		xs, zs = append(xs, 25+float64(i)*60), append(zs, 25+float64(i)*50)
	}
	s := &survey.Survey{Readings: lattice(xs, zs, func(x, z float64) float64 { return 5 + z/200 }), Holes: []survey.Hole{{X: 80, Z: 0, Width: 50, Height: 25}}}
	g := end()
	m := survey.NewMap(g, s, opts)
	b.ReportAllocs()
	b.Run("reset", func(b *testing.B) {
		for b.Loop() {
			m.Reset(g, s, opts)
		}
	})
	b.Run("properties", func(b *testing.B) {
		for b.Loop() {
			m.Zone(50, 340, 101.6, 500)
			m.Panel(50, 1150)
		}
	})
}
