package repair_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
)

// releasable is an end with an approved design whose program asks for the list before
// casting at its release and at the casting, and for nothing else.
func releasable(t *testing.T) (s *story, rel, cst string) {
	t.Helper()
	s = approved(t)
	var steps []sequence.Step
	for _, st := range s.live() {
		switch st.Code {
		case "REL":
			rel = st.ID
			st.Requires = []sequence.Requirement{{Condition: sequence.CastingRelease}, {Condition: sequence.TickList, Text: "molds marked\nwatch posted below"}}
		case "CST":
			cst = st.ID
			st.Requires = []sequence.Requirement{{Condition: sequence.CastingRelease}, {Condition: sequence.PourRecorded}}
		default:
			continue
		}
		steps = append(steps, st)
	}
	require.NoError(t, s.do(authz.Administrator, repair.EditSequence{Steps: steps}))
	return s, rel, cst
}

func (s *story) list(t *testing.T) repair.ReleaseStanding {
	t.Helper()
	x, err := s.Ends[0].ReleaseNow(s.Scope, repair.Wording{System: units.US, When: func(at time.Time) string { return at.UTC().Format(time.RFC3339) }})
	require.NoError(t, err)
	return x
}

func line(t *testing.T, x repair.ReleaseStanding, key string) repair.ReleaseLine {
	t.Helper()
	for _, l := range x.Lines {
		if l.Key == key {
			return l
		}
	}
	require.Fail(t, "no line "+key)
	return repair.ReleaseLine{}
}

// evidence records all that the list asks of the record.
func (s *story) evidence(t *testing.T) {
	t.Helper()
	d := s.Ends[0].DesignInForce()
	collars := repair.RecordCollars{DesignID: d.ID}
	for _, st := range s.Ends[0].StudsOf(d.ID) {
		collars.Collars = append(collars.Collars, repair.CollarIn{Mark: st.Mark, Outcome: "full"})
	}
	form := formed()
	form.Width, form.Height, form.Thickness, form.Cover = &d.PanelWidth, &d.PanelHeight, &d.PanelLeft, inches(2)
	for _, ch := range []repair.Change{collars, tested(), cored(1), cored(2), form} {
		require.NoError(t, s.do(authz.Inspector, ch))
	}
}

func TestAnEndIsReleasedOnItsListAndShutsWhenTheListMoves(t *testing.T) {
	t.Parallel()
	s, rel, _ := releasable(t)
	release := repair.DecideRelease{Decision: "released"}
	fact := func() sequence.Gate {
		f, err := s.Ends[0].Facts(s.Scope)
		require.NoError(t, err)
		return f.CastingRelease
	}
	x := s.list(t)
	require.Equal(t, rel, x.Step.ID)
	require.True(t, x.Asked)
	require.False(t, x.Ready())
	require.Contains(t, line(t, x, repair.LineStuds).Lacks, "without an accepted collar")
	require.Contains(t, line(t, x, repair.LineForm).Lacks, "no check of the form")
	require.Equal(t, "no mock-up is on record", line(t, x, repair.LineMockup).Lacks)
	require.True(t, line(t, x, repair.LineDesign).Met)
	require.True(t, line(t, x, repair.LineWindow).Met, "open access asks for no window")
	require.True(t, line(t, x, repair.LineQuantities).Met, line(t, x, repair.LineQuantities).Lacks)

	require.ErrorContains(t, s.do(authz.Engineer, release), "has not been asked for")
	require.ErrorIs(t, s.do(authz.Contractor, release), fault.Forbidden, "the contractor asks and does not release")
	require.ErrorContains(t, s.do(authz.Engineer, repair.DecideRelease{Decision: "opened"}), "released or refused")
	var bad *fault.Invalid
	require.ErrorAs(t, s.do(authz.Engineer, repair.DecideRelease{Decision: "refused"}), &bad)
	require.NotNil(t, bad.Of("reasons"))

	// Ticks by a person, each with who and when.
	require.ErrorContains(t, s.do(authz.Contractor, repair.StepAct{StepID: rel, Act: "completed"}), "tick list not finished")
	tick := func(role authz.Role, done bool, note string, lines ...string) error {
		ch := repair.TickLines{StepID: rel}
		for _, l := range lines {
			ch.Lines = append(ch.Lines, repair.TickIn{Line: l, Done: done, Note: note})
		}
		return s.do(role, ch)
	}
	require.ErrorContains(t, tick(authz.Contractor, true, "", "no such line"), "no such line")
	require.ErrorContains(t, tick(authz.Contractor, true, ""), "at least one line")
	require.ErrorContains(t, tick(authz.Contractor, false, "x", "molds marked"), "is not ticked")
	require.ErrorIs(t, tick(authz.Laboratory, true, "", "molds marked"), fault.Forbidden)
	require.NoError(t, tick(authz.Contractor, true, "paint marker", "molds marked", "watch posted below"))
	require.ErrorContains(t, tick(authz.Inspector, true, "", "molds marked"), "was ticked by Test contractor")
	require.ErrorContains(t, tick(authz.Inspector, false, "", "molds marked"), "say why it is no longer so")
	require.NoError(t, tick(authz.Inspector, false, "rain washed them off", "molds marked"))
	require.False(t, line(t, s.list(t), "tick: molds marked").Met)
	require.NoError(t, tick(authz.Contractor, true, "stamped", "molds marked"))
	require.Equal(t, "Test contractor", line(t, s.list(t), "tick: molds marked").Tick.ByName)
	require.NoError(t, s.do(authz.Contractor, repair.StepAct{StepID: rel, Act: "completed"}), "the request needs no release")
	require.ErrorContains(t, s.do(authz.Inspector, repair.StepAct{StepID: rel, Act: "released"}), "not released for casting", "the hold does not open past its list")

	// What is missing is named; what may be is waived by the named role for a reason.
	err := s.do(authz.Inspector, release)
	require.ErrorContains(t, err, "Studs: ")
	require.ErrorContains(t, err, "Form tight and braced: ")
	s.evidence(t)
	err = s.do(authz.Inspector, release)
	require.ErrorContains(t, err, "Mock-up accepted: no mock-up is on record")
	require.ErrorContains(t, err, "Cleaning and the survey after it: ")
	require.NotContains(t, err.Error(), "Studs: ")
	waive := func(role authz.Role, line, reason string) error {
		return s.do(role, repair.Waive{StepID: rel, Condition: "casting_release", Line: line, Reason: reason})
	}
	require.ErrorContains(t, waive(authz.Inspector, repair.LineMockup, " "), "why it may be done without")
	require.ErrorIs(t, waive(authz.Contractor, repair.LineMockup, "late"), fault.Forbidden)
	for _, never := range []string{repair.LineStuds, repair.LineDesign, repair.LineForm, repair.LineNonconformances, repair.LineSteps, "nothing", ""} {
		require.ErrorContains(t, waive(authz.Engineer, never, "late"), "no line of this name that may be waived", never)
	}
	require.NoError(t, waive(authz.Engineer, repair.LineMockup, "accepted under the contract before"))
	require.ErrorContains(t, waive(authz.Engineer, repair.LineMockup, "again"), "is waived already")
	require.NoError(t, waive(authz.Inspector, repair.LineCleaning, "cleaned under the paint contract, report 7"))
	require.True(t, s.list(t).Ready())

	// Decided on what stood there, and on nothing else.
	require.ErrorIs(t, s.do(authz.Inspector, repair.DecideRelease{Decision: "released", From: "an older list"}), fault.Conflict)
	require.NoError(t, s.do(authz.Inspector, repair.DecideRelease{Decision: "released", From: s.list(t).Digest}))
	require.True(t, fact().Passed)
	x = s.list(t)
	require.True(t, x.Released())
	require.Equal(t, sequence.Done, x.State, "the hold is answered with the list")
	require.Equal(t, "released", s.Ends[0].StepRecords[len(s.Ends[0].StepRecords)-1].Kind)
	require.Len(t, x.Last.Evidence, len(x.Lines))
	require.ErrorContains(t, s.do(authz.Engineer, release), "by Test inspector on this same list", "two people at once")

	// A stud fails afterwards: shut by itself, and it says what moved.
	d := s.Ends[0].DesignInForce()
	mark := s.Ends[0].StudsOf(d.ID)[0].Mark
	require.NoError(t, s.do(authz.Inspector, repair.RecordCollars{DesignID: d.ID, Collars: []repair.CollarIn{{Mark: mark, Outcome: "rejected"}}}))
	require.False(t, fact().Passed)
	require.Contains(t, fact().Waits.Detail, "out of date: Studs")
	require.Equal(t, []string{"Studs"}, s.list(t).Moved)
	require.Equal(t, string(sequence.ReleaseMissing), s.Ends[0].State[0].Reason, "the casting waits for it")
	require.ErrorContains(t, s.do(authz.Engineer, release), "Studs: 1 of")
	require.NoError(t, s.do(authz.Inspector, repair.RecordCollars{DesignID: d.ID, Collars: []repair.CollarIn{{Mark: mark, Outcome: "replaced"}}}))
	require.False(t, fact().Passed, "mended is not what was released")
	require.NoError(t, s.do(authz.Engineer, release))
	require.True(t, fact().Passed)

	// Taken back: the hold is asked for anew. After the pour the decision stands.
	require.NoError(t, s.do(authz.Engineer, repair.DecideRelease{Decision: "refused", Reasons: "thunder on the way"}))
	require.Contains(t, fact().Waits.Detail, "thunder")
	require.Equal(t, sequence.Open, s.list(t).State)
	require.NoError(t, tick(authz.Contractor, true, "", "molds marked", "watch posted below"))
	require.NoError(t, s.do(authz.Contractor, repair.StepAct{StepID: rel, Act: "completed"}))
	require.NoError(t, s.do(authz.Engineer, release))
	placed := s.now.Add(-5 * time.Minute)
	require.NoError(t, s.do(authz.Contractor, repair.RecordPour{StartedAt: s.now.Add(-30 * time.Minute), Batches: []repair.BatchIn{{MixedAt: s.now.Add(-20 * time.Minute), PlacedAt: &placed}}}))
	require.NoError(t, s.do(authz.Inspector, repair.RaiseNonconformance{Requirement: "no leak", Found: "a leak at the foot"}))
	require.True(t, fact().Passed, "what is found after the casting moves no release")
	require.True(t, s.list(t).Cast)
}

func TestNobodyReleasesWhatTheyAskedFor(t *testing.T) {
	t.Parallel()
	s, rel, _ := releasable(t)
	steps := s.live()
	for i := range steps {
		if steps[i].ID == rel {
			steps[i].Performer = []sequence.Role{authz.Inspector}
		}
	}
	require.NoError(t, s.do(authz.Administrator, repair.EditSequence{Steps: steps}))
	require.NoError(t, s.do(authz.Inspector, repair.StepAct{StepID: rel, Act: "completed", Ticks: []string{"molds marked", "watch posted below"}}))
	require.Equal(t, "Test inspector", line(t, s.list(t), "tick: molds marked").Tick.ByName, "ticked with the request counts as well")
	require.ErrorContains(t, s.do(authz.Inspector, repair.DecideRelease{Decision: "released"}), "cannot also give it")
	require.NoError(t, s.do(authz.Engineer, repair.DecideRelease{Decision: "refused", Reasons: "not looked at"}))
	require.Equal(t, sequence.Open, s.list(t).State, "refused at its request: returned")
}

// A program whose sequence does not ask for the list goes on as before: the release of
// the step is enough, until somebody decides on the list.
func TestAnOldSequenceGoesOnWithoutTheList(t *testing.T) {
	t.Parallel()
	s := approved(t)
	var steps []sequence.Step
	for _, st := range s.live() {
		if st.Code == "REL" || st.Code == "CST" {
			if st.Code == "REL" {
				st.Requires = nil
			}
			steps = append(steps, st)
		}
	}
	require.NoError(t, s.do(authz.Administrator, repair.EditSequence{Steps: steps}))
	x := s.list(t)
	require.False(t, x.Asked)
	require.False(t, x.Open())
	require.Len(t, repair.PersonLines(*x.Step), 6, "the usual lines, where the sequence has none")
	require.NoError(t, s.do(authz.Contractor, repair.StepAct{StepID: x.Step.ID, Act: "completed"}))
	require.NoError(t, s.do(authz.Inspector, repair.StepAct{StepID: x.Step.ID, Act: "released"}))
	require.True(t, s.list(t).Open())
	require.False(t, s.list(t).Released())
	require.NoError(t, s.do(authz.Inspector, repair.Waive{StepID: x.Step.ID, Condition: "casting_release", Line: "laboratory pick-up booked", Reason: "the laboratory stays on site"}))
	require.NotNil(t, line(t, s.list(t), "tick: laboratory pick-up booked").Waiver)
	require.NoError(t, s.do(authz.Engineer, repair.DecideRelease{Decision: "refused", Reasons: "form moved"}))
	require.False(t, s.list(t).Open())
}

// The step of the release is found by what it asks, by its code, or by its place.
func TestTheStepOfTheReleaseIsFound(t *testing.T) {
	t.Parallel()
	s := begin(t)
	require.Equal(t, "REL", s.ReleaseStep().Code)
	edit := func(keep func(*sequence.Step) bool) {
		var steps []sequence.Step
		for _, st := range s.live() {
			if keep(&st) {
				steps = append(steps, st)
			}
		}
		require.NoError(t, s.do(authz.Administrator, repair.EditSequence{Steps: steps}))
	}
	edit(func(st *sequence.Step) bool { return st.Code != "REL" })
	require.Equal(t, "COL", s.ReleaseStep().Code, "the last hold before the casting")
	edit(func(st *sequence.Step) bool {
		if st.Code == "DES" {
			st.Requires = append(st.Requires, sequence.Requirement{Condition: sequence.CastingRelease})
		}
		return true
	})
	require.Equal(t, "DES", s.ReleaseStep().Code)
	edit(func(st *sequence.Step) bool { return !st.Hold })
	require.Nil(t, s.ReleaseStep())
	require.ErrorContains(t, s.do(authz.Engineer, repair.DecideRelease{Decision: "released"}), "no hold at which a casting is released")
}

// Stud positions are made bright again on the shift of welding: that asks for no other
// survey. Any other cleaning after it does, and so does a first cleaning of the studs.
func TestGroundAgainForTheWeldingAsksForNoOtherSurvey(t *testing.T) {
	t.Parallel()
	clean := func(s *story, zone string) repair.RecordCleaning {
		return repair.RecordCleaning{Zone: zone, Grade: "SP11", Method: "grinder", StartedAt: s.now.Add(-11 * time.Minute), EndedAt: s.now.Add(-time.Minute),
			SolventFirst: true, Rust: "none", Profile: 0.05}
	}
	for name, c := range map[string]struct {
		before, after []string
		met           bool
	}{
		"nothing since":            {[]string{"stud_positions", "encased_area"}, nil, true},
		"ground again":             {[]string{"stud_positions", "encased_area"}, []string{"stud_positions"}, true},
		"outside the panel":        {[]string{"stud_positions", "encased_area"}, []string{"outside_panel"}, true},
		"the whole panel again":    {[]string{"stud_positions", "encased_area"}, []string{"stud_positions", "encased_area"}, false},
		"studs for the first time": {[]string{"encased_area"}, []string{"stud_positions"}, false},
	} {
		s, _, _ := releasable(t)
		for _, z := range c.before {
			require.NoError(t, s.do(authz.Inspector, clean(s, z)), name)
		}
		survey := grid(func(i, j int) float64 { return 0.1 })
		survey.Facts.Kind = "cleaned"
		require.NoError(t, s.do(authz.Inspector, survey), name)
		for _, z := range c.after {
			require.NoError(t, s.do(authz.Inspector, clean(s, z)), name)
		}
		l := line(t, s.list(t), repair.LineCleaning)
		require.Equal(t, c.met, l.Met, "%s: %s", name, l.Lacks)
		require.Equal(t, name == "ground again", strings.Contains(l.Text, "ground bright again"), name)
	}
}
