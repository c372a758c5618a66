package demand_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// anyTruck draws a truck; gaps may be variable.
func anyTruck(t *rapid.T, most int) demand.Truck {
	x := demand.Truck{Code: "any", Class: demand.Permit}
	for i := range rapid.IntRange(1, most).Draw(t, "axles") {
		a := demand.Axle{Load: units.Force(rapid.Float64Range(1, 60).Draw(t, "kip")) * kip}
		if i > 0 {
			a.Gap = units.Length(rapid.Float64Range(3, 45).Draw(t, "gap")) * ft
			if rapid.IntRange(0, 3).Draw(t, "variable") == 0 {
				a.GapMax = a.Gap + units.Length(rapid.Float64Range(0, 30).Draw(t, "more"))*ft
			}
		}
		x.Axles = append(x.Axles, a)
	}
	return x
}

func anySpanLength(t *rapid.T) units.Length {
	return units.Length(rapid.Float64Range(10, 300).Draw(t, "span")) * ft
}

func reversed(x demand.Truck) demand.Truck {
	y := x
	y.Axles = nil
	for i := len(x.Axles) - 1; i >= 0; i-- {
		a := demand.Axle{Load: x.Axles[i].Load}
		if i+1 < len(x.Axles) {
			a.Gap, a.GapMax = x.Axles[i+1].Gap, x.Axles[i+1].GapMax
		}
		y.Axles = append(y.Axles, a)
	}
	return y
}

// walk is the largest reaction over a fine walk of the train with fixed gaps: it
// knows nothing but the influence line.
func walk(x demand.Truck, gaps []float64, span float64, step float64) float64 {
	most := 0.0
	for _, dir := range []float64{1, -1} {
		at := make([]float64, len(x.Axles))
		for i := 1; i < len(at); i++ {
			at[i] = at[i-1] + dir*gaps[i]
		}
		low, high := slices.Min(at), slices.Max(at)
		for shift := -high; shift <= span-low; shift += step {
			v := 0.0
			for i, a := range x.Axles {
				if p := at[i] + shift; p >= 0 && p <= span {
					v += float64(a.Load) * (1 - p/span)
				}
			}
			most = max(most, v)
		}
	}
	return most
}

func TestReactionIsNeverBeatenByAFineWalk(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		x, span := anyTruck(t, 5), anySpanLength(t)
		got, _ := demand.AxleReaction(nil, x, span)
		// Every variable gap at several places of its range, alone and together.
		for k := range 5 {
			part := float64(k) / 4
			gaps := make([]float64, len(x.Axles))
			shortest := true
			for i, a := range x.Axles {
				gaps[i] = float64(a.Gap)
				if a.GapMax > 0 && rapid.Bool().Draw(t, "stretched") {
					gaps[i] += part * float64(a.GapMax-a.Gap)
					shortest = shortest && part == 0
				}
			}
			const step = 30.0
			most := walk(x, gaps, float64(span), step)
			require.LessOrEqual(t, most, float64(got)*(1+1e-12))
			if shortest {
				// A step off the peak costs at most the slope of the influence line.
				require.GreaterOrEqual(t, most, float64(got)-float64(x.GVW())*step/float64(span))
			}
		}
	})
}

func TestReactionGrowsWithTheSpanAndStaysBelowTheWeight(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		x, span := anyTruck(t, 12), anySpanLength(t)
		v, pl := demand.AxleReaction(nil, x, span)
		more, _ := demand.AxleReaction(nil, x, span+units.Length(rapid.Float64Range(0, 20).Draw(t, "longer"))*ft)
		require.GreaterOrEqual(t, float64(more), float64(v)*(1-1e-12))
		require.LessOrEqual(t, float64(v), float64(x.GVW())*(1+1e-12))
		heaviest := units.Force(0)
		for _, a := range x.Axles {
			heaviest = max(heaviest, a.Load)
		}
		require.GreaterOrEqual(t, v, heaviest)

		// The placement told gives the reaction told.
		sum := 0.0
		for i, at := range pl.Positions(x) {
			if at >= 0 && at < span {
				sum += float64(x.Axles[i].Load) * (1 - float64(at/span))
			}
		}
		require.InEpsilon(t, float64(v), sum, 1e-12)
	})
}

func TestReactionIsTheSameBothWays(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		x, span := anyTruck(t, 12), anySpanLength(t)
		v, _ := demand.AxleReaction(nil, x, span)
		w, _ := demand.AxleReaction(nil, reversed(x), span)
		require.InEpsilon(t, float64(v), float64(w), 1e-12)
	})
}

func TestReactionsAddUp(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		x, span := anyTruck(t, 8), anySpanLength(t)
		k := rapid.Float64Range(0.1, 5).Draw(t, "times")
		y, z := x, x
		y.Axles, z.Axles = slices.Clone(x.Axles), slices.Clone(x.Axles)
		for i := range y.Axles {
			y.Axles[i].Load *= units.Force(k)
			z.Axles[i].Load += y.Axles[i].Load
		}
		v, _ := demand.AxleReaction(nil, x, span)
		w, _ := demand.AxleReaction(nil, y, span)
		both, _ := demand.AxleReaction(nil, z, span)
		require.InEpsilon(t, k*float64(v), float64(w), 1e-12)
		require.InEpsilon(t, float64(v+w), float64(both), 1e-12)

		more := x
		more.Axles = append(slices.Clone(x.Axles), demand.Axle{Load: 5 * kip, Gap: 4 * ft})
		u, _ := demand.AxleReaction(nil, more, span)
		require.GreaterOrEqual(t, float64(u), float64(v)*(1-1e-12), "an axle more never takes load away")
	})
}

// anySpan draws a span that is in range of every formula or not.
func anySpan(t *rapid.T) demand.Span {
	f := func(name string, low, high float64) units.Length {
		return units.Length(rapid.Float64Range(low, high).Draw(t, name)) * ft
	}
	s := demand.Span{Length: f("length", 12, 280), Girders: rapid.IntRange(2, 12).Draw(t, "girders"), Spacing: f("spacing", 3, 18), Deck: f("deck", 0.3, 1.2),
		OverhangLeft: f("left", 0, 6), OverhangRight: f("right", 0, 6), Lanes: rapid.IntRange(0, 5).Draw(t, "lanes"),
		SkewNear: units.Angle(rapid.Float64Range(-70, 70).Draw(t, "near")), SkewFar: units.Angle(rapid.Float64Range(-70, 70).Draw(t, "far"))}
	if rapid.Bool().Draw(t, "square") {
		s.SkewNear, s.SkewFar = 0, 0
	}
	s.EdgeLeft = min(s.OverhangLeft, f("curb left", -3, 6))
	s.EdgeRight = min(s.OverhangRight, f("curb right", -3, 6))
	s.EdgeLeft, s.EdgeRight = max(s.EdgeLeft, -0.9*s.Spacing), max(s.EdgeRight, -0.9*s.Spacing)
	if rapid.Bool().Draw(t, "stiff") {
		s.Stiffness = units.Inertia(rapid.Float64Range(1e4, 7e6).Draw(t, "kg")) * units.Inertia(in*in*in*in)
	}
	if s.Roadway() < 8*ft { // no room for a vehicle
		s.Girders, s.EdgeLeft, s.EdgeRight = max(4, s.Girders), 0, 0
	}
	require.NoError(t, s.Validate())
	return s
}

func anyEnd(t *rapid.T, s demand.Span) demand.End {
	return demand.End{Girder: rapid.IntRange(1, s.Girders).Draw(t, "girder"), Side: rapid.SampledFrom([]girder.Side{girder.Near, girder.Far}).Draw(t, "side"),
		Beyond: units.Length(rapid.Float64Range(0, 3).Draw(t, "beyond")) * ft}
}

func anyBasis(t *rapid.T) basis.Basis {
	var b basis.Basis
	for _, k := range []basis.Key{basis.GirdersFloor, basis.RigidSection, basis.EmergencyOneLane} {
		var err error
		b, err = b.With(k, float64(rapid.IntRange(0, 1).Draw(t, string(k))))
		require.NoError(t, err)
	}
	return b
}

// Seen in a mirror, left and right change places and a skew its sign; turned by half
// a circle, near and far change places as well and a skew keeps its sign.
func TestSharesDoNotDependOnTheSideLookedFrom(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s, b := anySpan(t), anyBasis(t)
		e := anyEnd(t, s)
		want, err := demand.Distribute(nil, b, s, e)
		require.NoError(t, err)
		m := s
		m.EdgeLeft, m.EdgeRight, m.OverhangLeft, m.OverhangRight = s.EdgeRight, s.EdgeLeft, s.OverhangRight, s.OverhangLeft
		turned := m
		m.SkewNear, m.SkewFar = -s.SkewNear, -s.SkewFar
		turned.SkewNear, turned.SkewFar = s.SkewFar, s.SkewNear
		me, te := e, e
		me.Girder = s.Girders + 1 - e.Girder
		te.Girder = me.Girder
		if te.Side = girder.Near; e.Side == girder.Near {
			te.Side = girder.Far
		}
		got, err := demand.Distribute(nil, b, m, me)
		require.NoError(t, err)
		require.Equal(t, want, got, "mirror")
		got, err = demand.Distribute(nil, b, turned, te)
		require.NoError(t, err)
		require.Equal(t, want, got, "half a turn")
	})
}

func TestSharesAreSane(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s, b := anySpan(t), anyBasis(t)
		e := anyEnd(t, s)
		x, err := demand.Distribute(nil, b, s, e)
		require.NoError(t, err)
		require.GreaterOrEqual(t, x.Skew, 1.0, "never a reduction")
		require.True(t, x.G >= max(x.One, x.Multi)*x.Skew*(1-1e-12) && !math.IsInf(x.G, 0))
		require.InDelta(t, x.One*x.Skew/1.2, x.Alone, 1e-12)
		if s.SkewNear == 0 && s.SkewFar == 0 {
			require.InDelta(t, 1, x.Skew, 0)
		}
		if x.Corner == demand.Acute && s.Girders > 2 {
			require.InDelta(t, 1, x.Skew, 0)
		}
		more := s
		more.SkewNear *= 1.05
		more.SkewFar *= 1.05
		if more.Validate() == nil {
			y, err := demand.Distribute(nil, b, more, e)
			require.NoError(t, err)
			require.GreaterOrEqual(t, y.G, x.G*(1-1e-12), "more skew, no less load")
		}
	})
}

// Within the ranges a share follows the spacing without a step.
func TestSharesAreContinuous(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := plain()
		s.Lanes = rapid.IntRange(1, 4).Draw(t, "lanes")
		s.Spacing = units.Length(rapid.Float64Range(3.6, 15.9).Draw(t, "spacing")) * ft
		s.EdgeLeft = units.Length(rapid.Float64Range(-0.99, 3.4).Draw(t, "edge")) * ft
		e := end(rapid.IntRange(1, 5).Draw(t, "girder"), girder.Near)
		in := demand.Input{Span: s, End: e, Trucks: demand.Builtin()}
		near := in
		near.Span.Spacing += 0.01
		a, err := demand.Reactions(nil, basis.Basis{}, in)
		require.NoError(t, err)
		b, err := demand.Reactions(nil, basis.Basis{}, near)
		require.NoError(t, err)
		require.InDelta(t, a.Share.G, b.Share.G, 1e-4)
		require.InDelta(t, a.Share.Over, b.Share.Over, 1e-4)
		if math.Abs(float64(s.Spacing/ft)-10) > 0.1 && math.Abs(float64(s.Spacing/ft)-14) > 0.1 {
			require.InDelta(t, a.Share.Away, b.Share.Away, 1e-4)
		}
	})
}

// The lever rule of an interior girder is never beaten by trucks that stand
// anywhere.
func TestLeverIsNeverBeatenByAFineWalk(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := plain()
		s.Girders = 3
		s.Spacing = units.Length(rapid.Float64Range(3, 20).Draw(t, "spacing")) * ft
		s.Lanes = 1
		x, err := demand.Distribute(nil, basis.Basis{}, s, end(2, girder.Near))
		require.NoError(t, err)
		s.Lanes = 2
		y, err := demand.Distribute(nil, basis.Basis{}, s, end(2, girder.Near))
		require.NoError(t, err)
		sp := float64(s.Spacing / ft)
		tent := func(at float64) float64 { return max(0, 1-math.Abs(at)/sp) / 2 }
		one, two := 0.0, 0.0
		for at := -40.0; at <= 40; at += 0.05 {
			a := tent(at) + tent(at+6)
			one, two = max(one, a), max(two, a+tent(at+10)+tent(at+16))
		}
		require.InDelta(t, 1.2*one, x.One, 0.02)
		require.LessOrEqual(t, 1.2*one, x.One+1e-9)
		require.InDelta(t, two, y.Multi, 0.02)
		require.LessOrEqual(t, two, y.Multi+1e-9)
	})
}

// All girders and both ends together carry what was put on the span.
func TestDeadLoadIsAllCarried(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := anySpan(t)
		s.EdgeLeft, s.EdgeRight = max(0, s.EdgeLeft), max(0, s.EdgeRight)
		beyond := units.Length(rapid.Float64Range(0, 3).Draw(t, "beyond")) * ft
		length := float64(s.Length + 2*beyond)
		at := units.Length(rapid.Float64Range(0, float64(s.Length)).Draw(t, "at"))
		parts := []demand.Part{
			{Name: "deck", Bucket: demand.DC1, Kind: demand.Area, Value: 0.004, Where: demand.Tributary},
			{Name: "surface", Bucket: demand.DW, Kind: demand.Area, Value: 0.001, Where: rapid.SampledFrom([]demand.Where{demand.Tributary, demand.Shared}).Draw(t, "where")},
			{Name: "girders", Bucket: demand.DC1, Kind: demand.Line, Value: 3, Where: demand.Each},
			{Name: "barriers", Bucket: demand.DC2, Kind: demand.Line, Value: 9, Where: demand.Exterior},
			{Name: "pipe", Bucket: demand.DW, Kind: demand.Line, Value: 2, Where: demand.One, Girder: s.Girders},
			{Name: "frame", Bucket: demand.DC1, Kind: demand.Point, Value: 4000, Where: demand.Tributary, At: at, From: girder.Near},
			{Name: "end frame", Bucket: demand.DC1, Kind: demand.Point, Value: 5000, Where: demand.Shared},
		}
		sum := map[demand.Bucket]float64{}
		for g := 1; g <= s.Girders; g++ {
			for _, side := range []girder.Side{girder.Near, girder.Far} {
				l, err := demand.Dead(nil, s, demand.End{Girder: g, Side: side, Beyond: beyond}, parts)
				require.NoError(t, err)
				for _, k := range demand.Buckets() {
					require.True(t, l.Bucket(k).Known)
					sum[k] += float64(l.Bucket(k).Force)
				}
			}
		}
		n := float64(s.Girders)
		require.InEpsilon(t, length*(0.004*float64(s.DeckWidth())+3*n)+4000*(n-1)+2*5000, sum[demand.DC1], 1e-9)
		require.InEpsilon(t, length*18, sum[demand.DC2], 1e-9)
		require.InEpsilon(t, length*(0.001*float64(s.Roadway())+2), sum[demand.DW], 1e-9)
	})
}

// Whatever passes Validate comes out as numbers.
func TestEveryValidEndComesOutAsNumbers(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s, b := anySpan(t), anyBasis(t)
		x := input()
		x.Span, x.End = s, anyEnd(t, s)
		x.Trucks = append(x.Trucks, anyTruck(t, 40))
		for i := range x.Parts {
			if x.Parts[i].From != "" {
				x.Parts[i].At = s.Length / 3
			}
		}
		l, err := demand.Reactions(nil, b, x)
		require.NoError(t, err)
		ri := rating(l, s)
		ri.Trucks = x.Trucks
		ri.Nominal = units.Force(rapid.Float64Range(0, 1000).Draw(t, "nominal")) * kip
		require.NoError(t, ri.Validate())
		list := demand.Rate(nil, b, ri)
		require.NotEmpty(t, list)
		for _, r := range list {
			require.False(t, math.IsNaN(r.RF) || math.IsInf(r.RF, 0), r.Vehicle)
			require.True(t, r.Known == (r.Verdict != demand.Unrated), r.Vehicle)
			require.True(t, r.SafeLoad >= 0 && r.SafeLoad <= r.Gross, r.Vehicle)
			require.NotEqual(t, "unknown", r.Verdict.Words())
			if r.Known {
				require.Equal(t, r.RF < 0, r.Verdict == demand.DeadLoad)
			}
		}
	})
}
