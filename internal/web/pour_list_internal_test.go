package web

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/ui"
)

// A list tells the least of sets that say the same, and never hides one that says
// another thing.
func TestAListTellsTheLeastOfItsSets(t *testing.T) {
	t.Parallel()
	set := func(ksi float64, hours float64, duty uhpc.Duty, mark ui.State, text string) setReading {
		return setReading{set: uhpc.Set{Cure: uhpc.FieldCure, Duty: duty, NominalHours: hours}, stats: uhpc.Stats{Broken: 3, Counted: 3, Mean: units.Stress(ksi) * units.Ksi},
			against: "of 14.00 ksi to strip", mark: ui.Mark{State: mark, Text: text}}
	}
	c := &castReader{sys: units.US}
	got := c.leastSets([]setReading{
		set(16.5, 96, uhpc.QualityControl, ui.Good, "reached"), set(15.9, 96, uhpc.QualityControl, ui.Good, "reached"),
		set(13.6, 96, uhpc.QualityControl, ui.Stop, "below"), set(16.1, 96, uhpc.Verification, ui.Good, "reached"),
		set(19.0, 168, uhpc.QualityControl, ui.Good, "reached"), {set: uhpc.Set{NominalHours: 672}, mark: ui.Mark{State: ui.Wait}},
	})
	var lines []string
	for _, x := range got {
		lines = append(lines, x.Age+" "+x.Value+" "+x.Mark.Text)
	}
	require.Equal(t, []string{"4 d 15.90\u00a0ksi, least of 2 sets reached", "4 d 13.60\u00a0ksi below", "4 d 16.10\u00a0ksi reached", "7 d 19.00\u00a0ksi reached"}, lines)
}
