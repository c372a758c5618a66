package sequence

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func texts(ds []Difference) []string {
	var out []string
	for _, d := range ds {
		out = append(out, d.Step+" "+d.Text)
	}
	return out
}

// moveTo takes a step out of its place and puts it at another.
func moveTo(steps []Step, from, to int) []Step {
	out := append([]Step(nil), steps...)
	s := out[from]
	out = append(out[:from], out[from+1:]...)
	out = append(out[:to], append([]Step{s}, out[to:]...)...)
	for i := range out {
		out[i].Order = i + 1
	}
	return out
}

func TestDifferencesSayWhatAnEditDoes(t *testing.T) {
	t.Parallel()
	old := DefaultSequence()
	require.Empty(t, Differences(old, old))

	edited := moveTo(old, 9, 2)
	require.Equal(t, []string{"Released for casting moves from place 10 to place 3"}, texts(Differences(old, edited)))

	edited = append([]Step(nil), old...)
	edited[0].Name = "Platform up"
	edited[1].Hold, edited[1].Releaser = true, []Role{Engineer}
	edited[3].Hold, edited[3].Releaser = false, nil
	edited[5].Releaser = []Role{Engineer}
	edited[6].AppliesToAll = true
	edited[7].Performer = []Role{Inspector}
	edited[8].Window = ""
	edited[10].Requires = append(append([]Requirement(nil), edited[10].Requires...), Requirement{Condition: TickList, Text: "hoses blown out"})
	edited = append(edited[:15], edited[16:]...)
	edited = append(edited, Step{Order: 90, Name: "Painted"})
	require.Equal(t, []string{
		`Platform up was called "Access set"`,
		"Cleaned becomes a hold that owner's engineer releases",
		"Design confirmed or revised is no longer a hold",
		"Collars accepted is released by owner's engineer, no longer by inspector or owner's engineer",
		"Gauges installed is for every end, no longer for chosen ones only",
		"Deck cored is completed by inspector, no longer by contractor",
		"Form fitted, sealed, locked needs no window, no longer a window of the end's own access",
		"Cast asks for a tick list: hoses blown out",
		"Painted is added at place 17",
		"Load path verified is retired; what was done under it stays on record",
	}, texts(Differences(old, edited)))

	retired := append([]Step(nil), old...)
	retired[15].Retired = true
	require.Equal(t, []string{"Load path verified is brought back at place 16"}, texts(Differences(retired, old)))
}

// One step moved anywhere is one move, and any order is told by at most one move
// a step.
func TestOneMoveIsOneDifference(t *testing.T) {
	t.Parallel()
	old := DefaultSequence()
	rapid.Check(t, func(t *rapid.T) {
		from, to := rapid.IntRange(0, len(old)-1).Draw(t, "from"), rapid.IntRange(0, len(old)-1).Draw(t, "to")
		n := 1
		if from == to {
			n = 0
		}
		require.Len(t, Differences(old, moveTo(old, from, to)), n)
	})
}

func TestStepThatNamesAnAccessWaitsForItsWindow(t *testing.T) {
	t.Parallel()
	steps := []Step{{ID: "a", Code: "A", Order: 1, Name: "A", Performer: []Role{Inspector}, AppliesToAll: true, Window: "track closure"}}
	_, blocked := Evaluate(steps, Facts{Window: Window{Granted: true}}).First()
	require.False(t, blocked, "a program without windows of that kind asks for none")
	f := Facts{Window: Window{Granted: true}, Windows: map[string]Window{"track closure": {}}}
	b, blocked := Evaluate(steps, f).First()
	require.True(t, blocked)
	require.Equal(t, WindowNotGranted, b.Reason)
	f.Windows["track closure"] = Window{Granted: true}
	_, blocked = Evaluate(steps, f).First()
	require.False(t, blocked)
}
