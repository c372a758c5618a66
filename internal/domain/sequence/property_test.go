package sequence

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/authz"
)

// drawSteps makes any valid sequence without requirements beyond the order.
func drawSteps(t *rapid.T) []Step {
	n := rapid.IntRange(1, 12).Draw(t, "steps")
	roles := authz.Roles()
	var out []Step
	for i := range n {
		s := Step{
			ID: fmt.Sprintf("s%d", i), Code: fmt.Sprintf("C%d", i), Name: fmt.Sprintf("Step %d", i), Order: 10 * (i + 1),
			Performer:    []Role{rapid.SampledFrom(roles).Draw(t, "performer")},
			Hold:         rapid.Bool().Draw(t, "hold"),
			Releaser:     []Role{rapid.SampledFrom(roles).Draw(t, "releaser")},
			AppliesToAll: rapid.IntRange(0, 3).Draw(t, "all") > 0,
			Retired:      i > 0 && rapid.IntRange(0, 4).Draw(t, "retired") == 0,
		}
		if rapid.Bool().Draw(t, "asks") {
			s.Requires = []Requirement{{Condition: PreviousSteps}}
		}
		out = append(out, s)
	}
	return out
}

func drawFacts(t *rapid.T, steps []Step) Facts {
	f := Facts{Started: day0}
	kinds := []RecordKind{Completed, Completed, Released, Released, Returned, Reopened}
	for i := range rapid.IntRange(0, 25).Draw(t, "records") {
		s := rapid.SampledFrom(steps).Draw(t, "step")
		f.Records = append(f.Records, Record{StepID: s.ID, Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), By: "a",
			At: day0.Add(time.Duration(i) * time.Hour)})
	}
	for _, s := range steps {
		if !s.AppliesToAll && rapid.Bool().Draw(t, "chosen") {
			f.Chosen = append(f.Chosen, s.ID)
		}
	}
	return f
}

func position(s Status) int {
	if s.Current == nil {
		return 1 << 30
	}
	return s.Current.Order
}

// Completing or releasing a step never moves an end back, and never undoes one.
func TestProgressNeverMovesBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		steps := drawSteps(t)
		require.NoError(t, Validate(steps))
		f := drawFacts(t, steps)
		before := Evaluate(steps, f)
		s := rapid.SampledFrom(steps).Draw(t, "act")
		kind := Completed
		err := CanComplete(steps, f, s.ID, Person{"x", s.Performer[0]})
		if err != nil {
			kind = Released
			err = CanRelease(steps, f, s.ID, Person{"y", s.Releaser[0]})
		}
		if err != nil {
			return
		}
		g := f
		g.Records = append(append([]Record(nil), f.Records...), Record{StepID: s.ID, Kind: kind, By: "x", At: day0.AddDate(1, 0, 0)})
		after := Evaluate(steps, g)
		require.GreaterOrEqual(t, position(after), position(before))
		require.GreaterOrEqual(t, len(after.Done), len(before.Done))
		require.GreaterOrEqual(t, after.Share(), before.Share())
		for _, d := range before.Done {
			require.Equal(t, Done, find(after.All, d.Step.ID).State)
		}
	})
}

// Nobody gets past a hold: a step may be completed only when every earlier hold
// that is asked of the end is released.
func TestNobodyPassesAHold(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		steps := drawSteps(t)
		f := drawFacts(t, steps)
		s := rapid.SampledFrom(steps).Draw(t, "act")
		if CanComplete(steps, f, s.ID, Person{"x", s.Performer[0]}) != nil {
			return
		}
		for _, p := range Stand(steps, f) {
			if p.Step.Order < s.Order && p.Step.Hold {
				require.False(t, p.waits(), "%s passed %s", s.ID, p.Step.ID)
			}
		}
	})
}

// The order of the steps is the order of the answer, whatever the order in which
// they are stored, and a retired step neither blocks nor is current.
func TestOrderIsKeptAndRetiredStepsNeverBlock(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		steps := drawSteps(t)
		f := drawFacts(t, steps)
		a := Evaluate(steps, f)
		b := Evaluate(rapid.Permutation(steps).Draw(t, "stored"), f)
		require.Equal(t, a, b)
		for i := 1; i < len(a.All); i++ {
			require.Less(t, a.All[i-1].Step.Order, a.All[i].Step.Order)
		}
		if a.Current != nil {
			require.False(t, a.Current.Retired)
			if a.Next != nil {
				require.Less(t, a.Current.Order, a.Next.Order)
				require.False(t, a.Next.Retired)
			}
		}
		var live []Step
		for _, s := range steps {
			if !s.Retired {
				live = append(live, s)
			}
		}
		c := Evaluate(live, f)
		require.Equal(t, c.Blocks, a.Blocks)
		require.Equal(t, position(c), position(a))
	})
}

// An edit of the sequence keeps every finished step finished, and calls no end
// back to a step that it adds.
func TestAnEditKeepsWhatWasDone(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		steps := drawSteps(t)
		f := drawFacts(t, steps)
		before := Evaluate(steps, f)
		edited := append([]Step(nil), steps...)
		for i := range edited {
			if rapid.IntRange(0, 3).Draw(t, "toggle hold") == 0 {
				edited[i].Hold = !edited[i].Hold
			}
		}
		edited = append(edited, Step{ID: "new", Code: "NEW", Name: "New", Order: 10*rapid.IntRange(0, len(steps)).Draw(t, "place") + 5,
			Performer: []Role{Inspector}, AppliesToAll: true})
		revised, err := Revise(steps, edited, day0.AddDate(0, 6, 0))
		require.NoError(t, err)
		after := Evaluate(revised, f)
		for _, d := range before.Done {
			require.Equal(t, Done, find(after.All, d.Step.ID).State)
		}
		if n := find(after.All, "new"); len(before.Done) > 0 && n.Step.Order < before.Done[len(before.Done)-1].Step.Order {
			require.Equal(t, PassedBefore, n.State)
		}
	})
}
