package encasement_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/published"
)

// bar is the closed form of a bar on a continuous connection: s” = lambda^2 s,
// s'(0) = -R/EA_w, and at the bottom both bars on their springs.
func bar(webBase, panelBase float64) (share, top, bottom float64) {
	const l, ks, eaw, eap, r = 20.0, 600.0, 29000 * 6.0, 6489 * 60.0, 100.0
	lam := math.Sqrt(ks * (1/eaw + 1/eap))
	sh, ch := math.Sinh(lam*l), math.Cosh(lam*l)
	b := -r / (lam * eaw)
	if webBase == 0 {
		return 1, r / lam * (1/(eaw*math.Tanh(lam*l)) + 1/(eap*sh)), r / lam * (1/(eap*math.Tanh(lam*l)) + 1/(eaw*sh))
	}
	c := 1 / webBase
	if !math.IsInf(panelBase, 1) {
		c += 1 / panelBase
	}
	a := (r/webBase - b*sh - c*ks*b*(ch-1)/lam) / (ch + c*ks*sh/lam)
	return ks * (a*sh + b*(ch-1)) / lam / r, a, a*ch + b*sh
}

// The closed form against values worked out elsewhere, and the row model against
// the closed form as rows grow many: its slips differ by half a pitch, so twice
// the finer less the coarser is the limit.
func TestRowsTendToTheBar(t *testing.T) {
	t.Parallel()
	var worst float64
	y := published.Open(t, "share_bar.csv")
	for _, r := range y.Rows {
		wb, pb := r.Number("web_base"), r.Number("panel_base")
		share, top, bottom := bar(wb, pb)
		var at [2][3]float64
		for i, m := range []int{100, 200} {
			s, err := fine(m, wb, pb).Solve()
			require.NoError(t, err)
			at[i] = [3]float64{s.Fraction, float64(s.SlipTop / in), float64(s.SlipFoot / in)}
		}
		for i, c := range []struct {
			key   string
			exact float64
			print float64
		}{{"share", share, 0.0000051}, {"slip_top", top, 0.00000051}, {"slip_bottom", bottom, 0.00000051}} {
			y.Within(r, c.key, c.exact, c.print)
			limit := 2*at[1][i] - at[0][i]
			require.InEpsilon(t, c.exact, limit, 2e-4, "%s %s", r.Text("case"), c.key)
			worst = math.Max(worst, math.Abs(limit/c.exact-1))
		}
	}
	y.Done(9)
	t.Logf("the row model with many rows lies %.4f %% from the closed form", 100*worst)
}
