package units

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// FuzzParse feeds every kind the same text: whatever is typed gives a finite
// value or an *Error, and a value that is accepted can be shown and typed again.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"0.3125", "5/16", "1-1/4 in", "2'-6 1/2\"", "12°30'15\"", "1,234.5", "7,9 mm", "40 kip",
		"10^6 mm4", "1e300 ft", "\xff", "½", "-°", "2 ft2", "1 1/", "3' -", "٣ in", "deg", "5 10^-6/F"} {
		f.Add(s, true)
		f.Add(s, false)
	}
	f.Fuzz(func(t *testing.T, s string, si bool) {
		sys := US
		if si {
			sys = SI
		}
		for k := range kindCount {
			v, err := k.Parse(s, sys)
			if err != nil {
				e, ok := errors.AsType[*Error](err)
				require.True(t, ok)
				require.NotEmpty(t, e.Error())
				require.LessOrEqual(t, len(e.Typed), 3*longest)
				continue
			}
			require.False(t, math.IsNaN(v) || math.IsInf(v, 0))
			require.NotEmpty(t, k.Format(v, sys, -1))
			require.NotEmpty(t, k.Working(v, sys))
			if math.Abs(v) > 1e15 || math.Abs(v) < 1e-12 {
				continue // no quantity of this work; digits may run past the longest text
			}
			again, err := k.Parse(k.Exact(v, sys), sys)
			require.NoError(t, err)
			require.InDelta(t, v, again, 1e-9*math.Max(20, math.Abs(v)))
		}
	})
}
