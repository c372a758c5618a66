package drawing

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestNightToScale(t *testing.T) {
	t.Parallel()
	at := func(h, m int) time.Time { return time.Date(2027, 7, 17, h, m, 0, 0, time.UTC) }
	d := NightData{Starts: at(10, 0), Ends: at(16, 0), SetupMin: 60, HandoverMin: 30, CutMin: 60,
		Crews: []NightCrew{{"Steel", []NightBar{{"1N-1", "Studs welded", at(11, 0), at(13, 0)}, {"1N-2", "Studs welded, and much more than its bar can hold in letters", at(13, 0), at(13, 30)}}}, {"Idle", nil}}}
	l := layNight(d, 660)
	var worked, aside []string
	for _, s := range l.shapes {
		if s.Class == "worked" {
			worked = append(worked, s.D)
		} else {
			aside = append(aside, s.D)
		}
	}
	require.Len(t, worked, 2)
	require.Len(t, aside, 3, "set-up, hand-back before the cut, and the cut")
	left := wide("Steel", 12.5) + 14
	require.True(t, strings.HasPrefix(worked[0], "M"+n(left+(660-left-2)/6)+" "), worked[0])
	require.Contains(t, l.desc, "Steel, 11:00 to 13:00: 1N-1, Studs welded. ")
	require.Contains(t, l.desc, "Idle: nothing to do.")
	for _, x := range l.texts {
		require.NotContains(t, x.Text, "letters", "a text never leaves its bar")
	}
	raw, doc := render(t, Night(d))
	require.NotContains(t, raw, "NaN")
	require.Len(t, find(doc, ".dwg-wide path.worked"), 2)
}
