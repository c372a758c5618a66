package repair_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
)

// live is the steps in use, to be edited.
func (s *story) live() []sequence.Step {
	var out []sequence.Step
	for _, st := range s.Sequence() {
		if !st.Retired {
			out = append(out, st)
		}
	}
	return out
}

func TestSequenceEditNamesTheStepThatIsWrong(t *testing.T) {
	t.Parallel()
	s := begin(t)
	steps := append(s.live(), sequence.Step{Code: "acc", Order: 90})
	steps[2].Code = "ZZZ"
	err := s.do(authz.Administrator, repair.EditSequence{Steps: steps})
	var bad *fault.Invalid
	require.ErrorAs(t, err, &bad)
	for field, reason := range map[string]string{"s2.code": "stays MSR", "s17.name": "is empty", "s17.performer": "at least one role"} {
		require.NotNil(t, bad.Of(field), field)
		require.Contains(t, bad.Of(field).Reason, reason)
	}
	require.Contains(t, bad.Of("s17.code").Reason, "used twice")
}

func TestCodeOfARetiredStepIsNotGivenAgain(t *testing.T) {
	t.Parallel()
	s := begin(t)
	require.NoError(t, s.do(authz.Administrator, repair.EditSequence{Steps: s.live()[1:]}))
	require.True(t, s.Sequence()[0].Retired)
	again := append(s.live(), sequence.Step{Code: "ACC", Name: "Access", Order: 90, Performer: []sequence.Role{authz.Inspector}, AppliesToAll: true})
	require.ErrorContains(t, s.do(authz.Administrator, repair.EditSequence{Steps: again}), "code of a retired step")
	again[len(again)-1].Code = "ACX"
	require.NoError(t, s.do(authz.Administrator, repair.EditSequence{Steps: again}))
}

func TestEditsOfSettingsAreRefusedWhenTheseMoved(t *testing.T) {
	t.Parallel()
	s := begin(t)
	start := noon.Add(24 * time.Hour)
	require.NoError(t, s.do(authz.Engineer, repair.SetWindow{Window: repair.Window{Kind: "ramp", StartsAt: start, EndsAt: start.Add(time.Hour), State: repair.WindowPlanned}}))
	win := s.Windows[0]
	seq, title, setting, window := s.SequenceDigest(), s.Program.TitleDigest(), s.SettingDigest(string(basis.WebPhiYielding)), win.Digest()

	steps := s.live()
	steps[0].Name = "Platform up"
	prog := s.Program
	prog.Owner = "County"
	win.State = repair.WindowGranted
	edits := func() []repair.Change {
		return []repair.Change{
			repair.EditSequence{Steps: steps, From: seq},
			repair.EditProgram{Program: prog, From: title},
			repair.EditBasis{Key: string(basis.WebPhiYielding), Value: 0.9, Typed: "0.9", Source: "letter", From: setting},
			repair.SetWindow{Window: win, From: window},
		}
	}
	for _, ch := range edits() {
		require.NoError(t, s.do(authz.Administrator, ch), ch.Kind())
	}
	for _, ch := range edits() {
		require.ErrorIs(t, s.do(authz.Administrator, ch), fault.Conflict, ch.Kind())
	}
	seq, title, setting, window = "", "", "", ""
	for _, ch := range edits() {
		require.NoError(t, s.do(authz.Administrator, ch), "%s without a word of what it was made from", ch.Kind())
	}
}

func TestWindowsThatCannotBe(t *testing.T) {
	t.Parallel()
	s := begin(t)
	good := repair.Window{Kind: "ramp", StartsAt: noon, EndsAt: noon.Add(10 * time.Hour), ProductiveH: 8, State: repair.WindowPlanned}
	for field, change := range map[string]func(*repair.Window){
		"kind":         func(w *repair.Window) { w.Kind = " " },
		"ends_at":      func(w *repair.Window) { w.EndsAt = w.StartsAt },
		"productive_h": func(w *repair.Window) { w.ProductiveH = 10.5 },
		"state":        func(w *repair.Window) { w.State = "perhaps" },
		"party":        func(w *repair.Window) { w.State, w.Reason = repair.WindowLost, "storm" },
		"reason":       func(w *repair.Window) { w.State, w.Party = repair.WindowShortened, "owner" },
	} {
		w := good
		change(&w)
		var bad *fault.Invalid
		require.ErrorAs(t, s.do(authz.Engineer, repair.SetWindow{Window: w}), &bad, field)
		require.NotNil(t, bad.Of(field), "%s: %v", field, bad)
	}
	require.NoError(t, s.do(authz.Engineer, repair.SetWindow{Window: good}))
	w := s.Windows[0]
	w.State, w.Party, w.Reason = repair.WindowShortened, "owner", "late"
	require.ErrorContains(t, s.do(authz.Contractor, repair.SetWindow{Window: w}), "shorter than before")
	w.EndsAt, w.ProductiveH = w.EndsAt.Add(-time.Hour), 7
	require.NoError(t, s.do(authz.Contractor, repair.SetWindow{Window: w}))
	w.ID = "of another program"
	require.ErrorIs(t, s.do(authz.Contractor, repair.SetWindow{Window: w}), fault.NotFound)
}

// preview applies a change to a copy and compares, as the store does.
func (s *story) preview(t *testing.T, ch repair.Change) repair.Consequences {
	t.Helper()
	after := &story{Scope: s.Scope.Clone(), n: 5000, now: s.now}
	require.NoError(t, after.do(authz.Administrator, ch))
	return s.Consequences(after.Scope)
}

func TestConsequencesNameTheEnds(t *testing.T) {
	t.Parallel()
	s := begin(t)
	require.NoError(t, s.do(authz.Inspector, grid(func(i, j int) float64 { return 0.3 })))
	none := s.preview(t, repair.EditSequence{Steps: s.live()})
	require.Equal(t, repair.Consequences{Ends: 1}, none)

	first := append([]sequence.Step{{Code: "TBT", Name: "Tool box talk", Order: -1, Performer: []sequence.Role{authz.Contractor}, AppliesToAll: true}}, s.live()...)
	c := s.preview(t, repair.EditSequence{Steps: first})
	require.Equal(t, []repair.Move{{From: "Access set", To: "Tool box talk", Ends: []string{"1N-1"}}}, c.Moves)
	require.Equal(t, 1, c.Moved())

	// A lower resistance factor is another capacity, and here too little of it.
	c = s.preview(t, repair.EditBasis{Key: string(basis.WebPhiCrippling), Value: 0.5, Typed: "0.5", Source: "trial"})
	require.Equal(t, []string{"1N-1"}, c.Capacities)
	require.Empty(t, c.Moves)
	facts := repair.FactsOf(s.Ends[0].End)
	facts.Reaction = units.Force(0.99 * capacity(s))
	require.NoError(t, s.do(authz.Designer, repair.EditEnd{Facts: facts, Reason: "just enough"}))
	c = s.preview(t, repair.EditBasis{Key: string(basis.WebPhiCrippling), Value: 0.5, Typed: "0.5", Source: "trial"})
	require.Equal(t, []string{"1N-1"}, c.Short)
	require.NoError(t, s.do(authz.Engineer, repair.EditBasis{Key: string(basis.WebPhiCrippling), Value: 0.5, Typed: "0.5", Source: "trial"}))
	c = s.preview(t, repair.EditBasis{Key: string(basis.WebPhiCrippling), Value: 0.8, Typed: "0.8", Source: "trial over"})
	require.Equal(t, []string{"1N-1"}, c.Enough)
}

func TestMockupIsWithdrawnWithAReason(t *testing.T) {
	t.Parallel()
	s := begin(t)
	require.ErrorIs(t, s.do(authz.Engineer, repair.WithdrawMockup{Reason: "none"}), fault.Refused)
	require.NoError(t, s.do(authz.Engineer, repair.AcceptMockup{Note: "cast and cut"}))
	require.ErrorIs(t, s.do(authz.Engineer, repair.WithdrawMockup{}), fault.Fields)
	require.NoError(t, s.do(authz.Engineer, repair.WithdrawMockup{Reason: "the mix changed"}))
	require.Nil(t, s.Program.MockupAcceptedAt)
	require.Contains(t, s.Program.MockupNote, "the mix changed")
}

func TestTitleFactsThatCannotBe(t *testing.T) {
	t.Parallel()
	s := begin(t)
	year, start, due := 1500, noon, noon.Add(-time.Hour)
	err := s.do(authz.Administrator, repair.EditProgram{Program: repair.Program{Units: "feet", BuiltYear: &year, FieldStart: &start, CompletionDue: &due}})
	var bad *fault.Invalid
	require.ErrorAs(t, err, &bad)
	for _, f := range []string{"name", "units", "built_year", "completion_due"} {
		require.NotNil(t, bad.Of(f), f)
	}
	for _, code := range []string{"", "-a", "Ab", "a b", "ä", "a/b", "0123456789012345678901234567890123456789x"} {
		err := s.do(authz.Administrator, repair.CreateProgram{Program: repair.Program{ID: "q", Code: code, Name: "x", Units: "si"}})
		require.ErrorAs(t, err, &bad, code)
		require.NotNil(t, bad.Of("code"), code)
	}
}
