package stud_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
)

func TestOnlyAcceptedStudsCount(t *testing.T) {
	t.Parallel()
	want := map[stud.Outcome]bool{stud.Full: true, stud.RepairedFillet: true, stud.BentPass: true, stud.Replaced: true}
	for _, o := range append(stud.Outcomes(), stud.Unseen, "nonsense") {
		require.Equal(t, want[o], stud.Counts(o), string(o))
		require.NotEmpty(t, o.Words())
	}
}

// Fillet 3/8 in. past each end of the gap (AWS D1.1:2015 7.7.3) or a bend of 15
// degrees away from it (TI 809-26 chapter 6).
func TestRepairs(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	const in = units.Inch
	for _, c := range []struct {
		d, size units.Length
	}{{in / 4, 3 * in / 16}, {7 * in / 16, 3 * in / 16}, {in / 2, in / 4}, {13, in / 4}, {5 * in / 8, 5 * in / 16}, {3 * in / 4, 5 * in / 16},
		{7 * in / 8, 5 * in / 16}, {22, 5 * in / 16}, {in, 3 * in / 8}, {25, 3 * in / 8}} {
		rs, err := stud.Repairs(b, c.d, stud.Gap{Clock: 6, Length: c.d / 2})
		require.NoError(t, err)
		require.Len(t, rs, 2)
		require.InDelta(t, float64(c.size), float64(rs[0].Size), 1e-9, "%g", float64(c.d))
		require.InDelta(t, float64(c.d/2+0.75*in), float64(rs[0].Length), 1e-9)
		require.Equal(t, units.Angle(15), rs[1].Angle)
		require.Equal(t, 12, rs[1].Clock)
		require.NotEmpty(t, rs[0].Words)
		require.NotEmpty(t, rs[1].Words)
	}
	rs, err := stud.Repairs(b, in, stud.Gap{Clock: 1, Length: math.Pi * in})
	require.NoError(t, err)
	require.Equal(t, stud.Replaced, rs[0].Outcome)
}

func TestRepairsRefuse(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	for _, c := range []struct {
		d    units.Length
		gap  stud.Gap
		word string
	}{
		{0, stud.Gap{Clock: 1, Length: 1}, "diameter"},
		{units.Length(math.NaN()), stud.Gap{Clock: 1, Length: 1}, "diameter"},
		{20, stud.Gap{Clock: 0, Length: 1}, "o'clock"},
		{20, stud.Gap{Clock: 13, Length: 1}, "o'clock"},
		{20, stud.Gap{Clock: 3}, "length"},
		{20, stud.Gap{Clock: 3, Length: 80}, "length"},
		{20, stud.Gap{Clock: 3, Length: units.Length(math.NaN())}, "length"},
	} {
		_, err := stud.Repairs(b, c.d, c.gap)
		require.ErrorContains(t, err, c.word)
	}
}

func TestCollarRecord(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	const d = 0.75 * units.Inch
	gap := stud.Gap{Clock: 5, Length: 10}
	require.NoError(t, stud.Collar{Outcome: stud.Full}.Validate(b, d))
	require.ErrorContains(t, stud.Collar{Outcome: "fine"}.Validate(b, d), "fine")
	require.ErrorContains(t, stud.Collar{Outcome: stud.GapFound}.Validate(b, d), "o'clock")
	fix := stud.Fillet(b, d, gap)
	good := stud.Collar{Outcome: stud.RepairedFillet, Gap: gap, FilletSize: fix.Size, FilletLength: fix.Length}
	require.NoError(t, good.Validate(b, d))
	thin := good
	thin.FilletSize--
	require.ErrorContains(t, thin.Validate(b, d), "fillet size")
	short := good
	short.FilletLength--
	require.ErrorContains(t, short.Validate(b, d), "fillet length")
	bent := stud.Collar{Outcome: stud.BentPass, Gap: gap, BendAngle: 15, BendClock: 11}
	require.NoError(t, bent.Validate(b, d))
	bent.BendAngle = 10
	require.ErrorContains(t, bent.Validate(b, d), "bend of 10 degrees")
	bent.BendAngle, bent.BendClock = 15, 5
	require.ErrorContains(t, bent.Validate(b, d), "away from the gap")
}

func TestBendIsAwayFromTheGap(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.IntRange(1, 12).Draw(t, "clock")
		r := stud.Bend(basis.Basis{}, stud.Gap{Clock: c})
		require.True(t, r.Clock >= 1 && r.Clock <= 12)
		require.Equal(t, 6, (r.Clock-c+12)%12)
	})
}
