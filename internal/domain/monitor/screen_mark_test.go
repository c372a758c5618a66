package monitor

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
)

// A screening that goes on at a mark lists what one without a break lists.
func TestResumedScreenIsTheSame(t *testing.T) {
	t.Parallel()
	channels := []ScreenChannel{{Name: "web", Kind: WebGauge, Low: -5, High: 5}, {Name: "air", Kind: Thermometer}, {Name: "slip", Kind: Displacement}}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 4000).Draw(t, "rows")
		cut := rapid.IntRange(0, n-1).Draw(t, "cut")
		odd := rapid.IntRange(3, 90).Draw(t, "odd")
		feed := func(s *Screen, from, to int) {
			for i := from; i < to; i++ {
				at := int64(i) * 10e6
				if i%odd == 0 {
					at -= int64(i%5) * 8e6 // uneven, twice, back
				}
				if i > n/2 {
					at += 3e9 // a gap
				}
				v := []float64{float64(i%13) - 6, float64(i / 1500), math.Sin(float64(i)) * 3}
				if i%odd < 3 {
					v[i%3] = math.NaN()
				}
				s.Row(i+2, at, v)
			}
		}
		whole := NewScreen(basis.Basis{}, 100, channels)
		feed(whole, 0, n)
		first, second := NewScreen(basis.Basis{}, 100, channels), NewScreen(basis.Basis{}, 100, channels)
		feed(first, 0, cut)
		k, err := first.Mark()
		if err != nil {
			t.Fatal(err)
		}
		if err := second.Resume(k); err != nil {
			t.Fatal(err)
		}
		feed(second, cut, n)
		if a, b := fmt.Sprintf("%+v", whole.Close()), fmt.Sprintf("%+v", second.Close()); a != b {
			t.Fatalf("whole  %s\nresumed %s", a, b)
		}
	})
	if err := NewScreen(basis.Basis{}, 100, channels).Resume([]byte("no mark")); err == nil {
		t.Fatal("a mark that is none is taken")
	}
}
