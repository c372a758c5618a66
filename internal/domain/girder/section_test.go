package girder_test

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/published"
	"endcast/internal/domain/units"
)

const in2, in4 = 25.4 * 25.4, 25.4 * 25.4 * 25.4 * 25.4

// Source: AISC shape database v15.0. What is computed from the dimensions lies
// within the import rule of what is published, 1.0 percent in area and 1.5 in
// inertia, and misses it by the gap recomputed by hand.
func TestPublishedShapes(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "shapes.csv")
	for _, row := range y.Rows {
		e, ok := girder.Lookup(row.Text("shape"))
		require.True(t, ok, row)
		a, i := row.Number("area_in2"), row.Number("inertia_in4")
		require.InDelta(t, a, float64(e.PublishedArea)/in2, 1e-9, "the library carries what is published")
		require.InDelta(t, i, float64(e.PublishedInertia)/in4, 1e-6)
		y.Within(row, "area_in2", float64(e.Area())/in2, 0.010*a)
		y.Within(row, "inertia_in4", float64(e.Inertia())/in4, 0.015*i)
		require.InDelta(t, row.Number("area_check_percent"), 100*(float64(e.Area()/e.PublishedArea)-1), 0.006, row)
		require.InDelta(t, row.Number("inertia_check_percent"), 100*(float64(e.Inertia()/e.PublishedInertia)-1), 0.006, row)
		y.Within(row, "h_over_tw", float64((e.Depth-2*e.FilletK)/e.WebThickness), 0.003*row.Number("h_over_tw"))
	}
	y.Done(3 * 55)
}

// Source: AISC shape database v14.1. Sloped flanges: three rectangles of their
// average thickness come within 1 percent of the area and 2.5 of the inertia.
func TestPublishedStandardBeams(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "standard_beams.csv")
	for _, row := range y.Rows {
		e, ok := girder.Lookup(row.Text("shape"))
		require.True(t, ok, row)
		require.InDelta(t, row.Number("area_in2"), float64(e.PublishedArea)/in2, 1e-9)
		require.InDelta(t, row.Number("inertia_in4"), float64(e.PublishedInertia)/in4, 1e-6)
		plain := e.Section
		plain.Kind = girder.BuiltUp
		y.Within(row, "area_in2", float64(plain.Area())/in2, 0.010*row.Number("area_in2"))
		y.Within(row, "inertia_in4", float64(plain.Inertia())/in4, 0.025*row.Number("inertia_in4"))
	}
	y.Done(2 * 8)
}

func TestLibraryKeepsItsOwnImportRule(t *testing.T) {
	t.Parallel()
	count := map[girder.Series]int{}
	for _, e := range girder.Library() {
		count[e.Series]++
		require.Empty(t, e.Validate(), e.Name)
		switch e.Series {
		case girder.WideFlange:
			require.Empty(t, e.CheckPublished(e.PublishedArea, e.PublishedInertia), e.Name)
			require.Equal(t, basis.Read, e.Tag)
		case girder.OldWideFlange:
			// The weight in the name gives the area at 490 lb/ft3, the unit weight of steel.
			require.Empty(t, e.CheckPublished(e.PublishedArea, 0), e.Name)
			weight, err := strconv.ParseFloat(e.Name[4:], 64)
			require.NoError(t, err)
			require.InEpsilon(t, weight/490*144, float64(e.PublishedArea)/in2, 0.0005, e.Name)
			require.Equal(t, basis.Memory, e.Tag)
			require.True(t, e.EstimatedK)
		default:
			// Sloped flanges: three rectangles come within one percent, the fillet rule does not apply.
			plain := e.Section
			plain.Kind = girder.BuiltUp
			require.InEpsilon(t, float64(e.PublishedArea), float64(plain.Area()), 0.01, e.Name)
			require.InEpsilon(t, float64(e.PublishedInertia), float64(plain.Inertia()), 0.025, e.Name)
		}
	}
	require.Equal(t, map[girder.Series]int{girder.WideFlange: 55, girder.StandardBeam: 8, girder.OldWideFlange: 46}, count)
}

func TestLookup(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"W36X150", "w36x150", " W36×150 ", "W 36 x 150"} {
		e, ok := girder.Lookup(name)
		require.True(t, ok, name)
		require.InDelta(t, 0.625*25.4, float64(e.WebThickness), 1e-9)
	}
	old, ok := girder.Lookup("36 WF 150")
	require.True(t, ok)
	require.Equal(t, girder.OldWideFlange, old.Series)
	_, ok = girder.Lookup("W99X999")
	require.False(t, ok)
}

// A copy of the shape table that rounds the web of W36X150 to 0.63 in passes in
// area; a hobby table that gives it 9/16 in does not.
func TestCheckPublishedRefusesWrongWeb(t *testing.T) {
	t.Parallel()
	e, _ := girder.Lookup("W36X150")
	s := e.Section
	s.WebThickness = units.Inch * 9 / 16
	ps := s.CheckPublished(e.PublishedArea, e.PublishedInertia)
	require.True(t, ps.Of("section.area"))
	require.ErrorContains(t, ps.Err(), "section.area: must lie within 1 percent")
	require.NotEmpty(t, girder.Section{}.CheckPublished(1, 1))
	require.NotEmpty(t, e.CheckPublished(units.Area(math.NaN()), -1))
}

func TestPlate(t *testing.T) {
	t.Parallel()
	s, err := girder.Plate{Name: "PG 60", WebDepth: 60 * units.Inch, WebThickness: units.Inch / 2, FlangeWidth: 16 * units.Inch,
		FlangeThickness: units.Inch, WeldLeg: units.Inch * 5 / 16}.Section()
	require.NoError(t, err)
	require.InDelta(t, 1.3125*25.4, float64(s.FilletK), 1e-9)
	require.InDelta(t, 60*25.4, float64(s.ClearDepth()), 1e-9)
	require.InDelta(t, 62, float64(s.Area())/in2, 1e-9)
	// 2 x 16 x 30.5^2 + 2 x 16/12 + 0.5 x 60^3/12, by hand.
	require.InDelta(t, 29768+2*16.0/12+9000, float64(s.Inertia())/in4, 1e-6)

	// Unequal flanges, by hand: 10x1 top, 20x2 bottom, web 57x0.5; centroid 19.1624 in up.
	s, err = girder.Plate{WebDepth: 57 * units.Inch, WebThickness: units.Inch / 2, FlangeWidth: 20 * units.Inch, FlangeThickness: 2 * units.Inch,
		TopFlangeWidth: 10 * units.Inch, TopFlangeThickness: units.Inch}.Section()
	require.NoError(t, err)
	require.InDelta(t, 40860.096, float64(s.Inertia())/in4, 0.01)

	_, err = girder.Plate{WebDepth: -1, WeldLeg: -2}.Section()
	require.ErrorContains(t, err, "section.weld_leg: must be 0 or more, got -2")
}

func TestStrength(t *testing.T) {
	t.Parallel()
	for year, want := range map[int]float64{1890: 26, 1904: 26, 1905: 30, 1935: 30, 1936: 33, 1963: 33, 1964: 36, 2001: 36} {
		s := girder.StrengthByYear(basis.Basis{}, year)
		require.InDelta(t, want, float64(s.Fy/units.Ksi), 1e-9, year)
		require.Equal(t, basis.Memory, s.Tag)
	}
	b, err := basis.Basis{}.With(basis.SteelFyA7, 220)
	require.NoError(t, err)
	s, ok := girder.StrengthByGrade(b, "a7")
	require.True(t, ok)
	require.Equal(t, units.Stress(220), s.Fy)
	_, ok = girder.StrengthByGrade(b, "A9999")
	require.False(t, ok)
	for _, g := range girder.Grades() {
		_, ok := girder.StrengthByGrade(b, g.Name)
		require.True(t, ok, g.Name)
	}
}
