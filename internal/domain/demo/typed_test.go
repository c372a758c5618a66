package demo

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// What is kept as typed must read back to the stored value, or a page would show
// a number of its own instead.
func TestTypedTextsReadBackToWhatIsStored(t *testing.T) {
	t.Parallel()
	s := record(t)
	seen := 0
	check := func(where string, typed repair.Typed, stored map[string]float64) {
		t.Helper()
		for column, text := range typed {
			kind := units.Lengths
			switch {
			case strings.HasSuffix(column, "_n"):
				kind = units.Forces
			case strings.HasSuffix(column, "_mpa"):
				kind = units.Stresses
			}
			v, err := kind.Parse(text, units.US)
			require.NoError(t, err, "%s %s", where, column)
			want, ok := stored[column]
			require.True(t, ok, "%s %s", where, column)
			require.Equal(t, want, v, "%s %s %q", where, column, text)
			seen++
		}
	}
	for _, r := range s.Ends {
		check(r.End.Name, r.End.Typed, map[string]float64{"reaction_n": float64(r.End.Reaction), "fy_mpa": float64(r.End.Fy)})
		for _, d := range r.Designs {
			check(r.End.Name, d.Typed, map[string]float64{"fc_mpa": float64(d.Fc)})
		}
	}
	for _, b := range s.Batches {
		stored := map[string]float64{"flow_mm": float64(*b.Flow)}
		if b.Flow1 != nil {
			stored["flow_1_mm"], stored["flow_2_mm"] = float64(*b.Flow1), float64(*b.Flow2)
		}
		check("batch", b.Typed, stored)
	}
	for _, x := range s.Specimens {
		if x.BrokenAt != nil {
			check(x.Mark, x.Typed, map[string]float64{"load_n": float64(*x.Load), "width_mm": float64(*x.Width), "depth_mm": float64(*x.Depth)})
		}
	}
	require.Greater(t, seen, 400)
}
