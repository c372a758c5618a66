package encasement_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/units"
)

func TestPredictShare(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	st := remaining(rusted(0.6))
	load := encasement.Loading{Total: 200 * kip, Before: 60 * kip}
	pr, err := encasement.Predict(calc.NewPad(), b, end(), st, good(), load, nil)
	require.NoError(t, err)
	require.Len(t, pr.Laws, 3)
	require.True(t, pr.Low > 0 && pr.High < 1 && pr.Low <= pr.High, "%g to %g", pr.Low, pr.High)
	for _, l := range pr.Laws {
		require.NoError(t, l.Err)
		require.InDelta(t, 0, l.Service.Closure, 1e-6)
		require.InDelta(t, 1, l.Lost.Fraction, 1e-4)
		require.InDelta(t, float64(load.Total), float64(l.Service.WebTotal+l.Service.Panel), 1)
	}
	// The peak stud carries more than the mean of forty.
	require.Greater(t, pr.Peak, load.Total/40)
	require.Len(t, pr.Checks, 3)
	for _, c := range pr.Checks {
		require.Equal(t, calc.Informs, c.Verdict, c.Key)
	}
	t.Logf("share %.2f to %.2f, peak %.2f kip, slip %.4f in.", pr.Low, pr.High, float64(pr.Peak/kip), float64(pr.Slip/in))

	// Panel below the studs by hand: modulus 2500 x 18^0.33 ksi, two faces of
	// 5 in. over 9 in. of bearing and the spread through 0.5985 in. of flange,
	// 8 in. to the lowest row.
	require.InDelta(t, 6489*2*5*(9+2*0.5985)/8, float64(pr.PanelBase)/kipInch, 5)

	gone := encasement.Loading{Total: 200 * kip, Before: 300 * kip}
	_, err = encasement.Predict(nil, b, end(), st, good(), gone, nil)
	require.ErrorIs(t, err, encasement.ErrNoShare)
	_, err = encasement.Predict(nil, b, end(), nil, good(), load, func(string) bool { return false })
	require.ErrorIs(t, err, encasement.ErrNoShare)
}

// More loss under the studs sends more to the panel, and a gap less.
func TestPredictProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		loss := rapid.Float64Range(0, 0.8).Draw(t, "loss")
		load := encasement.Loading{Total: units.Force(rapid.Float64Range(40, 240).Draw(t, "load")) * kip}
		run := func(loss float64, gap units.Length) encasement.Prediction {
			d := good()
			d.Panel.Gap = gap
			// Only the web below the lowest row loses metal here, so every stud counts.
			st := &belowOnly{corroded: corroded{Steel: steel()}, loss: loss}
			p, err := encasement.Predict(nil, basis.Basis{}, end(), st, d, load, nil)
			require.NoError(t, err)
			return p
		}
		a, more, gap := run(loss, 0), run(loss+0.1, 0), run(loss, 0.1)
		for i := range a.Laws {
			require.NoError(t, a.Laws[i].Err)
			require.GreaterOrEqual(t, more.Laws[i].Service.Fraction, a.Laws[i].Service.Fraction-1e-7)
			require.LessOrEqual(t, gap.Laws[i].Service.Fraction, a.Laws[i].Service.Fraction+1e-7)
		}
	})
}

type belowOnly struct {
	corroded
	loss float64
}

func (s *belowOnly) Thickness(x, z units.Length) units.Length {
	t := s.Steel.Thickness(x, z)
	if z < 8*in {
		t *= units.Length(1 - s.loss)
	}
	return t
}

func TestFatigueOfTheGroup(t *testing.T) {
	t.Parallel()
	var b basis.Basis
	// Forty studs, middle on the bearing line: 5.5 x 0.75^2 = 3.094 kip each
	// (AASHTO LRFD 6.10.10.2).
	c := encasement.Fatigue(calc.NewPad(), b, end(), nil, good(), 100*kip, 0, nil)
	require.InDelta(t, 2.5, c.Demand/float64(kip), 1e-9)
	require.InDelta(t, 3.094, c.Resistance/float64(kip), 0.0006)
	require.Equal(t, calc.Passes, c.Verdict)
	require.NotEmpty(t, c.Lines)
	c = encasement.Fatigue(nil, b, end(), nil, good(), 130*kip, 0, nil)
	require.Equal(t, calc.Fails, c.Verdict)
	c = encasement.Fatigue(nil, b, end(), nil, good(), 100*kip, 0, func(string) bool { return false })
	require.Equal(t, calc.Fails, c.Verdict)
}

func BenchmarkPredict(b *testing.B) {
	st := remaining(rusted(0.5))
	b.ReportAllocs()
	for b.Loop() {
		_, _ = encasement.Predict(nil, basis.Basis{}, end(), st, good(), encasement.Loading{Total: 200 * kip, Before: 60 * kip}, nil)
	}
}
