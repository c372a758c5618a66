package sequence

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestValidateNamesEveryProblem(t *testing.T) {
	t.Parallel()
	good := func() Step {
		return Step{ID: "a", Code: "A", Order: 1, Name: "A", Performer: []Role{Inspector}, AppliesToAll: true}
	}
	cases := []struct {
		name   string
		change func(*Step)
		field  string
	}{
		{"no id", func(s *Step) { s.ID = "" }, "id"},
		{"no name", func(s *Step) { s.Name = "  " }, "name"},
		{"no code", func(s *Step) { s.Code = "" }, "code"},
		{"code too long", func(s *Step) { s.Code = "ABCDEFGHIJKLMNOPQ" }, "code"},
		{"nobody does it", func(s *Step) { s.Performer = nil }, "performer"},
		{"a role of no one", func(s *Step) { s.Performer = []Role{"captain"} }, "performer"},
		{"a hold nobody lifts", func(s *Step) { s.Hold = true }, "releaser"},
		{"a condition of no one", func(s *Step) { s.Requires = []Requirement{{Condition: "moon_phase"}} }, "requires"},
		{"no strength", func(s *Step) { s.Requires = []Requirement{{Condition: StrengthReached}} }, "requires"},
		{"strength not a number", func(s *Step) { s.Requires = []Requirement{{Condition: StrengthReached, Value: math.NaN()}} }, "requires"},
		{"age not a number", func(s *Step) {
			s.Requires = []Requirement{{Condition: StrengthReached, Value: 100, AgeDays: math.Inf(1)}}
		}, "requires"},
		{"empty list", func(s *Step) { s.Requires = []Requirement{{Condition: TickList, Text: " \n "}} }, "requires"},
		{"twice the same", func(s *Step) {
			s.Requires = []Requirement{{Condition: PourRecorded}, {Condition: PourRecorded}}
		}, "requires"},
	}
	for _, c := range cases {
		s := good()
		c.change(&s)
		var v *Invalid
		require.ErrorAs(t, Validate([]Step{s}), &v, c.name)
		require.Equal(t, c.field, v.Problems[0].Field, c.name)
		require.NotEmpty(t, v.Error())
	}
	require.NoError(t, Validate([]Step{good()}))

	twin := good()
	twin.ID, twin.Code = "b", "a"
	var v *Invalid
	require.ErrorAs(t, Validate([]Step{good(), twin}), &v)
	require.Len(t, v.Problems, 2, "code and order are both taken")
	twin.Retired = true
	require.NoError(t, Validate([]Step{good(), twin}))
	require.Error(t, Validate(nil))
	require.Error(t, Validate([]Step{twin}), "all retired")
}

func TestAStepAddedLaterDoesNotCallAnEndBack(t *testing.T) {
	t.Parallel()
	old := DefaultSequence()
	past := upTo(old, ready(), "cored")
	before := upTo(old, ready(), "measured")
	edited := DefaultSequence()
	for i := range edited {
		edited[i].Order *= 10
	}
	edited = append(edited, Step{ID: "salts", Code: "SLT", Order: 35, Name: "Salts tested", Performer: []Role{Inspector}, AppliesToAll: true})
	steps, err := Revise(old, edited, after(20))
	require.NoError(t, err)

	require.Equal(t, "cored", Evaluate(steps, past).Current.ID)
	require.Equal(t, PassedBefore, find(Stand(steps, past), "salts").State)
	var r *Refusal
	require.ErrorAs(t, CanComplete(steps, past, "salts", Person{"x", Inspector}), &r)
	require.Equal(t, NotAsked, r.Why)

	before = finish(before, step(t, old, "measured"), after(21))
	require.Equal(t, "salts", Evaluate(steps, before).Current.ID)
}

func TestAStepThatBecomesAHoldKeepsItsCompletions(t *testing.T) {
	t.Parallel()
	old := DefaultSequence()
	f := upTo(old, ready(), "cured")
	edited := DefaultSequence()
	for i := range edited {
		if edited[i].ID == "cored" {
			edited[i].Hold, edited[i].Releaser = true, []Role{Engineer}
		}
	}
	steps, err := Revise(old, edited, after(60))
	require.NoError(t, err)
	require.Equal(t, "cured", Evaluate(steps, f).Current.ID)

	fresh := upTo(old, ready(), "cored")
	fresh.Records = append(fresh.Records, Record{StepID: "cored", Kind: Completed, By: "x", At: after(61)})
	require.Equal(t, Requested, Evaluate(steps, fresh).CurrentState)
}

func TestADroppedStepIsRetiredAndStaysReadable(t *testing.T) {
	t.Parallel()
	old := DefaultSequence()
	f := upTo(old, ready(), "form")
	edited := DefaultSequence()[:7] // drops everything from coring on
	steps, err := Revise(old, edited, after(20))
	require.NoError(t, err)
	require.Len(t, steps, 17)
	st := Evaluate(steps, f)
	require.True(t, st.Closed)
	s := find(st.All, "cored")
	require.Equal(t, RetiredStep, s.State)
	require.NotNil(t, s.Completed)

	again, err := Revise(steps, DefaultSequence(), after(30))
	require.NoError(t, err)
	require.Equal(t, "form", Evaluate(again, f).Current.ID, "what was done before the step was retired counts again")
}
