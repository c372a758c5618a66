package demand_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/units"
)

// known is a reaction by hand, in kip.
func known(v float64) demand.Reaction {
	return demand.Reaction{Force: units.Force(v) * kip, Known: true, Origin: "calculation of the owner"}
}

func byHand() demand.Loads {
	l := demand.Loads{DC1: known(30), DC2: known(6), DW: known(4)}
	for _, x := range []struct {
		load string
		m    demand.Method
		kip  float64
	}{{demand.HL93, demand.LRFR, 80}, {"T3", demand.LRFR, 45}, {"EV3", demand.LRFR, 70}, {"big", demand.LRFR, 90}, {demand.HS20, demand.LoadFactor, 60}, {"T3", demand.LoadFactor, 42}} {
		l.Live = append(l.Live, demand.Live{Load: x.load, Method: x.m, Force: units.Force(x.kip) * kip})
	}
	return l
}

func handTrucks(t testing.TB) []demand.Truck {
	big := truck(t, "T3-3")
	big.Code, big.Class, big.Gamma = "big", demand.Permit, 1.2
	return []demand.Truck{truck(t, "HL93-TRUCK"), truck(t, "HL93-TANDEM"), truck(t, demand.HS20), truck(t, "T3"), truck(t, "EV3"), big}
}

func handInput(t testing.TB) demand.RatingInput {
	return demand.RatingInput{Resistance: "web crippling", Nominal: 200 * kip, Phi: 0.8, Loads: byHand(), Trucks: handTrucks(t), Condition: demand.Fair, Traffic: 3000}
}

func pick(t testing.TB, list []demand.Rating, m demand.Method, level demand.Level, vehicle string) demand.Rating {
	t.Helper()
	for _, r := range list {
		if r.Method == m && r.Level == level && r.Vehicle == vehicle {
			return r
		}
	}
	require.Fail(t, "no rating", "%s %s %s", m, level, vehicle)
	return demand.Rating{}
}

func TestRatingsOfReactionsByHand(t *testing.T) {
	t.Parallel()
	list := demand.Rate(calc.NewPad(), basis.Basis{}, handInput(t))
	require.Len(t, list, 2+1+1+1+2+2+2+2)
	c := 0.95 * 0.8 * 200.0
	d := 1.25*36 + 1.5*4
	for _, row := range []struct {
		m       demand.Method
		level   demand.Level
		vehicle string
		rf      float64
	}{
		{demand.LRFR, demand.Inventory, demand.HL93, (c - d) / (1.75 * 80)},
		{demand.LRFR, demand.Operating, demand.HL93, (c - d) / (1.35 * 80)},
		{demand.LRFR, demand.LegalLevel, "T3", (c - d) / (1.375 * 45)},
		{demand.LRFR, demand.EmergencyLevel, "EV3", (c - d) / (1.30 * 70)},
		{demand.LRFR, demand.PermitLevel, "big", (c - d) / (1.2 * 90)},
		{demand.LoadFactor, demand.Inventory, demand.HS20, (160 - 1.3*40) / (2.17 * 60)},
		{demand.LoadFactor, demand.Operating, "T3", (160 - 1.3*40) / (1.3 * 42)},
	} {
		r := pick(t, list, row.m, row.level, row.vehicle)
		require.True(t, r.Known)
		require.InDelta(t, row.rf, r.RF, 1e-9, row.vehicle)
		require.Empty(t, r.Missing)
		require.NotEmpty(t, r.Lines)
		require.NotEmpty(t, r.Clause.Article)
	}
	require.Contains(t, pick(t, list, demand.LRFR, demand.PermitLevel, "big").Clause.Article, "6A.4.5")
	for _, vehicle := range []string{"EV3", "big"} {
		r := pick(t, list, demand.LoadFactor, demand.Inventory, vehicle)
		require.Equal(t, demand.Unrated, r.Verdict)
		require.Contains(t, r.Missing, "the live load "+vehicle)
	}
}

func TestCapacityFactors(t *testing.T) {
	t.Parallel()
	capacity := func(change func(*demand.RatingInput), b basis.Basis) float64 {
		x := handInput(t)
		change(&x)
		return float64(pick(t, demand.Rate(nil, b, x), demand.LRFR, demand.Inventory, demand.HL93).Capacity/kip) / 160
	}
	set := func(c demand.Condition, measured bool) func(*demand.RatingInput) {
		return func(x *demand.RatingInput) { x.Condition, x.MeasuredLoss = c, measured }
	}
	var b basis.Basis
	require.InDelta(t, 1, capacity(set(demand.Good, false), b), 1e-12)
	require.InDelta(t, 1, capacity(set(demand.Good, true), b), 1e-12, "never above 1")
	require.InDelta(t, 0.95, capacity(set(demand.Fair, false), b), 1e-12)
	require.InDelta(t, 1, capacity(set(demand.Fair, true), b), 1e-12)
	require.InDelta(t, 0.85, capacity(set(demand.Poor, false), b), 1e-12)
	require.InDelta(t, 0.90, capacity(set(demand.Poor, true), b), 1e-12)
	require.InDelta(t, 0.85, capacity(set(demand.ConditionUnknown, false), b), 1e-12, "not stated counts as poor")
	low := with(t, basis.SystemFactor, 0.85)
	require.InDelta(t, 0.85, capacity(set(demand.Poor, false), low), 1e-12, "0.85 times 0.85 is below the floor")
}

func TestNegativeRatingIsSaidAndNotClamped(t *testing.T) {
	t.Parallel()
	x := handInput(t)
	x.Nominal = 40 * kip
	list := demand.Rate(calc.NewPad(), basis.Basis{}, x)
	r := pick(t, list, demand.LRFR, demand.Inventory, demand.HL93)
	require.InDelta(t, (0.95*0.8*40-51)/(1.75*80), r.RF, 1e-9)
	require.Negative(t, r.RF)
	require.Equal(t, demand.DeadLoad, r.Verdict)
	require.Equal(t, "fails under dead load", r.Verdict.Words())
	legal := pick(t, list, demand.LRFR, demand.LegalLevel, "T3")
	require.True(t, legal.Posts)
	require.Zero(t, legal.SafeLoad)
	s := demand.Screen(basis.Basis{}, demand.LRFR, list)
	require.Equal(t, demand.StageClose, s.Stage)
	require.Contains(t, s.Words, "dead load")
}

func TestWhatIsMissingIsSaid(t *testing.T) {
	t.Parallel()
	x := handInput(t)
	x.Loads.DW = demand.Reaction{}
	list := demand.Rate(calc.NewPad(), basis.Basis{}, x)
	r := pick(t, list, demand.LRFR, demand.LegalLevel, "T3")
	require.True(t, r.Known)
	require.Equal(t, demand.Incomplete, r.Verdict, "1 or more with a load missing is no pass")
	require.Equal(t, []string{"the dead load of wearing surface and utilities"}, r.Missing)
	require.False(t, r.Posts)
	short := pick(t, list, demand.LRFR, demand.Inventory, demand.HL93)
	require.Equal(t, demand.Insufficient, short.Verdict, "more load would only make it worse")
	s := demand.Screen(basis.Basis{}, demand.LRFR, list)
	require.Equal(t, demand.StageUnknown, s.Stage)
	require.Contains(t, s.Words, "wearing surface")

	x.Loads.Live = append(x.Loads.Live, demand.Live{Load: "crane", Method: demand.LRFR, Force: kip})
	r = pick(t, demand.Rate(nil, basis.Basis{}, x), demand.LRFR, "", "crane")
	require.Equal(t, demand.Unrated, r.Verdict)
	require.NotEmpty(t, r.Missing)

	for _, nominal := range []float64{math.NaN(), math.Inf(1)} {
		x.Nominal = units.Force(nominal)
		require.Error(t, x.Validate())
		for _, r := range demand.Rate(nil, basis.Basis{}, x) {
			require.False(t, r.Known)
			require.Equal(t, demand.Unrated, r.Verdict)
			require.Zero(t, r.RF)
		}
	}
	d := demand.Factored(calc.NewPad(), basis.Basis{}, demand.Loads{DC1: known(10)}, demand.LRFR, "")
	require.Len(t, d.Missing, 3)
	require.InDelta(t, 12.5, float64(d.Force/kip), 1e-9)
}

func TestFactoredReaction(t *testing.T) {
	t.Parallel()
	d := demand.Factored(calc.NewPad(), basis.Basis{}, byHand(), demand.LRFR, "")
	require.InDelta(t, 1.25*36+1.5*4+1.75*80, float64(d.Force/kip), 1e-9)
	require.Equal(t, demand.HL93, d.Load)
	require.NotEmpty(t, d.Lines)
	d = demand.Factored(nil, basis.Basis{}, byHand(), demand.LoadFactor, "")
	require.InDelta(t, 1.3*40+2.17*60, float64(d.Force/kip), 1e-9)
	d = demand.Factored(nil, basis.Basis{}, byHand(), demand.LRFR, "EV3")
	require.InDelta(t, 1.25*36+1.5*4+1.75*70, float64(d.Force/kip), 1e-9)
}

func TestScreeningOrder(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	stage := func(nominal float64) demand.Screening {
		x := handInput(t)
		x.Nominal = units.Force(nominal) * kip
		list := demand.Rate(nil, b, x)
		s := demand.Screen(b, demand.LRFR, list)
		if s.Governs >= 0 {
			require.Less(t, s.Governs, len(list))
		}
		return s
	}
	require.Equal(t, demand.StageDone, stage(300).Stage)
	require.Equal(t, demand.StageLegal, stage(200).Stage)
	require.Equal(t, demand.StagePosting, stage(120).Stage)
	require.Equal(t, demand.StageClose, stage(90).Stage, "the only legal truck is not allowed any more")
	require.Equal(t, demand.StageClose, stage(20).Stage)
	require.Equal(t, demand.StageUnknown, demand.Screen(b, demand.LRFR, nil).Stage)

	x := handInput(t)
	x.Nominal, x.Methods = 90*kip, []demand.Method{demand.LRFR}
	x.Trucks = append(x.Trucks, truck(t, "SU4"))
	require.Equal(t, demand.StagePosting, demand.Screen(b, demand.LRFR, demand.Rate(nil, b, x)).Stage, "while a legal load is not rated nobody closes for all")

	x = handInput(t)
	x.Trucks = x.Trucks[:2]
	s := demand.Screen(b, demand.LRFR, demand.Rate(nil, b, x))
	require.Equal(t, demand.StageUnknown, s.Stage, "neither level carries and nobody rated a legal load")
}

func TestLongSpanLoadCountsAboveItsSpanOnly(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		feet float64
		want bool
	}{{199, false}, {200, false}, {201, true}} {
		x := input()
		x.Span.Length = units.Length(row.feet) * ft
		l, err := demand.Reactions(nil, basis.Basis{}, x)
		require.NoError(t, err)
		_, ok := l.Of("LEGAL-LANE", demand.LRFR)
		require.Equal(t, row.want, ok)
		found := false
		for _, r := range demand.Rate(nil, basis.Basis{}, rating(l, x.Span)) {
			found = found || r.Vehicle == "LEGAL-LANE"
		}
		require.Equal(t, row.want, found)
	}
	x := truck(t, "LEGAL-LANE")
	three := truck(t, "T3-3")
	require.InDelta(t, 0.75*axles(three, 240), axles(x, 240), 1e-9)
	v, _ := demand.PerLane(nil, basis.Basis{}, x, 240*ft, demand.LRFR)
	require.InDelta(t, 1.33*0.75*axles(three, 240)+0.2*120, float64(v/kip), 1e-9)
}

func TestRatingProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		l := byHand()
		f := func(name string, high float64) demand.Reaction {
			return known(rapid.Float64Range(0, high).Draw(t, name))
		}
		l.DC1, l.DC2, l.DW = f("dc1", 200), f("dc2", 40), f("dw", 40)
		x := demand.RatingInput{Nominal: units.Force(rapid.Float64Range(0, 500).Draw(t, "nominal")) * kip, Phi: rapid.Float64Range(0.5, 1).Draw(t, "phi"), Loads: l,
			Trucks: demand.Builtin(), Condition: rapid.SampledFrom(demand.Conditions()).Draw(t, "condition"), Traffic: rapid.IntRange(0, 9000).Draw(t, "traffic")}
		heavier := x
		heavier.Loads.DC1.Force += kip
		a, b := demand.Rate(nil, basis.Basis{}, x), demand.Rate(nil, basis.Basis{}, heavier)
		for i := range a {
			if a[i].Known {
				require.Less(t, b[i].RF, a[i].RF, "more dead load, less rating")
			}
			if i > 0 && a[i].Known && a[i].Level == demand.Operating && a[i-1].Vehicle == a[i].Vehicle {
				want := 1.75 / 1.35
				if a[i].Method == demand.LoadFactor {
					want = 2.17 / 1.3
				}
				require.InDelta(t, want*a[i-1].RF, a[i].RF, 1e-9*math.Abs(a[i].RF)+1e-12)
			}
		}
		g := rapid.IntRange(0, 9000).Draw(t, "other traffic")
		if x.Traffic > 0 && g > x.Traffic {
			require.GreaterOrEqual(t, demand.LegalFactor(nil, basis.Basis{}, demand.Legal, g), demand.LegalFactor(nil, basis.Basis{}, demand.Legal, x.Traffic))
		}
		rf := rapid.Float64Range(-1, 2).Draw(t, "rf")
		w := demand.SafeLoad(nil, basis.Basis{}, demand.LRFR, 80*kip, rf)
		v := demand.SafeLoad(nil, basis.Basis{}, demand.LRFR, 80*kip, rf+1e-6)
		require.True(t, v >= w && v-w < kip/1000 && w >= 0 && w <= 80*kip)
	})
}
