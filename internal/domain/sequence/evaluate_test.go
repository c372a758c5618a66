package sequence

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

var day0 = time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)

func after(days int) time.Time { return day0.AddDate(0, 0, days) }

// ready is an end at which every condition of the default sequence is met.
func ready() Facts {
	f := Facts{
		Started: day0,
		Design:  Design{Revision: "B", State: Approved, Since: after(1), Strength: 150},

		SurveyAsFound: true, SurveyAfterCleaning: true, CleaningAccepted: true,
		Studs:          StudCount{Total: 32, Accepted: 32},
		MockupAccepted: true, Pours: 1, CuringComplete: true,
		Strengths:        []Strength{{Set: "S1", Value: 100, AgeDays: 4}, {Set: "S2", Value: 155, AgeDays: 28}},
		HardenedAccepted: true, Strip: Gate{Passed: true}, Traffic: Gate{Passed: true},
		GaugesPlanned: 6, GaugesZeroed: 6, Verdict: Engaged,
		Window: Window{Granted: true},
		Photos: map[string]int{}, Ticks: map[string][]string{},
	}
	for _, s := range DefaultSequence() {
		f.Photos[s.ID] = 9
		for _, r := range s.Requires {
			f.Ticks[s.ID] = append(f.Ticks[s.ID], r.Items()...)
		}
	}
	return f
}

// finish records the step as done by those who may.
func finish(f Facts, s Step, at time.Time) Facts {
	f.Records = append(f.Records[:len(f.Records):len(f.Records)],
		Record{ID: s.ID + "-c", StepID: s.ID, Kind: Completed, By: "a", Role: s.Performer[0], At: at})
	if s.Hold {
		f.Records = append(f.Records, Record{ID: s.ID + "-r", StepID: s.ID, Kind: Released, By: "b", Role: s.Releaser[0], At: at.Add(time.Hour)})
	}
	return f
}

// upTo finishes every step before the one named.
func upTo(steps []Step, f Facts, id string) Facts {
	for i, s := range Ordered(steps) {
		if s.ID == id {
			return f
		}
		if s.AppliesToAll {
			f = finish(f, s, after(i+1))
		}
	}
	return f
}

func step(t *testing.T, steps []Step, id string) Step {
	t.Helper()
	for _, s := range steps {
		if s.ID == id {
			return s
		}
	}
	require.Fail(t, "no step "+id)
	return Step{}
}

func TestDefaultSequenceWalksFromStartToClosed(t *testing.T) {
	t.Parallel()
	steps := DefaultSequence()
	require.NoError(t, Validate(steps))
	require.Len(t, steps, 17)
	f := ready()
	f.Chosen = []string{"gauges", "loadpath"}
	for i, s := range steps {
		st := Evaluate(steps, f)
		require.NotNil(t, st.Current)
		require.Equal(t, s.ID, st.Current.ID)
		require.Empty(t, st.Blocks, s.ID)
		require.Empty(t, st.ToDo, s.ID)
		require.InDelta(t, float64(i)/17, st.Share(), 1e-12)
		require.NoError(t, CanComplete(steps, f, s.ID, Person{"a", s.Performer[0]}))
		done := Record{StepID: s.ID, Kind: Completed, By: "a", At: after(i)}
		f.Records = append(f.Records, done)
		if s.Hold {
			st = Evaluate(steps, f)
			require.Equal(t, s.ID, st.Current.ID)
			require.Equal(t, Requested, st.CurrentState)
			b, ok := st.First()
			require.True(t, ok)
			require.Equal(t, HoldNotReleased, b.Reason)
			require.Equal(t, s.Releaser[0], b.Actor)
			require.Equal(t, after(i), b.Since)
			require.NoError(t, CanRelease(steps, f, s.ID, Person{"b", s.Releaser[0]}))
			f.Records = append(f.Records, Record{StepID: s.ID, Kind: Released, By: "b", At: after(i)})
		}
	}
	st := Evaluate(steps, f)
	require.True(t, st.Closed)
	require.Nil(t, st.Current)
	require.Len(t, st.Done, 17)
	require.Equal(t, after(16), st.Since)
}

func TestChosenStepsAreLeftOutOfOtherEnds(t *testing.T) {
	t.Parallel()
	steps := DefaultSequence()
	f := upTo(steps, ready(), "gauges")
	require.Equal(t, "cored", Evaluate(steps, f).Current.ID)
	f.Chosen = []string{"gauges"}
	require.Equal(t, "gauges", Evaluate(steps, f).Current.ID)
}

func TestWhatBlocks(t *testing.T) {
	t.Parallel()
	steps := DefaultSequence()
	since := after(40)
	cases := []struct {
		name   string
		step   string
		change func(*Facts)
		track  Track
		reason Reason
		actor  Role
		detail string
	}{
		{"no design", "design", func(f *Facts) { f.Design = Design{Since: since} }, Paper, DesignNotIssued, Designer, ""},
		{"review pending", "design", func(f *Facts) { f.Design.State = Submitted }, Paper, ReviewPending, Engineer, "B"},
		{"design returned", "design", func(f *Facts) { f.Design.State = SentBack }, Paper, DesignReturned, Designer, "B"},
		{"out of date", "welded", func(f *Facts) { f.Design.OutOfDate, f.Design.Why = true, "web at x 100 thinner" }, Paper, DesignOutOfDate, Designer, "B: web at x 100 thinner"},
		{"mock-up", "released", func(f *Facts) { f.MockupAccepted = false }, Paper, MockupMissing, Engineer, ""},
		{"nonconformance", "released", func(f *Facts) {
			f.Nonconformances = []OpenNonconformance{{Number: "N-7", Stops: []string{"released"}, Actor: Engineer, Since: since}}
		}, Paper, NonconformanceOpen, Engineer, "N-7"},
		{"gate awaited", "strength", func(f *Facts) { f.Strip = Gate{} }, SteelAndConcrete, WaitingStrength, Laboratory, ""},
		{"gate out of date", "traffic", func(f *Facts) {
			f.Traffic = Gate{Waits: Block{Reason: GateUndecided, Actor: Engineer, Detail: "passed by A, changed since", Since: since}}
		}, Paper, GateUndecided, Engineer, "passed by A, changed since"},
		{"break overdue", "closed", func(f *Facts) { f.Strengths, f.Overdue = nil, 3 }, Paper, TestMissing, Laboratory, "150.00 MPa at 28 days; 3 specimens overdue"},
		{"strength low", "closed", func(f *Facts) { f.Strengths[1].Value = 149.99 }, Paper, StrengthLow, Engineer, "149.99 of 150.00 MPa at 28 days"},
		{"studs lost after acceptance", "form", func(f *Facts) { f.Studs = StudCount{Total: 32, Accepted: 30, Rejected: 2} }, SteelAndConcrete, StudsRejected, Contractor, "2 of 32"},
		{"no window", "welded", func(f *Facts) { f.Window = Window{} }, Access, WindowNotGranted, Contractor, ""},
		{"window lost", "welded", func(f *Facts) { f.Window = Window{Lost: true, Why: "closure crew not sent", Since: since} }, Access, WindowLost, Contractor, "closure crew not sent"},
		{"raised by hand", "welded", func(f *Facts) {
			f.Raised = []Raised{{Reason: WelderNotCurrent, Actor: Contractor, Since: since}}
		}, SteelAndConcrete, WelderNotCurrent, Contractor, ""},
		{"danger comes first", "released", func(f *Facts) {
			f.MockupAccepted = false
			f.Raised = []Raised{{Reason: CriticalFinding, Actor: Engineer, Since: since}}
		}, Paper, CriticalFinding, Engineer, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			f := upTo(steps, ready(), c.step)
			c.change(&f)
			st := Evaluate(steps, f)
			require.Equal(t, c.step, st.Current.ID)
			b, ok := st.First()
			require.True(t, ok)
			require.Equal(t, c.track, b.Track)
			require.Equal(t, c.reason, b.Reason)
			require.Equal(t, c.actor, b.Actor)
			require.Equal(t, c.detail, b.Detail)
			require.Equal(t, c.step, b.StepID)
			require.False(t, b.Since.IsZero())
		})
	}
}

// What a step itself brings is asked for at its end, and is no reason to wait.
func TestOwnEvidenceIsToDoAndNotABlock(t *testing.T) {
	t.Parallel()
	steps := DefaultSequence()
	f := upTo(steps, ready(), "collars")
	f.Studs = StudCount{Total: 32, Accepted: 12, Unaccounted: 20}
	st := Evaluate(steps, f)
	require.Empty(t, st.Blocks)
	require.Len(t, st.ToDo, 1)
	require.Equal(t, StudsMissing, st.ToDo[0].Reason)

	err := CanComplete(steps, f, "collars", Person{"a", Inspector})
	var r *Refusal
	require.ErrorAs(t, err, &r)
	require.Equal(t, Lacking, r.Why)
	require.EqualError(t, err, `step "Collars accepted": cannot complete: studs not accounted for (20 of 32 without an accepted collar)`)
}

func TestALaterStepNamesTheStepBefore(t *testing.T) {
	t.Parallel()
	steps := DefaultSequence()
	f := upTo(steps, ready(), "cored")
	blocks := Blocking(steps, f, "cast")
	require.Equal(t, StepBefore, blocks[0].Reason)
	require.Equal(t, "Deck cored", blocks[0].Detail)
	require.Equal(t, Contractor, blocks[0].Actor)
	require.Nil(t, Blocking(steps, f, "cleaned"), "a finished step is stopped by nothing")
	require.Equal(t, "steel and concrete: step before not done (Deck cored); contractor to act", blocks[0].String())
}

func TestRefusals(t *testing.T) {
	t.Parallel()
	steps := DefaultSequence()
	f := upTo(steps, ready(), "released")
	requested := f
	requested.Records = append(requested.Records[:len(f.Records):len(f.Records)],
		Record{StepID: "released", Kind: Completed, By: "ann", At: after(30)})
	moved := requested
	moved.Design.OutOfDate = true
	cases := []struct {
		name string
		err  error
		why  Why
	}{
		{"unknown", CanComplete(steps, f, "nothing", Person{"x", Contractor}), UnknownStep},
		{"not for this end", CanComplete(steps, f, "gauges", Person{"x", Contractor}), NotAsked},
		{"wrong role", CanComplete(steps, f, "released", Person{"x", Laboratory}), WrongRole},
		{"administrator has no say in the work", CanComplete(steps, f, "released", Person{"x", Administrator}), WrongRole},
		{"done already", CanComplete(steps, f, "form", Person{"x", Contractor}), AlreadyDone},
		{"requested already", CanComplete(steps, requested, "released", Person{"x", Contractor}), AlreadyDone},
		{"past a hold", CanComplete(steps, requested, "cast", Person{"x", Inspector}), Lacking},
		{"release without request", CanRelease(steps, f, "released", Person{"x", Inspector}), NotRequested},
		{"release by a stranger", CanRelease(steps, requested, "released", Person{"x", Contractor}), WrongRole},
		{"release of one's own", CanRelease(steps, requested, "released", Person{"ann", Inspector}), OwnRequest},
		{"release after the design moved", CanRelease(steps, moved, "released", Person{"x", Inspector}), Lacking},
		{"return without reason", CanReturn(steps, requested, "released", Person{"x", Inspector}, " "), NoReason},
		{"reopen what is open", CanReopen(steps, f, "cast", Person{"x", Inspector}, "leak"), NothingDone},
		{"reopen by a stranger", CanReopen(steps, f, "form", Person{"x", Laboratory}, "leak"), WrongRole},
		{"reopen without reason", CanReopen(steps, f, "form", Person{"x", Contractor}, ""), NoReason},
	}
	for _, c := range cases {
		var r *Refusal
		require.True(t, errors.As(c.err, &r), c.name)
		require.Equal(t, c.why, r.Why, c.name)
		require.NotEmpty(t, c.err.Error(), c.name)
	}
	require.ErrorIs(t, cases[0].err, fault.NotFound)
	require.ErrorIs(t, cases[2].err, fault.Forbidden)
	require.ErrorIs(t, cases[6].err, fault.Refused)
	require.Equal(t, cases[6].err.Error(), fault.Message(cases[6].err))
	require.NoError(t, CanRelease(steps, requested, "released", Person{"x", Inspector}))
	require.NoError(t, CanReturn(steps, requested, "released", Person{"x", Engineer}, "seal leaks"))
	require.NoError(t, CanReopen(steps, f, "form", Person{"x", Engineer}, "leak"))
}

// A hold is passed by nobody, whether or not the later step asks for the steps
// before it.
func TestAHoldStopsStepsThatAskForNothing(t *testing.T) {
	t.Parallel()
	steps := []Step{
		{ID: "a", Code: "A", Order: 1, Name: "A", Performer: []Role{Inspector}, AppliesToAll: true},
		{ID: "h", Code: "H", Order: 2, Name: "H", Performer: []Role{Inspector}, Hold: true, Releaser: []Role{Engineer}, AppliesToAll: true},
		{ID: "z", Code: "Z", Order: 3, Name: "Z", Performer: []Role{Inspector}, AppliesToAll: true},
	}
	var f Facts
	require.NoError(t, CanComplete(steps, f, "h", Person{"x", Inspector}), "an earlier step that is no hold may be passed")
	var r *Refusal
	require.ErrorAs(t, CanComplete(steps, f, "z", Person{"x", Inspector}), &r)
	require.Equal(t, StepBefore, r.Unmet[0].Block.Reason)
	f.Records = []Record{{StepID: "h", Kind: Completed, By: "x", At: day0}}
	require.ErrorAs(t, CanComplete(steps, f, "z", Person{"x", Inspector}), &r)
	require.Equal(t, "H, waiting for its release", r.Unmet[0].Block.Detail)
	f.Records = append(f.Records, Record{StepID: "h", Kind: Released, By: "y", At: day0})
	require.NoError(t, CanComplete(steps, f, "z", Person{"x", Inspector}))
}

func TestReturnAndReopenKeepTheHistory(t *testing.T) {
	t.Parallel()
	steps := DefaultSequence()
	f := upTo(steps, ready(), "cast")
	f = finish(f, step(t, steps, "cast"), after(50))
	f.Records = append(f.Records, Record{StepID: "collars", Kind: Reopened, By: "e", At: after(51), Reason: "a fissure seen"})
	st := Evaluate(steps, f)
	require.Equal(t, "collars", st.Current.ID)
	require.Equal(t, after(51), st.Since)
	s := find(st.All, "collars")
	require.Len(t, s.History, 3)
	require.Equal(t, "a fissure seen", s.Reopened.Reason)
	require.Equal(t, Done, find(st.All, "cast").State, "what came after stays on record")

	var r *Refusal
	require.ErrorAs(t, CanComplete(steps, f, "cured", Person{"x", Contractor}), &r)
	require.Equal(t, "Collars accepted", r.Unmet[0].Block.Detail)

	f.Records = append(f.Records,
		Record{StepID: "collars", Kind: Completed, By: "x", At: after(52)},
		Record{StepID: "collars", Kind: Returned, By: "e", At: after(53), Reason: "photo is of another stud"})
	st = Evaluate(steps, f)
	require.Equal(t, Open, st.CurrentState)
	require.Equal(t, after(53), st.Since)
	require.NotNil(t, find(st.All, "collars").Returned)
}

func TestStrengthsAreComparedUnrounded(t *testing.T) {
	t.Parallel()
	r := Requirement{Condition: StrengthReached, Value: 14 * float64(units.Ksi)}
	f := Facts{Strengths: []Strength{{Value: 13.9999 * units.Ksi, AgeDays: 2}}}
	_, ok := meets(r, Step{}, f)
	require.False(t, ok, "13.9999 prints as 14.00 and is still below 14")
	f.Strengths[0].Value = 14 * units.Ksi
	_, ok = meets(r, Step{}, f)
	require.True(t, ok, "equal passes")
}

func TestEveryConditionAndReasonHasWords(t *testing.T) {
	t.Parallel()
	for _, c := range Conditions() {
		require.NotEmpty(t, c.Name)
		require.NotEmpty(t, c.Explains)
		_, met := meets(Requirement{Condition: c.Condition, Value: 5, Text: "one"}, Step{ID: "s"}, Facts{})
		switch c.Condition {
		case NoOpenNonconformance, BatchesAccepted:
			require.True(t, met, c.Condition)
		case PreviousSteps: // read from the sequence, not from the facts
		default:
			require.False(t, met, c.Condition)
			b, _ := meets(Requirement{Condition: c.Condition, Value: 5, Text: "one"}, Step{ID: "s"}, Facts{})
			_, known := b.Reason.Info()
			require.True(t, known, c.Condition)
			require.NotEqual(t, OtherReason, b.Reason, c.Condition)
		}
	}
	seen := map[Reason]bool{}
	for _, r := range Reasons() {
		require.NotEmpty(t, r.Words)
		require.False(t, seen[r.Reason])
		seen[r.Reason] = true
		require.Contains(t, []Track{Paper, SteelAndConcrete, Access}, r.Track)
	}
}

// What may be waived is waived for one end and one condition; steel, strength and
// nonconformances never are.
func TestWaivers(t *testing.T) {
	t.Parallel()
	steps := DefaultSequence()
	for _, c := range []struct {
		step     string
		cond     Condition
		line     string
		spoil    func(*Facts)
		possible bool
	}{
		{"released", MockupAccepted, "", func(f *Facts) { f.MockupAccepted = false }, true},
		{"cured", CuringRecorded, "", func(f *Facts) { f.CuringComplete = false }, true},
		{"cast", Photo, "", func(f *Facts) { f.Photos["cast"] = 0 }, true},
		{"cored", TickList, "bars located before coring", func(f *Facts) { f.Ticks["cored"] = f.Ticks["cored"][1:] }, true},
		{"cored", TickList, "fall of cores guarded below", func(f *Facts) { f.Ticks["cored"] = f.Ticks["cored"][1:] }, false}, // another line
		{"released", ApprovedCurrentDesign, "", func(f *Facts) { f.Design.OutOfDate = true }, false},
		{"form", StudsAccounted, "", func(f *Facts) { f.Studs.Accepted-- }, false},
		{"strength", StripGate, "", func(f *Facts) { f.Strip = Gate{} }, false},
		{"traffic", TrafficGate, "", func(f *Facts) { f.Traffic = Gate{} }, false},
		{"closed", DesignStrengthReached, "", func(f *Facts) { f.Strengths = nil }, false},
		{"closed", NoOpenNonconformance, "", func(f *Facts) { f.Nonconformances = []OpenNonconformance{{Number: "1"}} }, false},
	} {
		f := upTo(steps, ready(), c.step)
		c.spoil(&f)
		who := Person{"a", step(t, steps, c.step).Performer[0]}
		require.Error(t, CanComplete(steps, f, c.step, who), c.cond)
		w := Waiver{StepID: c.step, Condition: c.cond, Line: c.line, By: "A. Name, owner's engineer", Reason: "known"}
		f.Waivers = []Waiver{w}
		if c.possible {
			require.NoError(t, CanComplete(steps, f, c.step, who), c.cond)
		} else {
			require.Error(t, CanComplete(steps, f, c.step, who), c.cond)
		}
		f.Waivers[0].StepID = "elsewhere"
		require.Error(t, CanComplete(steps, f, c.step, who), c.cond)
		require.Equal(t, "waived by A. Name, owner's engineer: known", w.Words())
	}
}
