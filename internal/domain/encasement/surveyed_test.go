package encasement_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// rusted is a survey of both faces at 2.5 in.: loss that is deepest at the
// flange under the bearing and dies out upward and along, like a leaking joint
// leaves it.
func rusted(loss float64) *survey.Survey {
	s := &survey.Survey{}
	high, long := 2+13*math.Pow(loss, 1.2), 5+22*loss
	for _, f := range []survey.Face{survey.Left, survey.Right} {
		for z := 0.5; z < 31; z += 2.5 {
			for x := 0.5; x < 30; x += 2.5 {
				k := loss * math.Exp(-math.Pow(z/high, 2)) * math.Exp(-math.Pow((x-7)/long, 2))
				s.Readings = append(s.Readings, survey.Reading{Face: f, X: units.Length(x) * in, Z: units.Length(z) * in, T: units.Length(0.58*(1-k)) * in})
			}
		}
	}
	t := units.Length(0.855*(1-0.5*loss)) * in
	s.FlangeThickness = &t
	return s
}

func remaining(s *survey.Survey) encasement.Steel {
	g := end()
	return encasement.Remaining(survey.NewMap(g, s, survey.OptionsFrom(basis.Basis{})), g, s)
}

func TestSoundSurveyIsAsNew(t *testing.T) {
	t.Parallel()
	a := encasement.Evaluate(nil, basis.Basis{}, end(), steel(), good(), 240*kip, nil)
	m := encasement.Evaluate(nil, basis.Basis{}, end(), remaining(rusted(0)), good(), 240*kip, nil)
	require.InEpsilon(t, float64(a.Capacity), float64(m.Capacity), 1e-9)
	for i, c := range a.Checks {
		require.Equal(t, c.Verdict, m.Checks[i].Verdict, c.Key)
	}
}

func TestMoreLossNeverRepairsBetter(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		loss := rapid.Float64Range(0, 0.9).Draw(t, "loss")
		more := loss + rapid.Float64Range(0, 0.95-loss).Draw(t, "more")
		a := encasement.Evaluate(nil, basis.Basis{}, end(), remaining(rusted(loss)), good(), 240*kip, nil)
		b := encasement.Evaluate(nil, basis.Basis{}, end(), remaining(rusted(more)), good(), 240*kip, nil)
		require.LessOrEqual(t, float64(b.Capacity), float64(a.Capacity)*(1+1e-9))
		require.LessOrEqual(t, b.Counted, a.Counted)
	})
}

func TestHolesKeepStudsAway(t *testing.T) {
	t.Parallel()
	s := rusted(0.7)
	s.Holes = []survey.Hole{{X: 4 * in, Z: 0, Width: 6 * in, Height: 3 * in, Rim: 0.15 * in}}
	st := remaining(s)
	d, err := encasement.Propose(basis.Basis{}, end(), st, 150*kip, materials())
	require.NoError(t, err)
	require.True(t, encasement.Evaluate(nil, basis.Basis{}, end(), st, d, 150*kip, nil).Passes())
	for _, x := range d.Studs {
		require.GreaterOrEqual(t, st.HoleDistance(x.X, x.Z), 1.5*in)
		require.GreaterOrEqual(t, st.Around(x.X, x.Z, x.X*0+0.75*in), 0.3*in)
	}
}

func BenchmarkEvaluateSurveyed(b *testing.B) {
	d, g, st, bs := good(), end(), remaining(rusted(0.5)), basis.Basis{}
	b.ReportAllocs()
	for b.Loop() {
		_ = encasement.Evaluate(nil, bs, g, st, d, 240*kip, nil)
	}
}

func BenchmarkProposeSurveyed(b *testing.B) {
	st := remaining(rusted(0.7))
	b.ReportAllocs()
	for b.Loop() {
		_, err := encasement.Propose(basis.Basis{}, end(), st, 200*kip, materials())
		require.NoError(b, err)
	}
}
