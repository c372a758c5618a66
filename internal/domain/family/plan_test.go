package family

import (
	"math/rand"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// Every end is placed once, with ends like it, under a layout that passes every
// check there, and the bills add up.
func TestPlanHolds(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	items := bridge(rand.New(rand.NewSource(5)), 40)
	items[7].Demand = 900 * kip
	cost := CostFrom(b)
	p := Group(b, items, cost)
	seen := map[int]int{}
	studs, ends := 0, 0
	for _, f := range p.Families {
		require.Equal(t, FormOf(f.Layout), f.Form)
		extra, price := 0, 0.0
		for i, m := range f.Members {
			it := items[m.Item]
			seen[m.Item]++
			require.Equal(t, it.Key, m.Key)
			r := encasement.Evaluate(nil, b, it.Geometry, it.Steel, f.Layout, it.Demand, nil)
			require.True(t, r.Passes(), "%s in %s: %v", m.Key, f.Name, r.First())
			require.Equal(t, r.Capacity, m.Result.Capacity)
			require.Equal(t, len(f.Layout.Studs)-len(m.Own.Studs), m.ExtraStuds)
			require.GreaterOrEqual(t, m.ExtraStuds, 0, "no shared layout takes fewer studs than the fewest")
			for _, o := range f.Members[:i] {
				require.Empty(t, Unlike(b, it, items[o.Item]))
			}
			extra, price = extra+m.ExtraStuds, price+m.ExtraPrice
		}
		require.Equal(t, f.Shared.Studs-f.Apart.Studs, extra)
		require.InDelta(t, f.Apart.Price-f.Shared.Price, f.Saves, 1e-6)
		require.GreaterOrEqual(t, f.Saves, -1e-6)
		fixed := float64(f.Apart.Layouts-1)*cost.Design + float64(f.Apart.Forms-1)*cost.Form
		require.InDelta(t, fixed-price, f.Saves, 1e-6)
		studs, ends = studs+f.Shared.Studs, ends+f.Shared.Ends
	}
	require.Len(t, p.Unplaced, 1)
	require.Equal(t, 7, p.Unplaced[0].Item)
	require.Contains(t, p.Unplaced[0].Reason, "would be needed")
	require.NotNil(t, p.Unplaced[0].Nearest)
	require.Len(t, seen, 39)
	for _, n := range seen {
		require.Equal(t, 1, n)
	}
	require.Equal(t, studs, p.Shared.Studs)
	require.Equal(t, 39, ends)
	require.Equal(t, len(p.Families), p.Shared.Layouts)
	require.LessOrEqual(t, p.Shared.Price, p.Apart.Price)
	t.Logf("39 ends: %d families, %d form sizes, %d studs (%d apart), price %.0f (%.0f apart)", len(p.Families), p.Shared.Forms, p.Shared.Studs, p.Apart.Studs, p.Shared.Price, p.Apart.Price)
}

// The threads at work do not change the plan.
func TestPlanIsDeterministic(t *testing.T) {
	items := bridge(rand.New(rand.NewSource(9)), 24)
	cost := CostFrom(basis.Basis{})
	first := Group(basis.Basis{}, items, cost)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	for _, n := range []int{1, 2, 4} {
		runtime.GOMAXPROCS(n)
		require.Equal(t, first, Group(basis.Basis{}, items, cost))
	}
}

// Where layouts and forms cost nothing nobody pays to share; where they are
// all that costs, as few as can be are used.
func TestPricesRule(t *testing.T) {
	t.Parallel()
	items := bridge(rand.New(rand.NewSource(21)), 20)
	cost := CostFrom(basis.Basis{})
	cost.Design, cost.Form = 0, 0
	for _, f := range Group(basis.Basis{}, items, cost).Families {
		require.LessOrEqual(t, f.Shared.Price, f.Apart.Price+1e-6)
	}
	few := Group(basis.Basis{}, items, Cost{Design: 1000, Form: 100, Stud: 1e-3, UHPC: 1e-12})
	usual := Group(basis.Basis{}, items, CostFrom(basis.Basis{}))
	require.LessOrEqual(t, len(few.Families), len(usual.Families))
	require.LessOrEqual(t, usual.Shared.Studs, few.Shared.Studs)
}

func TestOwnLayouts(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	items := bridge(rand.New(rand.NewSource(2)), 2)
	for i := range items {
		items[i].Geometry, items[i].Steel, items[i].Demand = end(i), nil, 150*kip
	}
	own, err := encasement.Propose(b, items[0].Geometry, nil, 220*kip, items[0].Materials)
	require.NoError(t, err)
	items[0].Own = &own // stronger than asked, as an approved design may be
	bad := own
	bad.Panel.Gap = 5
	items[1].Own = &bad
	p := Group(b, items, Cost{Stud: 1, UHPC: 1e-7})
	got := map[string]Member{}
	for _, f := range p.Families {
		for _, m := range f.Members {
			got[m.Key] = m
		}
	}
	require.False(t, got[items[0].Key].Proposed)
	require.Equal(t, own, got[items[0].Key].Own)
	require.True(t, got[items[1].Key].Proposed, "a layout that does not pass is made anew")
}

func TestBadEnds(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	items := bridge(rand.New(rand.NewSource(2)), 4)
	items[0].Geometry.Section.Depth = 0
	items[1].Demand = 0
	items[2].Materials.StudDiameter = 0
	items[3].Demand = 9000 * kip
	p := Group(b, items, CostFrom(b))
	require.Empty(t, p.Families)
	require.Len(t, p.Unplaced, 4)
	for i, words := range []string{"geometry", "more than 0", "stud_diameter", "bearing of the widest panel"} {
		require.Contains(t, p.Unplaced[i].Reason, words)
	}
	require.Empty(t, Group(b, nil, CostFrom(b)).Families)
}

func TestUnlikeSaysWhy(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	base := bridge(rand.New(rand.NewSource(2)), 1)[0]
	base.Geometry = end(0)
	for words, change := range map[string]func(*Item){
		"different studs":           func(i *Item) { i.Materials.Fc++ },
		"only one has bearing":      func(i *Item) { i.Geometry.Stiffener = &girder.Stiffener{Pairs: 1} },
		"only one has an end":       func(i *Item) { i.Geometry.DiaphragmX = 10 * in },
		"depth between the flanges": func(i *Item) { i.Geometry.Section.Depth += in },
		"web thickness as new":      func(i *Item) { i.Geometry.Section.WebThickness += in / 8 },
		"start of the bearing differs by 1 in. (25.4 mm), at most 0.5 in. (12.7 mm)": func(i *Item) { i.Geometry.Bearing.Start += in },
		"skew differs by 12.0 degrees, at most 5.0":                                  func(i *Item) { i.Geometry.SkewDeg = 12 },
	} {
		other := base
		change(&other)
		got := Unlike(b, base, other)
		require.Len(t, got, 1, words)
		require.Contains(t, got[0], words)
		x, y := &cell{item: base}, &cell{item: other}
		require.False(t, alike(likeness(b), x, y))
	}
	require.Empty(t, Unlike(b, base, base))
	within := base
	within.Geometry.Bearing.Start += in / 2
	require.Empty(t, Unlike(b, base, within))
}

// A family's form may be another's where the UHPC it adds is worth the form.
func TestFormsAreShared(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	items := bridge(rand.New(rand.NewSource(3)), 30)
	cost := CostFrom(b)
	dear := cost
	dear.Form = 1e5
	p, q := Group(b, items, cost), Group(b, items, dear)
	require.LessOrEqual(t, q.Shared.Forms, p.Shared.Forms)
	for _, f := range q.Families {
		for _, m := range f.Members {
			require.Equal(t, calc.Passes, m.Result.Check(encasement.KeySideCover).Verdict)
		}
	}
	require.Less(t, float64(p.Shared.Volume), float64(q.Shared.Volume)*(1+1e-9)+float64(units.Inch))
}
