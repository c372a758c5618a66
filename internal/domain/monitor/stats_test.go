package monitor

import (
	"math"
	"slices"
	"sort"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"endcast/internal/domain/published"
)

// Values quoted from reference libraries; see the header of the table.
func TestPublishedStatistics(t *testing.T) {
	t.Parallel()
	ten := []float64{3, 1, 4, 1, 5, 9, 2, 6, 5, 3}
	got := map[string]float64{"normal_975": distuv.UnitNormal.Quantile(0.975),
		"p05": Percentile(ten, 0.05), "p25": Percentile(ten, 0.25), "p50": Percentile(ten, 0.50), "p75": Percentile(ten, 0.75),
		"p90": Percentile(ten, 0.90), "p95": Percentile(ten, 0.95), "mad": Spread(ten),
		"beta_low": distuv.Beta{Alpha: 20, Beta: 51}.Quantile(0.025), "beta_high": distuv.Beta{Alpha: 21, Beta: 50}.Quantile(0.975)}
	got["mean"], got["deviation"] = MeanDeviation(ten)

	x, y := []float64{19, 22, 16, 29, 24}, []float64{20, 11, 17, 12}
	exact, approx := MannWhitney(x, y, true), MannWhitney(x, y, false)
	require.True(t, exact.Exact)
	got["u"], got["u_exact"], got["u_continuity"], got["auc"] = exact.U, exact.P, approx.P, approx.AUC

	x = []float64{0.95692026, 1.1348812, -0.76579239, -0.58065653, -0.05122393, 0.71598754, 1.39873528, 0.42790527, 1.84580764, 0.64228521}
	y = []float64{0.6948678, -0.3741825, 0.36657279, 1.15834174, -0.32421706, -0.38499295, 1.44976991, 0.2504608, -0.53694774, 1.42221993}
	ks := KolmogorovSmirnov(x, y)
	got["ks_d"], got["ks_exact"], got["ks_limit"] = ks.D, ks.P, kolmogorovLimit(math.Sqrt(5)*ks.D)

	r := RateRatio(Counted{20, 10}, Counted{50, 12})
	got["rate_ratio"], got["rate_low"], got["rate_high"], got["rate_p"] = r.Ratio, r.Low, r.High, r.P

	ts, zs := []float64{0, 1, 2, 3, 4, 5}, []float64{.1, 1.9, 4.2, 5.8, 8.1, 20}
	ols, corr := LeastSquares(ts, zs)
	th := TheilSen(ts, zs)
	got["line_slope"], got["line_at0"], got["line_r"] = ols.Slope, ols.At0, corr
	got["theil_slope"], got["theil_at0"] = th.Slope, th.At0

	var medians []float64
	three := []float64{2, 3, 7}
	for _, a := range three {
		for _, b := range three {
			for _, c := range three {
				medians = append(medians, Median([]float64{a, b, c}))
			}
		}
	}
	for _, m := range medians {
		got[map[float64]string{2: "boot_2", 3: "boot_3", 7: "boot_7"}[m]]++
	}
	got["boot_low"], got["boot_high"] = Percentile(medians, 0.025), Percentile(medians, 0.975)

	tab := published.Open(t, "strain_statistics.csv")
	for _, row := range tab.Rows {
		v, ok := got[row.Text("item")]
		require.True(t, ok, row.Text("item"))
		tab.Shown(row, "value", v, 1e-10)
	}
	tab.Done(len(got))
}

func TestSelectionAgreesWithSorting(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(-9, 9), 1, 200).Draw(t, "v")
		if rapid.Bool().Draw(t, "ties") {
			for i := range v {
				v[i] = math.Round(v[i] / 3)
			}
		}
		want := Median(v)
		require.InDelta(t, want, medianIn(slices.Clone(v)), 1e-12)
		k := rapid.IntRange(0, len(v)-1).Draw(t, "k")
		c := slices.Clone(v)
		selectAt(c, k)
		sort.Float64s(v)
		require.Equal(t, v[k], c[k])
	})
}

func TestPercentilesKeepWithinTheValues(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(-1e6, 1e6), 1, 40).Draw(t, "v")
		p := rapid.Float64Range(0, 1).Draw(t, "p")
		q := rapid.Float64Range(p, 1).Draw(t, "q")
		a, b := Percentile(v, p), Percentile(v, q)
		require.LessOrEqual(t, a, b+1e-9)
		require.GreaterOrEqual(t, a, slices.Min(v))
		require.LessOrEqual(t, b, slices.Max(v))
	})
	require.True(t, math.IsNaN(Percentile(nil, 0.5)))
	require.True(t, math.IsNaN(Percentile([]float64{1}, 1.1)))
	require.True(t, math.IsNaN(Percentile([]float64{1, math.NaN()}, 0.5)))
}

// The exact count of orders against counting them one by one, and the symmetry of
// the two sides.
func TestRankTestsAgreeWithCounting(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 9).Draw(t, "n")
		n1 := rapid.IntRange(1, n-1).Draw(t, "n1")
		order := rapid.Permutation(slices.Collect(func(yield func(float64) bool) {
			for i := range n {
				if !yield(float64(i)) {
					return
				}
			}
		})).Draw(t, "order")
		x, y := order[:n1], order[n1:]
		w, k := MannWhitney(x, y, true), KolmogorovSmirnov(x, y)
		var all, farU, farD float64
		for bits := range 1 << n {
			var a, b []float64
			for i := range n {
				if bits>>i&1 == 1 {
					a = append(a, float64(i))
				} else {
					b = append(b, float64(i))
				}
			}
			if len(a) != n1 {
				continue
			}
			all++
			u, _, _ := countPairs(a, b)
			half := float64(n1*(n-n1)) / 2
			if math.Abs(u-half) >= math.Abs(w.U-half)-1e-9 {
				farU++
			}
			if KolmogorovSmirnov(a, b).D >= k.D-1e-12 {
				farD++
			}
		}
		require.InDelta(t, farU/all, w.P, 1e-12)
		require.InDelta(t, farD/all, k.P, 1e-12)
		back := MannWhitney(y, x, true)
		require.InDelta(t, w.P, back.P, 1e-12)
		require.InDelta(t, 1, w.AUC+back.AUC, 1e-12)
	})
	require.True(t, math.IsNaN(MannWhitney(nil, []float64{1}, true).P))
	require.True(t, math.IsNaN(KolmogorovSmirnov([]float64{1}, nil).P))
	require.Equal(t, 1.0, MannWhitney([]float64{1, 1}, []float64{1}, true).P)
}

func TestRatesAtTheEnds(t *testing.T) {
	t.Parallel()
	none := RateRatio(Counted{0, 1}, Counted{99, 1})
	require.Zero(t, none.Ratio)
	require.Zero(t, none.Low)
	require.Less(t, none.High, 0.05)
	turned := RateRatio(Counted{99, 1}, Counted{0, 1})
	require.True(t, math.IsInf(turned.Ratio, 1) && math.IsInf(turned.High, 1))
	require.InDelta(t, 1, none.High*turned.Low, 1e-9)
	require.True(t, math.IsNaN(RateRatio(Counted{}, Counted{}).Ratio))
}

// A line comes back whatever a few wild points say, and the interval holds it.
func TestTheilSenFindsTheLine(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		slope := rapid.Float64Range(-5, 5).Draw(t, "slope")
		x, y := make([]float64, 20), make([]float64, 20)
		d := NewDraw(rapid.Uint64().Draw(t, "seed"))
		for i := range x {
			x[i] = float64(i)
			y[i] = slope*x[i] + 0.01*(d.Uniform()-0.5)
		}
		y[rapid.IntRange(0, 19).Draw(t, "wild")] += 1e6
		got := TheilSen(x, y)
		require.InDelta(t, slope, got.Slope, 0.01)
		require.LessOrEqual(t, got.Low, got.Slope)
		require.GreaterOrEqual(t, got.High, got.Slope)
	})
	short := TheilSen([]float64{0, 1}, []float64{0, 1})
	require.True(t, math.IsInf(short.Low, -1) && math.IsInf(short.High, 1))
	require.True(t, math.IsNaN(TheilSen([]float64{1, 1}, []float64{0, 1}).Slope))
}
