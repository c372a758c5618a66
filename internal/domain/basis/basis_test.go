package basis

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestADefaultThatIsConfirmedIsNoChange(t *testing.T) {
	t.Parallel()
	b := Basis{}
	for _, d := range Definitions() {
		same, err := b.With(d.Key, d.Default)
		require.NoError(t, err, d.Key)
		require.Empty(t, same.Changed(), d.Key)
		if d.Max > d.Default {
			moved, err := b.With(d.Key, d.Max)
			require.NoError(t, err, d.Key)
			require.Len(t, moved.Changed(), 1)
			back, err := moved.With(d.Key, d.Default)
			require.NoError(t, err)
			require.Empty(t, back.Changed())
			require.Len(t, moved.Changed(), 1, "the basis before is as it was")
		}
		for _, v := range []float64{math.NaN(), d.Min - 1, d.Max + 1, math.Inf(1)} {
			_, err := b.With(d.Key, v)
			require.ErrorContains(t, err, d.Name)
		}
	}
	_, err := b.With("no.such", 1)
	require.Error(t, err)
}

func TestAWatchedBasisSaysWhatWasRead(t *testing.T) {
	t.Parallel()
	all := Definitions()
	seen := map[Key]bool{}
	b := Basis{}.Watched(seen)
	require.Equal(t, all[0].Default, b.Value(all[0].Key))
	moved, err := b.With(all[1].Key, all[1].Max)
	require.NoError(t, err)
	require.Equal(t, all[1].Max, moved.Value(all[1].Key))
	require.Equal(t, map[Key]bool{all[0].Key: true, all[1].Key: true}, seen)
	require.Equal(t, all[2].Default, Basis{}.Value(all[2].Key))
	require.Len(t, seen, 2, "who is not watched leaves no trace")
}
