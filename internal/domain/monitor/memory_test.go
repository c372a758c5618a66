package monitor

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// What an Analyzer holds depends on rate and channels and not on how long it runs.
func TestMemoryDoesNotGrow(t *testing.T) {
	t.Parallel()
	run := func(seconds int) int {
		p := testParams()
		a, err := NewAnalyzer(p, 50, []Channel{{Role: RoleWeb, Sign: -1, Columns: []int{0}}, {Role: RoleControl, Sign: 1, Columns: []int{1}}},
			[]Set{{Web: 0, Control: 1, Panel: -1, Stud: -1, Slip: -1, Temperature: -1}},
			Sinks{Passage: func(Passage) {}, Event: func(Event) {}, Level: func(Level) {}})
		require.NoError(t, err)
		d, row := NewDraw(4), make([]float64, 2)
		for i := range seconds * 50 {
			row[0], row[1] = d.Normal(), d.Normal()
			if i%400 < 50 { // a truck every 8 s
				row[0], row[1] = row[0]-100, row[1]+120
			}
			if i > 100_000 { // the control gauge hangs
				row[1] = 500
			}
			require.NoError(t, a.Row(int64(i)*20e6, row))
		}
		held := cap(a.traffic.wait) + cap(a.grid.wait)
		for _, w := range a.pending {
			held += cap(w)
		}
		for c := range a.tracks {
			held += cap(a.tracks[c].events) + len(a.tracks[c].ring) + cap(a.bench.lines[c].y) + cap(a.levels.value[c])
		}
		return held
	}
	// Both are past the first hour, when every buffer has had its largest.
	require.LessOrEqual(t, run(12_000), run(5000)*5/4)
}
