package repair

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/sequence"
)

// TestWindowFact reads windows the way a superintendent does: what was worked is
// over, what is granted may still be worked.
func TestWindowFact(t *testing.T) {
	t.Parallel()
	day := func(n int) time.Time { return time.Date(2030, 6, n, 22, 0, 0, 0, time.UTC) }
	night := func(n int, state string) Window {
		return Window{ID: state, Kind: "night", StartsAt: day(n), State: state, Reason: state + " for a reason"}
	}
	for name, c := range map[string]struct {
		windows []Window
		want    sequence.Window
	}{
		"none kept":                            {nil, sequence.Window{Granted: true}},
		"planned only":                         {[]Window{night(1, "planned")}, sequence.Window{}},
		"granted":                              {[]Window{night(1, "used"), night(3, "granted"), night(2, "granted")}, sequence.Window{Granted: true, Start: day(2)}},
		"granted and forgotten":                {[]Window{night(1, "granted"), night(2, "used")}, sequence.Window{}},
		"shortened, still to come":             {[]Window{night(1, "used"), night(2, "shortened")}, sequence.Window{Granted: true, Start: day(2)}},
		"shortened and over":                   {[]Window{night(1, "shortened"), night(2, "used")}, sequence.Window{}},
		"lost last":                            {[]Window{night(1, "used"), night(2, "lost")}, sequence.Window{Lost: true, Why: "lost for a reason", Since: day(2)}},
		"lost before one that was used":        {[]Window{night(1, "lost"), night(2, "used")}, sequence.Window{}},
		"a later one lost leaves the next one": {[]Window{night(1, "granted"), night(9, "lost")}, sequence.Window{Granted: true, Start: day(1)}},
		"another kind":                         {[]Window{{ID: "x", Kind: "boat", StartsAt: day(1), State: "granted"}}, sequence.Window{}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			require.Equal(t, c.want, (&Scope{Windows: c.windows}).windowFact("night"))
		})
	}
	require.True(t, (&Scope{Windows: []Window{night(1, "planned")}}).windowFact(OpenAccess).Granted)
}

func TestSetWindowsIsAllOrNothingToTheReader(t *testing.T) {
	t.Parallel()
	start := time.Date(2030, 6, 1, 22, 0, 0, 0, time.UTC)
	good := Window{Kind: "night", StartsAt: start, EndsAt: start.Add(time.Hour), State: "planned"}
	bad := good
	bad.State = "lost" // without party and reason
	n := 0
	c := Context{NewID: func() string { n++; return string(rune('a' + n)) }}
	s := &Scope{}
	require.NoError(t, SetWindows{Windows: []Window{good, good}}.Apply(s, c))
	require.Len(t, s.Windows, 2)
	require.NotEqual(t, s.Windows[0].ID, s.Windows[1].ID)
	err := SetWindows{Windows: []Window{good, bad}}.Apply(s, c)
	require.ErrorContains(t, err, "window 2")
	require.Error(t, SetWindows{}.Apply(s, c))
}

// Where a casting is open, work is going on: the end waits for no window, lost or not.
func TestAnOpenCastingWaitsForNoWindow(t *testing.T) {
	t.Parallel()
	r := &Record{End: End{ID: "e", Access: "night"}}
	s := &Scope{Ends: []*Record{r}, Windows: []Window{{ID: "w", Kind: "night", State: WindowLost, Reason: "storm", StartsAt: time.Date(2030, 5, 1, 22, 0, 0, 0, time.UTC)}},
		Pours: []Pour{{ID: "p", Open: true}}, PourEnds: []PourEnd{{ID: "pe", PourID: "p", EndID: "e"}}}
	require.False(t, s.windowFact("night").Granted)
	f, err := r.Facts(s)
	require.NoError(t, err)
	require.True(t, f.Window.Granted)
	s.Pours[0].Open = false
	f, err = r.Facts(s)
	require.NoError(t, err)
	require.True(t, f.Window.Lost)
}
