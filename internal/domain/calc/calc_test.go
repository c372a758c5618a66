package calc

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/units"
)

var shear = Define(Def{
	Symbol: "V_n", Name: "nominal shear resistance", Expr: "0.58*F_yw*D*t_w", Dim: Force,
	Params: []Param{{"F_yw", "yield strength of the web", Stress}, {"D", "web depth", Length}, {"t_w", "web thickness", Length}},
})

func TestEvalAndSheet(t *testing.T) {
	t.Parallel()
	p := NewPad()
	p.Given("t_w", "web thickness", Length, 12.7, "survey")
	v := shear.Eval(p, 345, 1000, 12.7)
	require.InEpsilon(t, 0.58*345*1000*12.7, v, 1e-15)
	require.Equal(t, v, shear.Eval(nil, 345, 1000, 12.7))
	lines := p.Lines()
	require.Len(t, lines, 2)
	require.Equal(t, "t_w = 0.500\u00a0in (survey)", lines[0].AsText(units.US))
	require.Equal(t, "V_n = 0.58·F_yw·D·t_w", shear.AsText())
	require.Equal(t, "V_n = 0.58 × 345.0\u00a0MPa × 1000.0\u00a0mm × 12.7\u00a0mm = 2541.3\u00a0kN", lines[1].AsText(units.SI))
}

func TestFinish(t *testing.T) {
	t.Parallel()
	inf, nan := math.Inf(1), math.NaN()
	met, unmet := []Limit{{"a", true}}, []Limit{{"a", true}, {"b", false}}
	for _, c := range []struct {
		name        string
		demand, res float64
		in          Verdict
		limits      []Limit
		ratio       float64
		want        Verdict
	}{
		{"passes", 50, 100, Undecided, met, 0.5, Passes},
		{"equal", 100, 100, Undecided, nil, 1, Passes},
		{"fails", 101, 100, Undecided, met, 1.01, Fails},
		{"fails outside too", 101, 100, Undecided, unmet, 1.01, Fails},
		{"outside", 50, 100, Undecided, unmet, 0.5, Outside},
		{"stays outside", 50, 100, Outside, nil, 0.5, Outside},
		{"informs", 150, 100, Informs, nil, 1.5, Informs},
		{"nothing resists", 1, 0, Undecided, nil, inf, Fails},
		{"nothing asked of nothing", 0, 0, Undecided, nil, 0, Passes},
		{"uplift", -5, 10, Undecided, nil, 0, Passes},
		{"negative resistance", 0, -1, Undecided, nil, inf, Fails},
		{"infinite resistance", 1, inf, Undecided, nil, nan, Outside},
		{"no demand known", nan, 1, Undecided, nil, nan, Outside},
		{"infinite demand", inf, 1, Undecided, nil, inf, Fails},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got := Finish(Check{Demand: c.demand, Resistance: c.res, Verdict: c.in, Limits: c.limits})
			require.Equal(t, c.want, got.Verdict)
			if math.IsNaN(c.ratio) {
				require.True(t, math.IsNaN(got.Ratio))
			} else {
				require.Equal(t, c.ratio, got.Ratio)
			}
			b, err := json.Marshal(got)
			require.NoError(t, err)
			var back Check
			require.NoError(t, json.Unmarshal(b, &back))
			if math.IsNaN(got.Ratio) {
				require.True(t, math.IsNaN(back.Ratio))
				return
			}
			require.Equal(t, got, back)
		})
	}
}
