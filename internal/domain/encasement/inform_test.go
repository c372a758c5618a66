package encasement_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// What informs is there with its lines and leaves capacity and verdict alone.
func TestInformingChecks(t *testing.T) {
	t.Parallel()
	d, b := twoFaced(4, 5, 5, 8, 4, 4), basis.Basis{}
	d.StudHeight = 3.5 * in // h/d 4.67: short enough for pry-out to be shown
	g := end()
	l := encasement.Loads{Demand: 240 * kip, Range: 40 * kip, Cycles: 2e6}
	r := encasement.EvaluateLoads(calc.NewPad(), b, g, steel(), d, l, nil)
	for _, key := range []string{"stud.aisc", "stud.en1994", "stud.collar", "stud.pryout", "detail.base_metal_weld", "detail.base_metal_tension",
		encasement.KeyCenter, "stud.fatigue_aashto", "stud.fatigue_en1994"} {
		c := r.Check(key)
		require.NotNil(t, c, key)
		require.Equal(t, calc.Informs, c.Verdict, key)
		require.NotEmpty(t, c.Lines, key)
		require.NotEmpty(t, c.Clause.Document, key)
	}
	// The hardest worked stud, by the elastic vector.
	require.InDelta(t, 240/r.Effective, r.Check("stud.en1994").Demand/float64(kip), 1e-9)
	require.InDelta(t, 0.8*40/r.Effective, r.Check("stud.fatigue_aashto").Demand/float64(kip), 1e-9)
	require.InDelta(t, 40/r.Effective, r.Check("stud.fatigue_en1994").Demand/float64(kip), 1e-9)
	// Sharing about the center of rotation is more even than elastic.
	require.Greater(t, r.Check(encasement.KeyCenter).Resistance, r.Check(encasement.KeyStuds).Resistance)

	plain := encasement.Evaluate(nil, b, g, steel(), d, 240*kip, nil)
	require.Nil(t, plain.Check("stud.fatigue_aashto"), "no live range is known")
	require.Equal(t, r.Capacity, plain.Capacity)
	require.Equal(t, r.Governs, plain.Governs)
	l.Cycles = 0
	forever := encasement.EvaluateLoads(nil, b, g, steel(), d, l, nil)
	require.InDelta(t, 1.75*40/r.Effective, forever.Check("stud.fatigue_aashto").Demand/float64(kip), 1e-9)
	require.Nil(t, encasement.Evaluate(nil, b, g, steel(), d, 240*kip, func(string) bool { return false }).Check("stud.collar"))
}

func skewed(deg units.Angle, side girder.Side) girder.Geometry {
	g := end()
	g.SkewDeg, g.DiaphragmX, g.Name.Side = deg, 20*in, side
	return g
}

// Positive skew has the left end of the line ahead. At a near end that is away
// from the girder end: on the left face the diaphragm at 20 in. leans off a group
// before it, on the right face toward it.
func TestSkewedDiaphragm(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	at := func(g girder.Geometry, d encasement.Design) *calc.Check {
		return encasement.Evaluate(nil, b, g, steel(), d, 240*kip, nil).Check(encasement.KeySkewRoom)
	}
	d := good() // last column at 12 in.
	require.Nil(t, at(end(), d))
	require.Nil(t, at(skewed(0, girder.Near), d))
	// 8 in. less (4 + 3) in. x tan 30.
	lean := 8 - 7*math.Tan(math.Pi/6)
	c := at(skewed(30, girder.Near), d)
	require.InDelta(t, lean, c.Resistance/float64(in), 1e-9)
	require.Equal(t, calc.Informs, c.Verdict)
	left, right := d, d
	left.Studs, right.Studs = d.Studs[:20], d.Studs[20:]
	for _, x := range []struct {
		g     girder.Geometry
		d     encasement.Design
		leans bool
	}{
		{skewed(30, girder.Near), left, false}, {skewed(30, girder.Near), right, true}, {skewed(-30, girder.Near), left, true},
		{skewed(30, girder.Far), left, true}, {skewed(30, girder.Far), right, false}, {skewed(-30, girder.Far), right, true},
	} {
		want := 8.0
		if x.leans {
			want = lean
		}
		require.InDelta(t, want, at(x.g, x.d).Resistance/float64(in), 1e-9, "%v", x.g.SkewDeg)
	}

	// Where the owner lets it decide, a proposal keeps the room.
	decides, err := b.With(basis.StudSkewDecides, 1)
	require.NoError(t, err)
	g := skewed(45, girder.Near)
	g.DiaphragmX = 17 * in
	p, err := encasement.Propose(decides, g, steel(), 150*kip, materials())
	require.NoError(t, err)
	r := encasement.Evaluate(nil, decides, g, steel(), p, 150*kip, nil)
	require.Equal(t, calc.Passes, r.Check(encasement.KeySkewRoom).Verdict)
	for _, s := range p.Studs {
		require.GreaterOrEqual(t, math.Abs(float64(s.X-17*in))/float64(in), 4+7-1e-9)
	}
	free, err := encasement.Propose(b, g, steel(), 150*kip, materials())
	require.NoError(t, err)
	require.Equal(t, calc.Fails, encasement.Evaluate(nil, decides, g, steel(), free, 150*kip, nil).Check(encasement.KeySkewRoom).Verdict)
}

// A dimension on its very limit passes with the ratio 1, however the inches were
// added up.
func TestOnTheLimitIsOne(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		g := end()
		eighths := rapid.IntRange(130, 200).Draw(t, "diaphragm")
		for range eighths {
			g.DiaphragmX += in / 8
		}
		d := good()
		for i := range d.Studs {
			d.Studs[i].X = g.DiaphragmX - 4*in - units.Length(3*(4-d.Studs[i].Col))*in
		}
		c := encasement.Evaluate(nil, basis.Basis{}, g, steel(), d, 240*kip, nil).Check(encasement.KeyDiaphragm)
		require.Equal(t, calc.Passes, c.Verdict)
		require.InDelta(t, 1, c.Ratio, 1e-12)
		require.LessOrEqual(t, c.Ratio, 1.0)
	})
}
