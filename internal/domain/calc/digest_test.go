package calc

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/units"
)

type inputs struct {
	Depth   units.Length
	Ratio   float64
	Name    string
	Holes   []float64
	Factors map[string]float64
	At      time.Time
	Next    *inputs
	Skipped string `json:"-"`
}

func TestDigest(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	base := func() inputs {
		return inputs{Depth: 914.4, Ratio: math.Inf(1), Name: "2F-3", Holes: []float64{1, 2},
			Factors: map[string]float64{"a": 1, "b": 2, "c": math.NaN()}, At: at, Next: &inputs{Depth: 1}}
	}
	want := Digest(base())
	require.Len(t, want, 64)
	for range 50 { // maps are walked in a random order
		require.Equal(t, want, Digest(base()))
	}
	same := base()
	same.Skipped = "not a part of the value"
	require.Equal(t, want, Digest(same))
	require.Equal(t, want, Digest(&same), "a pointer stands for what it points to")
	require.Equal(t, Digest([]int(nil)), Digest([]int{}), "nothing is nothing, however it came from storage")
	require.Equal(t, Digest(0.0), Digest(math.Copysign(0, -1)))

	for name, change := range map[string]func(*inputs){
		"length": func(v *inputs) { v.Depth = units.Length(math.Nextafter(914.4, 1000)) },
		"inf":    func(v *inputs) { v.Ratio = math.Inf(-1) },
		"nan":    func(v *inputs) { v.Ratio = math.NaN() },
		"text":   func(v *inputs) { v.Name += " " },
		"order":  func(v *inputs) { v.Holes = []float64{2, 1} },
		"split":  func(v *inputs) { v.Holes = []float64{12} },
		"key":    func(v *inputs) { v.Factors["d"] = 0 },
		"time":   func(v *inputs) { v.At = at.Add(1) },
		"nested": func(v *inputs) { v.Next.Depth = 2 },
		"nil":    func(v *inputs) { v.Next = nil },
	} {
		v := base()
		change(&v)
		require.NotEqual(t, want, Digest(v), name)
	}
	// SHA-256 of the text null, by sha256sum.
	require.Equal(t, "74234e98afe7498fb5daf1f36ac2d78acc339464f950703b8c019892f982b90b", Digest(nil))
}

func TestDigestRefusesWhatItCannotSee(t *testing.T) {
	t.Parallel()
	require.PanicsWithValue(t, "calc: digest of calc.Pad: field lines is not exported", func() { Digest(Pad{}) })
	require.Panics(t, func() { Digest(func() {}) })
	require.Panics(t, func() { Digest(Line{Kind: 9}) })
}

func TestDigestTellsNumbersApart(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64().Draw(t, "a"), rapid.Float64().Draw(t, "b")
		require.Equal(t, a == b, Digest(a) == Digest(b))
		require.NotEqual(t, Digest([]float64{a, b}), Digest([]any{[]float64{a}, b}))
	})
}
