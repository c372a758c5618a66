package repair_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/units"
)

// The fatigue truck is known once the demand comes by statics, and the studs of a
// design are then shown under its range; they decide nothing.
func TestStudsAreShownUnderTheLoadThatRepeats(t *testing.T) {
	t.Parallel()
	layout := encasement.Design{StudDiameter: 0.75 * units.Inch, StudHeight: 4 * units.Inch, StudFu: 65 * units.Ksi, Fc: 18 * units.Ksi,
		Panel: encasement.Panel{Width: 16 * units.Inch, Height: 26 * units.Inch, ThicknessLeft: 5 * units.Inch, ThicknessRight: 5 * units.Inch}}
	studs, err := encasement.Pattern{Rows: 4, Columns: 2, X: 4 * units.Inch, Z: 6 * units.Inch, PitchX: 5 * units.Inch, PitchZ: 5 * units.Inch, Left: true, Right: true}.Studs()
	require.NoError(t, err)
	layout.Studs = studs
	keyed := func(s *story, key string) (calc.Check, bool) {
		ev := s.Ends[1].EvaluateDraft(s.Scope, layout, nil)
		i := slices.IndexFunc(ev.Checks, func(c calc.Check) bool { return c.Key == key })
		if i < 0 {
			return calc.Check{}, false
		}
		return ev.Checks[i], true
	}
	_, shown := keyed(fourGirders(t), "stud.fatigue_aashto")
	require.False(t, shown, "nobody knows the range of a total that was entered")
	s := byStatics(t)
	c, shown := keyed(s, "stud.fatigue_aashto")
	require.True(t, shown)
	require.Equal(t, calc.Informs, c.Verdict)
	require.Positive(t, c.Demand)
}
