package encasement_test

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

func materials() encasement.Materials {
	return encasement.Materials{StudDiameter: 0.75 * in, StudHeight: 4 * in, StudFu: 65 * units.Ksi, Fc: 18 * units.Ksi}
}

func TestProposeIsSmallAndPasses(t *testing.T) {
	t.Parallel()
	st := &corroded{Steel: steel(), thin: 0.2 * in, thinBelow: 7 * in, flange: 0.6 * in}
	d, err := encasement.Propose(basis.Basis{}, end(), st, 200*kip, materials())
	require.NoError(t, err)
	require.NoError(t, d.Validate(end()))
	r := encasement.Evaluate(nil, basis.Basis{}, end(), st, d, 200*kip, nil)
	require.True(t, r.Passes())
	// 200 kip over 22.5 kip a stud asks for nine, so ten on two faces at least.
	require.GreaterOrEqual(t, len(d.Studs), 10)
	for _, s := range d.Studs {
		require.GreaterOrEqual(t, s.Z, 7*in)
	}
	again, err := encasement.Propose(basis.Basis{}, end(), st, 200*kip, materials())
	require.NoError(t, err)
	require.Equal(t, d, again)
	t.Logf("%d studs, panel %.1f x %.1f x %.1f in., governed by %s", len(d.Studs), float64(d.Panel.Width/in), float64(d.Panel.Height/in), float64(d.Panel.ThicknessLeft/in), r.Governs)
}

func TestProposeStepsOverStiffeners(t *testing.T) {
	t.Parallel()
	g := end()
	g.Stiffener = &girder.Stiffener{Pairs: 1, Thickness: 0.625 * in, Width: 5 * in, Clip: in, X: 7.5 * in, Fy: 33 * units.Ksi}
	d, err := encasement.Propose(basis.Basis{}, g, steel(), 180*kip, materials())
	require.NoError(t, err)
	require.True(t, encasement.Evaluate(nil, basis.Basis{}, g, steel(), d, 180*kip, nil).Passes())
	for _, s := range d.Studs {
		require.Greater(t, math.Abs(float64(s.X-7.5*in)), float64(2*in))
	}
}

func TestProposeSaysWhyNot(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	for name, c := range map[string]struct {
		steel  encasement.Steel
		demand units.Force
		m      func(*encasement.Materials)
		words  string
		near   bool
	}{
		"too much":      {steel(), 5000 * kip, nil, "bearing of the widest panel", true},
		"web":           {steel(), 380 * kip, nil, "a mean of 0.6325 in. (16.07 mm) would be needed", true},
		"thin web":      {&corroded{Steel: steel(), thin: 0.2 * in, thinBelow: 100 * in}, 200 * kip, nil, "takes studs to 0.5 in. (12.7 mm); studs of 0.5 in.", false},
		"flange gone":   {&corroded{Steel: steel(), thin: 0.2 * in, thinBelow: 7 * in, flange: 0.01 * in}, 1200 * kip, nil, "bearing of the widest panel", true},
		"short stud":    {steel(), 200 * kip, func(m *encasement.Materials) { m.StudHeight = 2 * in }, "at least 3 in.", true},
		"weak UHPC":     {steel(), 200 * kip, func(m *encasement.Materials) { m.Fc = 10 * units.Ksi }, "Strength of the UHPC", true},
		"hole by place": {&corroded{Steel: steel(), hole: 0.1 * in}, 200 * kip, nil, "holes leave no room", false},
		"thin beside":   {&corroded{Steel: steel(), strip: 10}, 250 * kip, nil, "would be needed beside the nearest layout", true},
	} {
		m := materials()
		if c.m != nil {
			c.m(&m)
		}
		_, err := encasement.Propose(b, end(), c.steel, c.demand, m)
		var no *encasement.NoLayout
		require.ErrorAs(t, err, &no, name)
		require.ErrorContains(t, err, c.words, name)
		require.Equal(t, c.near, no.Nearest != nil, name)
		if no.Nearest != nil {
			require.NoError(t, no.Nearest.Validate(end()), name)
			r := encasement.Evaluate(nil, b, end(), c.steel, *no.Nearest, c.demand, nil)
			require.Equal(t, no.Carries, r.Capacity, name)
			require.Less(t, r.Capacity, c.demand*10, name)
		}
		if no.Works != nil {
			require.True(t, encasement.Evaluate(nil, b, end(), c.steel, *no.Works, c.demand, nil).Passes(), name)
		}
		t.Logf("%s: %v", name, err)
	}
	for _, bad := range []units.Force{0, -1, units.Force(math.NaN()), units.Force(math.Inf(1))} {
		_, err := encasement.Propose(b, end(), steel(), bad, materials())
		require.ErrorContains(t, err, "more than 0")
		var no *encasement.NoLayout
		require.False(t, errors.As(err, &no))
	}
	_, err := encasement.Propose(b, girder.Geometry{}, steel(), kip, materials())
	require.Error(t, err)
	_, err = encasement.Propose(b, end(), steel(), kip, encasement.Materials{})
	require.ErrorContains(t, err, "stud_diameter")
}

// What is proposed passes, and a greater reaction never needs fewer studs.
func TestProposeProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		st := &corroded{Steel: steel(), thin: 0.2 * in, thinBelow: units.Length(rapid.Float64Range(1, 14).Draw(t, "loss height")) * in,
			flange: units.Length(rapid.Float64Range(0.3, 0.85).Draw(t, "flange")) * in}
		r := units.Force(rapid.Float64Range(20, 320).Draw(t, "reaction")) * kip
		d, err := encasement.Propose(basis.Basis{}, end(), st, r, materials())
		if err != nil {
			var no *encasement.NoLayout
			require.ErrorAs(t, err, &no)
			require.NotEmpty(t, no.Reason)
			return
		}
		require.True(t, encasement.Evaluate(nil, basis.Basis{}, end(), st, d, r, nil).Passes())
		require.NoError(t, d.Validate(end()))
		less, err := encasement.Propose(basis.Basis{}, end(), st, r*0.8, materials())
		require.NoError(t, err)
		require.LessOrEqual(t, len(less.Studs), len(d.Studs))
	})
}

func BenchmarkPropose(b *testing.B) {
	st := &corroded{Steel: steel(), thin: 0.2 * in, thinBelow: 9 * in}
	b.ReportAllocs()
	for b.Loop() {
		_, err := encasement.Propose(basis.Basis{}, end(), st, 220*kip, materials())
		require.NoError(b, err)
	}
}

func BenchmarkProposeImpossible(b *testing.B) {
	st := &corroded{Steel: steel(), thin: 0.2 * in, thinBelow: 9 * in}
	b.ReportAllocs()
	for b.Loop() {
		_, err := encasement.Propose(basis.Basis{}, end(), st, 380*kip, materials())
		require.Error(b, err)
	}
}
