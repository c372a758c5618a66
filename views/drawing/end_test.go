package drawing

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/encasement"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

const inch = float64(units.Inch)

func TestEndToScale(t *testing.T) {
	t.Parallel()
	for _, turned := range []bool{false, true} {
		d := sampleEnd()
		d.View, d.TrueView = RightFace, turned
		l := layEnd(d)
		at := map[string]drawnStud{}
		for _, s := range l.studs {
			at[s.stud.Mark] = s
			// The script's way back from pixels to mm.
			require.InDelta(t, float64(s.stud.X), l.flip*(s.x-l.ox)/l.scale, 1e-9)
			require.InDelta(t, float64(s.stud.Z), (l.oz-s.y)/l.scale, 1e-9)
		}
		require.Len(t, at, 16)
		require.InDelta(t, 12*inch*l.scale, math.Abs(at["R-1-4"].x-at["R-1-1"].x), 1e-9)
		require.InDelta(t, 4*inch*l.scale, at["R-1-1"].y-at["R-2-1"].y, 1e-9)
		require.InDelta(t, 0.75*inch*l.scale, 2*at["R-1-1"].r, 1e-9)
		require.Equal(t, turned, l.flip < 0) // right face of a far end: its end lies on the right
		require.LessOrEqual(t, l.width, endWidth+1e-9)
		require.LessOrEqual(t, 35.9*inch*l.scale, endTall+1e-9)
	}
}

// Seen from its side, with ahead station on the left for the left face and on the
// right for the right face, a near end points back and a far end ahead.
func TestFlipped(t *testing.T) {
	t.Parallel()
	near, far := girder.Name{Side: girder.Near}, girder.Name{Side: girder.Far}
	require.False(t, flipped(near, RightFace))
	require.True(t, flipped(near, LeftFace))
	require.True(t, flipped(far, RightFace))
	require.False(t, flipped(far, LeftFace))
}

func readingsAt(xs, zs []float64, t func(x, z float64) float64) []survey.Reading {
	var out []survey.Reading
	for _, z := range zs {
		for _, x := range xs {
			out = append(out, survey.Reading{Face: survey.Left, X: units.Length(x), Z: units.Length(z), T: units.Length(t(x, z))})
		}
	}
	return out
}

// A regular grid gives the cells of the grid, parted half-way.
func TestCellsOfGrid(t *testing.T) {
	t.Parallel()
	list := cells(readingsAt([]float64{50, 100, 150, 250}, []float64{25, 75, 125}, func(x, z float64) float64 { return 10 }), Combined, box{0, 0, 600, 900})
	require.Len(t, list, 12)
	c := list[5] // second row, second column
	require.Equal(t, [6]float64{100, 75, 75, 50, 125, 100}, [6]float64{c.x, c.z, c.x1, c.z1, c.x2, c.z2})
	area := 0.0
	for _, c := range list {
		area += (c.x2 - c.x1) * (c.z2 - c.z1)
	}
	require.InDelta(t, (300-25)*150, area, 1e-9) // from 25 to 300, from 0 to 150
}

// Where readings get coarser upward, rows still meet; where they stop for more than
// two usual pitches, here 100 mm, the web between stays blank.
func TestCellsOfCoarserRows(t *testing.T) {
	t.Parallel()
	flat := func(x, z float64) float64 { return 10 }
	list := cells(readingsAt([]float64{50, 100}, []float64{25, 75, 125, 225, 365, 665}, flat), Combined, box{0, 0, 600, 900})
	var edges []float64
	for _, c := range list {
		if c.x == 50 {
			edges = append(edges, c.z1, c.z2)
		}
	}
	require.Equal(t, []float64{0, 50, 50, 100, 100, 175, 175, 295, 295, 465, 565, 765}, edges)
}

// Readings without rows are gathered in squares, each with its least reading.
func TestCellsOfScatteredReadings(t *testing.T) {
	t.Parallel()
	var rs []survey.Reading
	for i := range 60 {
		x, z := math.Mod(float64(i)*185.7, 560), math.Mod(float64(i)*97.3, 350)
		rs = append(rs, survey.Reading{Face: survey.Through, X: units.Length(x), Z: units.Length(z), T: units.Length(5 + i%7)})
	}
	list := cells(rs, Combined, box{0, 0, 700, 900})
	require.Less(t, len(list), 60)
	require.Greater(t, len(list), 25)
	for _, c := range list {
		require.InDelta(t, list[0].z2-list[0].z1, c.z2-c.z1, 1e-6)
	}
}

func TestCellsChoose(t *testing.T) {
	t.Parallel()
	web := box{0, 0, 600, 900}
	rs := []survey.Reading{
		{Face: survey.Left, X: 100, Z: 50, T: 9},
		{Face: survey.Right, X: 103, Z: 48, T: 7},
		{Face: survey.Through, X: 200, Z: 50, T: 8},
		{Face: survey.Left, X: 300, Z: 50, NoAccess: true},
		{Face: survey.Left, X: 300, Z: 52, T: 6},
		{Face: survey.Left, X: 400, Z: 50, T: units.Length(math.NaN())},
		{Face: survey.Left, X: units.Length(math.Inf(1)), Z: 50, T: 6},
		{Face: survey.Left, X: 100, Z: 5000, T: 6},
	}
	thick := func(v View) (out []float64) {
		for _, c := range cells(rs, v, web) {
			if c.blind {
				out = append(out, -1)
				continue
			}
			out = append(out, c.t)
		}
		return out
	}
	require.Equal(t, []float64{7, 8, 6, -1}, thick(Combined))
	require.Equal(t, []float64{9, 8, 6, -1}, thick(LeftFace))
	require.Equal(t, []float64{7, 8}, thick(RightFace))
	require.Empty(t, cells(nil, Combined, web))
}

// Wherever readings lie, each place gets one cell that holds it, cells do not
// cover each other, and they stay on the web.
func TestCellsOfAnyReadings(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		web := box{0, 0, 1000, 800}
		var rs []survey.Reading
		for range rapid.IntRange(1, 60).Draw(t, "count") {
			rs = append(rs, survey.Reading{Face: survey.Through, X: units.Length(rapid.Float64Range(0, 1000).Draw(t, "x")),
				Z: units.Length(rapid.Float64Range(0, 800).Draw(t, "z")), T: units.Length(rapid.Float64Range(0, 20).Draw(t, "t"))})
		}
		list := cells(rs, Combined, web)
		require.NotEmpty(t, list)
		least := math.Inf(1)
		for _, r := range rs {
			least = min(least, float64(r.T))
		}
		found := math.Inf(1)
		for i, c := range list {
			found = min(found, c.t)
			require.True(t, c.x1 <= c.x && c.x <= c.x2, "%+v", c)
			require.True(t, c.x1 >= 0 && c.x2 <= 1000 && c.z1 >= 0 && c.z2 <= 800 && c.z1 <= c.z2, "%+v", c)
			for _, o := range list[i+1:] {
				w := min(c.x2, o.x2) - max(c.x1, o.x1)
				h := min(c.z2, o.z2) - max(c.z1, o.z1)
				require.False(t, w > 1e-6 && h > 1e-6, "%+v covers %+v", c, o)
			}
		}
		require.Equal(t, least, found) // the worst reading is never merged away
	})
}

func TestBand(t *testing.T) {
	t.Parallel()
	for share, want := range map[float64]int{1.1: 0, 0.85: 0, 0.849: 1, 0.7: 1, 0.5: 2, 0.49: 3, 0.25: 3, 0.2: 4, 0: 4} {
		require.Equal(t, want, band(share*16, 16, [4]float64{}), share)
	}
	require.Equal(t, 1, band(8, 10, [4]float64{0.9, 0.8, 0.5, 0.1}))
	require.Equal(t, 0, band(8, 0, [4]float64{}))
}

func TestChains(t *testing.T) {
	t.Parallel()
	in := func(vs ...float64) []float64 {
		for i := range vs {
			vs[i] *= inch
		}
		return vs
	}
	texts := func(parts []link) (out []string) {
		for _, p := range parts {
			out = append(out, p.text)
		}
		return out
	}
	require.Equal(t, []string{"3", "3 @ 4", "2.5", "0.125"}, texts(chain(in(0, 3, 7, 11, 15, 17.5, 17.625), units.US)))
	require.Equal(t, []string{"76.2", "2 @ 101.6"}, texts(chain(in(0, 3, 7, 11), units.SI)))
	// Edge distances stand alone even where they equal the spacing.
	require.Equal(t, []string{"4", "2 @ 4", "4"}, texts(edged(0, in(4, 8, 12), 16*inch, units.US)))
	require.Equal(t, []string{"16"}, texts(edged(0, nil, 16*inch, units.US)))
	require.Empty(t, chain(nil, units.US))
	require.Equal(t, []float64{1, 5}, distinct([]float64{5, 1, 1.2, 5.1}, 0.5))
}

func TestEndStatusAndOverlay(t *testing.T) {
	t.Parallel()
	d := sampleEnd()
	old := *d.Design
	old.Studs = append([]encasement.Stud(nil), d.Design.Studs...)
	old.Studs[0].X += 30
	d.Overlay = &old
	l := layEnd(d)
	require.Len(t, l.studs, 32)
	require.Len(t, l.behind, 32)
	moved := 0
	for _, s := range l.lines {
		if s.Class == "moved" {
			moved++
			require.InDelta(t, 30*l.scale, s.X1-s.X2, 1e-9)
		}
	}
	require.Equal(t, 1, moved)
	tally := func(l endLayout) [4]int {
		kept, moved, added, removed := l.tally()
		return [4]int{kept, moved, added, removed}
	}
	require.Equal(t, [4]int{31, 1, 0, 0}, tally(l))
	require.True(t, l.studs[0].moved)
	require.Equal(t, "→1-1", l.studs[0].mark.Text, "what became of a stud is lettered")
	old.Studs[1].Mark = "L-9-9" // one taken out, one added
	l = layEnd(d)
	require.Equal(t, [4]int{30, 1, 1, 1}, tally(l))
	require.Equal(t, "+1-2", l.studs[1].mark.Text)
	require.Equal(t, "×9-9", l.behind[1].mark.Text)
	require.True(t, l.studs[1].single)
	require.False(t, l.studs[0].single)
	by := map[string]StudStatus{}
	for _, s := range l.studs {
		by[s.stud.Mark] = s.status
		require.Equal(t, s.stud.Face == survey.Right, s.hidden)
	}
	require.Equal(t, Rejected, by["L-2-3"])
	require.Equal(t, NotInspected, by["L-4-1"])
	require.Equal(t, Accepted, by["R-1-1"])
	d.Status = nil
	require.Equal(t, Designed, layEnd(d).studs[0].status)
}

// Figures lie inside their cells and cover no stud, as long as the cell has room.
func TestLetteringIsFree(t *testing.T) {
	t.Parallel()
	l := layEnd(sampleEnd())
	for _, c := range l.cells {
		w := wide(c.text.Text, figureSize)
		b := box{c.text.X - w/2, c.text.Y - capital, w, capital}
		require.InDelta(t, w*capital, overlap(b, c.box), 1e-6, "%+v", c.text)
		for _, s := range l.studs {
			require.Zero(t, overlap(b, box{s.x - s.r, s.y - s.r, 2 * s.r, 2 * s.r}), "%s over %s", c.text.Text, s.stud.Mark)
		}
	}
}

func TestSectionToScale(t *testing.T) {
	t.Parallel()
	d := sampleEnd()
	l := layEnd(d)
	require.InDelta(t, 9*inch, l.section.at, 1e-9) // nearest to the middle of the bearing, 7 in
	require.Len(t, l.section.studs, 8)             // four rows on each face
	require.Len(t, l.section.panels, 2)
	d.Design.Panel.ThicknessLeft = 0
	require.Len(t, layEnd(d).section.panels, 1)
	require.InDelta(t, (12*inch)+20, sectionWidth(d), 1e-9)
	d.Design = nil
	require.Nil(t, layEnd(d).section)
}

func TestEndOfHalfEnteredData(t *testing.T) {
	t.Parallel()
	nan := units.Length(math.NaN())
	for name, d := range map[string]EndData{
		"nothing": {},
		"no numbers": {Geometry: girder.Geometry{Section: girder.Section{Depth: nan, FlangeThickness: nan}, Bearing: girder.Bearing{Start: nan, Length: nan},
			Stiffener: &girder.Stiffener{X: nan, Thickness: nan}, DiaphragmX: nan},
			Survey: &survey.Survey{Readings: []survey.Reading{{X: nan}}, Holes: []survey.Hole{{X: nan}}},
			Design: &encasement.Design{StudDiameter: nan, Studs: []encasement.Stud{{X: nan}}, Panel: encasement.Panel{Width: nan, Height: nan, X: nan}}},
		"far away": {Geometry: sampleEnd().Geometry, Survey: &survey.Survey{Readings: []survey.Reading{{X: 1e12, Z: 10, T: 4}}}},
	} {
		l := layEnd(d)
		require.True(t, finite(l.width, l.height, l.scale) && l.width > 0 && l.width < 5000 && l.height > 0 && l.scale > 0, "%s: %v x %v", name, l.width, l.height)
	}
}
