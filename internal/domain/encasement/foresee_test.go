package encasement_test

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/units"
)

// The forecast is the prediction in a form to store: the same numbers.
func TestForeseeIsThePrediction(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	st := remaining(rusted(0.6))
	load := encasement.Loading{Total: 200 * kip, Service: 140 * kip, Before: 60 * kip}
	f, err := encasement.Foresee(b, end(), st, good(), load, nil)
	require.NoError(t, err)
	service := load
	service.Total = load.Service
	p, err := encasement.Predict(nil, b, end(), st, good(), service, nil)
	require.NoError(t, err)
	require.Equal(t, p.Low, f.Service.ShareLow)
	require.Equal(t, p.High, f.Service.ShareHigh)
	require.Equal(t, f.Service.ShareLow, f.ReductionLow)
	p, err = encasement.Predict(nil, b, end(), st, good(), load, nil)
	require.NoError(t, err)
	require.True(t, f.WebLost)
	require.Equal(t, p.Peak, f.Strength.Peak)
	require.InDelta(t, 1, f.Strength.ShareLow, 1e-4)
	require.Less(t, f.Strength.Closure, 1e-6)
	require.Less(t, f.Service.Closure, 1e-6)
	require.InDelta(t, 22.53, float64(f.StudResistance/kip), 0.006)

	// Five rows of eight from the top; what the rows hand over is what the web
	// has lost.
	require.Len(t, f.Service.Rows, 5)
	require.Equal(t, 26*in, f.Service.Rows[0].Z)
	require.Equal(t, 8, f.Service.Rows[4].Studs)
	low, high := f.ReductionAt(27 * in)
	require.Zero(t, low+high)
	low, high = f.ReductionAt(2 * in)
	require.InDelta(t, f.ReductionLow, low, 1e-9)
	require.InDelta(t, f.ReductionHigh, high, 1e-9)
	mid, _ := f.ReductionAt(15 * in)
	require.True(t, mid > 0 && mid < 1, "the lower rows may hand some back to the web")

	capped := load
	capped.WebCap = 90 * kip
	f, err = encasement.Foresee(b, end(), st, good(), capped, nil)
	require.NoError(t, err)
	require.False(t, f.WebLost)
	require.LessOrEqual(t, float64(f.Strength.WebHigh/kip), 90.1)

	raw, err := json.Marshal(f)
	require.NoError(t, err)
	var back encasement.Foreseen
	require.NoError(t, json.Unmarshal(raw, &back))
	require.Equal(t, f, back)
	for _, key := range []string{`"reduction_low"`, `"peak_stud_n"`, `"slip_top_mm"`, `"stud_low_n"`, `"closure"`} {
		require.True(t, strings.Contains(string(raw), key), key)
	}
	t.Logf("%d bytes stored; share %.3f to %.3f, web strain falls %.0f to %.0f %%", len(raw), f.Service.ShareLow, f.Service.ShareHigh, 100*f.ReductionLow, 100*f.ReductionHigh)
}

func TestForeseeRefuses(t *testing.T) {
	t.Parallel()
	load := encasement.Loading{Total: 200 * kip}
	_, err := encasement.Foresee(basis.Basis{}, end(), nil, good(), load, func(string) bool { return false })
	require.ErrorIs(t, err, encasement.ErrNoShare)
	load.Before = 300 * kip
	_, err = encasement.Foresee(basis.Basis{}, end(), nil, good(), load, nil)
	require.ErrorIs(t, err, encasement.ErrNoShare)
}

// One equilibrium: the way the load is raised does not change it.
func TestOneEquilibrium(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		load := encasement.Loading{Total: units.Force(rapid.Float64Range(20, 400).Draw(t, "load")) * kip}
		load.Before = load.Total * units.Force(rapid.Float64Range(0, 0.9).Draw(t, "before"))
		d := good()
		d.Panel.Gap = units.Length(rapid.Float64Range(0, 0.2).Draw(t, "gap"))
		st := remaining(rusted(rapid.Float64Range(0, 0.7).Draw(t, "loss")))
		f, err := encasement.Foresee(basis.Basis{}, end(), st, d, load, nil)
		require.NoError(t, err)
		require.Empty(t, f.Service.Unsolved)
		require.Empty(t, f.Strength.Unsolved)
		require.Less(t, f.Service.Closure, 1e-6)
		require.True(t, f.ReductionLow >= -1e-7 && f.ReductionHigh <= 1+1e-7)
		for _, r := range f.Service.Rows {
			require.LessOrEqual(t, r.Low, r.High)
			require.LessOrEqual(t, r.WebLow, r.WebHigh)
		}
	})
}

func BenchmarkForesee(b *testing.B) {
	st := remaining(rusted(0.5))
	b.ReportAllocs()
	for b.Loop() {
		_, _ = encasement.Foresee(basis.Basis{}, end(), st, good(), encasement.Loading{Total: 200 * kip, Before: 60 * kip}, nil)
	}
}
