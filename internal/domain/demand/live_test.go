package demand_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// liveOf is the reaction of one load in kip, and what the statics of it were.
func liveOf(t *testing.T, b basis.Basis, s demand.Span, g int, load string, m demand.Method, trucks ...demand.Truck) (float64, demand.Live, demand.Share) {
	t.Helper()
	if len(trucks) == 0 {
		trucks = demand.Builtin()
	}
	l, err := demand.Reactions(nil, b, demand.Input{Span: s, End: end(g, girder.Near), Trucks: trucks})
	require.NoError(t, err)
	x, ok := l.Of(load, m)
	require.True(t, ok)
	return float64(x.Force / kip), x, l.Share
}

// On a long span the lane load of HS20 is more than its truck also on the girder, where
// its concentrated load counts as wheels over the bearing. Worked on paper.
func TestLaneLoadOnTheGirder(t *testing.T) {
	t.Parallel()
	s := plain()
	s.Length = 180 * ft
	v, x, _ := liveOf(t, basis.Basis{}, s, 3, demand.HS20, demand.LoadFactor)
	require.Equal(t, "lane load", x.Governs)
	require.InDelta(t, (1+50.0/305)*(8/5.5*0.64*180/4+1.75*13), v, 1e-9)
	s.Length = 60 * ft
	_, x, _ = liveOf(t, basis.Basis{}, s, 3, demand.HS20, demand.LoadFactor)
	require.Equal(t, demand.HS20, x.Governs)
}

func TestExteriorGirderWithTwoLanesAndWithOne(t *testing.T) {
	t.Parallel()
	s := plain()
	s.Spacing, s.Lanes = 7*ft, 2
	_, _, x := liveOf(t, basis.Basis{}, s, 1, "T3", demand.LRFR)
	require.InDelta(t, 0.8*(0.2+7.0/12-7.0*7/35/35), x.Multi, 1e-9)
	s.Lanes = 1
	_, _, x = liveOf(t, basis.Basis{}, s, 1, "T3", demand.LRFR)
	require.Zero(t, x.Multi)
}

func TestVehicleAloneInOneLane(t *testing.T) {
	t.Parallel()
	s := plain()
	alone := truck(t, "T3-3")
	alone.Code, alone.Class, alone.OneLane = "alone", demand.Permit, true
	mixed := alone
	mixed.Code, mixed.OneLane = "mixed", false
	for _, g := range []int{1, 3} {
		_, a, share := liveOf(t, basis.Basis{}, s, g, "alone", demand.LRFR, alone, mixed)
		_, m, _ := liveOf(t, basis.Basis{}, s, g, "mixed", demand.LRFR, alone, mixed)
		require.InDelta(t, share.One/1.2, a.Share, 1e-12)
		require.InDelta(t, share.G, m.Share, 1e-12)
		require.InDelta(t, m.Lane, a.Lane, 1e-9)
		_, f, _ := liveOf(t, basis.Basis{}, s, g, "alone", demand.LoadFactor, alone, mixed)
		require.InDelta(t, share.AwayOne, f.Share, 1e-12)
	}
	_, with0, share := liveOf(t, basis.Basis{}, s, 3, "EV3", demand.LRFR)
	_, with1, _ := liveOf(t, with(t, basis.EmergencyOneLane, 1.0), s, 3, "EV3", demand.LRFR)
	require.InDelta(t, share.G, with0.Share, 1e-12)
	require.InDelta(t, share.Alone, with1.Share, 1e-12)
}

// Exterior wheel lines by the load factor method: the lever rule, and no fewer than
// S/5.5 to 6 ft and S/(4 + S/4) beyond. Worked on paper.
func TestWheelLinesOfAnExteriorGirder(t *testing.T) {
	t.Parallel()
	for _, row := range []struct{ spacing, edge, over, away float64 }{
		{6, 1, 5.0 / 6, 6 / 5.5},           // wheel 1 ft inside the web
		{10, 1, 9.0/10 + 3.0/10, 10 / 6.5}, // the second truck's first wheel is 11 ft in
		{10, 3, 11.0/10 + 5.0/10 + 1.0/10, 1.7},
	} {
		s := plain()
		s.Spacing, s.EdgeLeft, s.Lanes = units.Length(row.spacing)*ft, units.Length(row.edge)*ft, 2
		_, _, x := liveOf(t, basis.Basis{}, s, 1, "T3", demand.LoadFactor)
		require.InDelta(t, row.over, x.Over, 1e-9, row)
		require.InDelta(t, row.away, x.Away, 1e-9, row)
	}
	s := plain()
	s.Girders, s.Spacing, s.Lanes = 3, 6*ft, 2
	_, _, x := liveOf(t, basis.Basis{}, s, 1, "T3", demand.LoadFactor)
	require.InDelta(t, x.Over, x.Away, 0, "the floor is for four girders and more")
}

// Far apart, three lanes give more than two over the bearing even with their
// reduction. Worked on paper.
func TestThreeLanesOverTheBearing(t *testing.T) {
	t.Parallel()
	s := plain()
	s.Girders, s.Spacing, s.Lanes = 4, 30*ft, 3
	_, _, x := liveOf(t, basis.Basis{}, s, 2, "T3", demand.LoadFactor)
	// Wheels at 0 6 10 16 20 26, the one at 10 over the girder.
	three := (20.0 + 26 + 30 + 24 + 20 + 14) / 30
	two := (20.0 + 26 + 30 + 24) / 30
	require.InDelta(t, max(two, 0.9*three), x.Over, 1e-9)
	require.InDelta(t, x.Over, x.Away, 1e-9, "more than 14 ft: the deck as a simple span")
	require.Len(t, x.Warnings, 3, "spacing out of range for each rule")
	require.InDelta(t, 0.85*three/2, x.Multi, 1e-9)
}

func TestTurningOfTheSectionWithThreeLanes(t *testing.T) {
	t.Parallel()
	// Four girders at 12 ft, curb 1 ft out: trucks at 14, 4 and -6 ft from the middle.
	s := plain()
	s.Girders, s.Spacing, s.EdgeLeft, s.EdgeRight, s.Lanes = 4, 12*ft, 1*ft, 1*ft, 2
	squares := 2 * (18.0*18 + 6*6)
	part := func(n, sum float64) float64 { return n/4 + 18*sum/squares }
	b := with(t, basis.RigidSection, 1.0, basis.Presence3, 1.2)
	for lanes, want := range map[int]float64{2: part(2, 18), 3: max(part(2, 18), 1.2*part(3, 12))} {
		s.Lanes = lanes
		_, _, x := liveOf(t, b, s, 1, "T3", demand.LRFR)
		require.InDelta(t, want, x.Multi, 1e-9, lanes)
	}
}

func TestTheAlternativeThatGovernsGivesItsWeight(t *testing.T) {
	t.Parallel()
	s := plain()
	for feet, weight := range map[float64]float64{22: 50, 80: 72} {
		s.Length = units.Length(feet) * ft
		l, err := demand.Reactions(nil, basis.Basis{}, demand.Input{Span: s, End: end(3, girder.Near), Trucks: demand.Builtin()})
		require.NoError(t, err)
		list := demand.Rate(nil, basis.Basis{}, rating(l, s))
		r := pick(t, list, demand.LRFR, demand.Inventory, demand.HL93)
		require.InDelta(t, weight, float64(r.Gross/kip), 1e-9, feet)
	}
}

func TestMeasuredWearingSurfaceHasASmallerFactor(t *testing.T) {
	t.Parallel()
	x := handInput(t)
	x.MeasuredWearing = true
	r := pick(t, demand.Rate(nil, basis.Basis{}, x), demand.LRFR, demand.Inventory, demand.HL93)
	require.InDelta(t, (152-1.25*40)/(1.75*80), r.RF, 1e-9)
}
