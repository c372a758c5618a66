package monitor

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func same(t require.TestingT, want, got Bin) {
	require.Equal(t, want.N, got.N)
	if want.N > 0 {
		require.Equal(t, [2]float64{want.Min, want.Max}, [2]float64{got.Min, got.Max})
	} else {
		require.True(t, math.IsNaN(got.Min) && math.IsNaN(got.Max))
	}
}

// Any view of any part shows what a look at every sample shows.
func TestNoExtremeIsLost(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := NewDraw(rapid.Uint64().Draw(t, "seed"))
		x := make([]float64, rapid.IntRange(0, 20_000).Draw(t, "n"))
		for i := range x {
			x[i] = d.Normal()
			switch d.Index(500) {
			case 0:
				x[i] = 1000 * d.Normal()
			case 1:
				x[i] = math.NaN()
			case 2:
				x[i] = math.Inf(1)
			}
		}
		var p Pyramid
		for i := 0; i < len(x); {
			n := min(1+d.Index(300), len(x)-i)
			p.Add(x[i : i+n]...)
			i += n
		}
		require.Equal(t, len(x), p.Len())
		from := rapid.IntRange(0, len(x)).Draw(t, "from")
		to := rapid.IntRange(from, len(x)).Draw(t, "to")
		bins := rapid.IntRange(0, 400).Draw(t, "bins")
		whole := of(x[from:to])
		exact := p.View(from, to, bins, func(a, b int) []float64 { return x[a:b] })
		require.Len(t, exact, min(bins, to-from))
		rough, sum := p.View(from, to, bins, nil), nothing
		for i, b := range exact {
			sum = sum.with(b)
			if b.N > 0 {
				require.LessOrEqual(t, rough[i].Min, b.Min)
				require.GreaterOrEqual(t, rough[i].Max, b.Max)
			}
		}
		if bins > 0 {
			same(t, whole, sum)
		}
		plain, sum := Thin(x[from:to], bins), nothing
		for _, b := range plain {
			sum = sum.with(b)
		}
		if bins > 0 {
			same(t, whole, sum)
		}
	})
	require.Nil(t, Thin(nil, 5))
	require.Nil(t, new(Pyramid).View(0, 10, 5, nil))
}

func BenchmarkPyramidAdd(b *testing.B) {
	x, d := make([]float64, 1<<16), NewDraw(1)
	for i := range x {
		x[i] = d.Normal()
	}
	for b.Loop() {
		var p Pyramid
		p.Add(x...)
	}
	b.ReportMetric(float64(len(x)*b.N)/b.Elapsed().Seconds(), "samples/s")
}

// A view of two thousand bins of ten million samples, a day at 100 a second and more.
func BenchmarkPyramidView(b *testing.B) {
	var p Pyramid
	d := NewDraw(1)
	for range 10_000_000 {
		p.Add(d.Uniform())
	}
	for b.Loop() {
		p.View(1234, 9_876_543, 2000, nil)
	}
}
