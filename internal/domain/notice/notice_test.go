package notice_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/notice"
)

func facts() notice.Facts {
	return notice.Facts{Role: "owner's engineer", Decides: true, Reviews: 4, Ends: []string{"1N-1", "1N-2"}, EndsAll: 5, Late: 1, Due: 6,
		Waits: []notice.Waits{{Words: "a hold is not released", Reason: "hold_not_released", Count: 1, First: "3N-1", Days: 12}},
		Windows: []notice.Window{{Words: "Lane closure, Sat 22:00", In: 20*time.Hour + 30*time.Minute, State: "planned", Unsaid: []string{"lane closed", "watchman", "power isolated"}},
			{Words: "Track possession, Mon", In: 60 * time.Hour, State: "granted", Blocked: []string{"2F-1"}}, {Words: "whole", In: time.Hour, State: "granted"}, {Words: "far", In: 73 * time.Hour, State: "planned"}}}
}

func TestWhatIsTold(t *testing.T) {
	t.Parallel()
	var got []string
	for _, i := range notice.List(facts(), notice.Kinds()) {
		mark := "- "
		if i.Urgent {
			mark = "! "
		}
		got = append(got, mark+i.Text)
	}
	require.Equal(t, []string{
		"! Lane closure, Sat 22:00, in 20 hours: it is not granted yet; not confirmed: lane closed, watchman and power isolated",
		"! the approved design is out of date at 5 ends: 1N-1 and 1N-2 and 3 more",
		"! 1 specimen is late: the window of the break has closed",
		"- Track possession, Mon, in 2 days: chosen ends that something stops: 2F-1",
		"- 6 specimens are due now",
		"- 4 designs wait for review",
		"- 1 end waits for the owner's engineer: a hold is not released; 3N-1 longest, 12 days",
	}, got)
	require.Empty(t, notice.List(notice.Facts{}, notice.Kinds()))
}

// Nothing that was not chosen is told, and every subject has words.
func TestOnlyWhatWasChosen(t *testing.T) {
	t.Parallel()
	for _, k := range notice.Kinds() {
		require.True(t, k.Known())
		require.NotEqual(t, string(k), k.Words())
		list := notice.List(facts(), []notice.Kind{k})
		require.NotEmpty(t, list)
		for _, i := range list {
			require.Equal(t, k, i.Kind)
		}
	}
	require.False(t, notice.Kind("gossip").Known())
	require.Empty(t, notice.List(facts(), nil))
}

func TestLetter(t *testing.T) {
	t.Parallel()
	subject, body := notice.Letter("Ada", "2027-07-16", []notice.Told{{Program: "Quiet"}, {Program: "Viaduct", Lines: []notice.Line{
		{notice.Item{Text: "1 specimen is late", Urgent: true}, "https://x/p/v/laboratory"}, {notice.Item{Text: "2 designs wait for review"}, "https://x/p/v/reviews"}}}}, "https://x/account#notices")
	require.Equal(t, "2 things for you on 2027-07-16, 1 pressing", subject)
	require.Contains(t, body, "\nViaduct\n! 1 specimen is late.\n  https://x/p/v/laboratory\n- 2 designs wait for review.\n")
	require.NotContains(t, body, "Quiet")
	require.Contains(t, body, "https://x/account#notices")
	subject, body = notice.Letter("Ada", "2027-07-16", []notice.Told{{Program: "Quiet"}}, "")
	require.Empty(t, subject+body)
}

// The pauses grow, are bounded, and span a working day, so that a mail server that is
// down over night loses nothing.
func TestPauses(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(-3, 1000).Draw(t, "tries")
		require.LessOrEqual(t, notice.Pause(n), notice.Pause(n+1))
		require.GreaterOrEqual(t, notice.Pause(n), 5*time.Minute)
		require.LessOrEqual(t, notice.Pause(n), 4*time.Hour)
	})
	all := time.Duration(0)
	for n := 1; n < notice.MostTries; n++ {
		all += notice.Pause(n)
	}
	require.Greater(t, all, 16*time.Hour)
}
