package repair_test

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/quality"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

func hour(h int) *int { return &h }

func inches(v float64) *units.Length { l := units.Length(v) * units.Inch; return &l }

func degrees(v float64) *float64 { return &v }

// fields lists the names of the fields that an error complains of.
func fields(err error) []string {
	var bad *fault.Invalid
	if !errors.As(err, &bad) {
		return nil
	}
	var out []string
	for _, f := range bad.Fields {
		out = append(out, f.Field)
	}
	return out
}

func cleaned() repair.RecordCleanings {
	return repair.RecordCleanings{Method: "power_tool", StartedAt: noon.Add(-4 * time.Hour), EndedAt: noon.Add(-time.Hour), SolventFirst: true, Note: "night shift",
		Zones: []repair.ZoneIn{{Zone: "stud_positions", Grade: "SP11", Rust: "none", Profile: 0.05}, {Zone: "encased_area", Grade: "SP15", Rust: "light", Note: "under the flange by hand"},
			{Zone: "outside_panel", Grade: "SP3", Rust: "none"}}}
}

func TestOneCleaningIsARowForEveryZone(t *testing.T) {
	t.Parallel()
	s := begin(t)
	require.NoError(t, s.do(authz.Inspector, cleaned()))
	rows := s.Ends[0].Cleanings
	require.Len(t, rows, 3)
	require.Equal(t, "night shift; under the flange by hand", rows[1].Note)
	require.Equal(t, rows[0].EndedAt, rows[2].EndedAt)
	got := s.Ends[0].CleaningAssessment(s.Scope)
	require.True(t, got.Acceptable, got.Against)
	require.Equal(t, got, cleaned().Assess(s.Scope), "the preview and the record say the same")
}

func TestCleaningOfOneZoneIsTakenWholeOrNotAtAll(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		spoil func(*repair.RecordCleanings)
		field string
	}{
		"no zone":        {func(ch *repair.RecordCleanings) { ch.Zones = nil }, "zones"},
		"unknown zone":   {func(ch *repair.RecordCleanings) { ch.Zones[1].Zone = "flange" }, "zones"},
		"unknown grade":  {func(ch *repair.RecordCleanings) { ch.Zones[2].Grade = "SP99" }, "outside_panel"},
		"twice":          {func(ch *repair.RecordCleanings) { ch.Zones[1].Zone = "stud_positions" }, "stud_positions"},
		"ends in future": {func(ch *repair.RecordCleanings) { ch.EndedAt = noon.Add(48 * time.Hour) }, "to"},
		"ends first":     {func(ch *repair.RecordCleanings) { ch.EndedAt = ch.StartedAt.Add(-time.Minute) }, "to"},
		"no method":      {func(ch *repair.RecordCleanings) { ch.Method = "" }, "method"},
		"deep profile":   {func(ch *repair.RecordCleanings) { ch.Zones[0].Profile = 3 }, "stud_positions_profile"},
	} {
		s := begin(t)
		ch := cleaned()
		c.spoil(&ch)
		require.Contains(t, fields(s.do(authz.Inspector, ch)), c.field, name)
		require.Empty(t, s.Ends[0].Cleanings, name)
	}
}

// Sizes and angles: AWS D1.1 (read second-hand) asks for a fillet that passes each
// end of the gap by 3/8 in.; its table of fillet sizes (from memory) has 5/16 in.
// for a 3/4 in. stud; TI 809-26 chapter 6 (read) bends 15 degrees away from the gap.
func TestRepairOfACollarIsHeldToItsRule(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		in    repair.CollarIn
		wrong []string
	}{
		"full":                     {repair.CollarIn{Outcome: "full"}, nil},
		"full with a gap":          {repair.CollarIn{Outcome: "full", GapClock: hour(3), GapLength: inches(0.5)}, []string{""}},
		"gap":                      {repair.CollarIn{Outcome: "gap", GapClock: hour(3), GapLength: inches(0.5)}, nil},
		"gap without its place":    {repair.CollarIn{Outcome: "gap", GapLength: inches(0.5)}, []string{"-gap_clock"}},
		"gap past the stud":        {repair.CollarIn{Outcome: "gap", GapClock: hour(3), GapLength: inches(2.4)}, []string{"-gap_length"}},
		"gap at thirteen":          {repair.CollarIn{Outcome: "gap", GapClock: hour(13), GapLength: inches(0.5)}, []string{"-gap_clock"}},
		"fillet":                   {repair.CollarIn{Outcome: "repaired_fillet", GapClock: hour(3), GapLength: inches(0.5), FilletSize: inches(5. / 16), FilletLen: inches(1.25)}, nil},
		"fillet in words":          {repair.CollarIn{Outcome: "repaired_fillet", GapClock: hour(3), GapLength: inches(0.5), Repair: "5/16 fillet"}, nil},
		"fillet not told":          {repair.CollarIn{Outcome: "repaired_fillet", GapClock: hour(3), GapLength: inches(0.5)}, []string{"-fillet_size"}},
		"fillet thin":              {repair.CollarIn{Outcome: "repaired_fillet", GapClock: hour(3), GapLength: inches(0.5), FilletSize: inches(0.25), FilletLen: inches(1.25)}, []string{"-fillet_size"}},
		"fillet short":             {repair.CollarIn{Outcome: "repaired_fillet", GapClock: hour(3), GapLength: inches(0.5), FilletSize: inches(0.375), FilletLen: inches(1.2)}, []string{"-fillet_length"}},
		"bent":                     {repair.CollarIn{Outcome: "bent_pass", GapClock: hour(3), GapLength: inches(0.5), BendDeg: degrees(15), BendClock: hour(9)}, nil},
		"bent an hour off":         {repair.CollarIn{Outcome: "bent_pass", GapClock: hour(12), GapLength: inches(0.5), BendDeg: degrees(14), BendClock: hour(7)}, nil},
		"bent toward the gap":      {repair.CollarIn{Outcome: "bent_pass", GapClock: hour(3), GapLength: inches(0.5), BendDeg: degrees(15), BendClock: hour(3)}, []string{"-bend_clock"}},
		"bent too little":          {repair.CollarIn{Outcome: "bent_pass", BendDeg: degrees(10)}, []string{"-bend_deg"}},
		"bent, not said how far":   {repair.CollarIn{Outcome: "bent_fail"}, []string{"-bend_deg"}},
		"cracked early in a bend":  {repair.CollarIn{Outcome: "bent_fail", BendDeg: degrees(5)}, nil},
		"bent past a right angle":  {repair.CollarIn{Outcome: "rejected", BendDeg: degrees(120)}, []string{"-bend_deg"}},
		"no such outcome":          {repair.CollarIn{Outcome: "fine"}, []string{""}},
		"height of nothing":        {repair.CollarIn{Outcome: "full", Height: inches(0)}, []string{"-height"}},
		"rejected with its reason": {repair.CollarIn{Outcome: "rejected", GapClock: hour(6), GapLength: inches(1), Fissure: true}, nil},
	} {
		s := proposed(t)
		st := s.Ends[0].Studs[0]
		c.in.Mark = st.Mark
		var want []string
		for _, w := range c.wrong {
			want = append(want, "collar-"+st.Mark+w)
		}
		err := s.do(authz.Inspector, repair.RecordCollars{DesignID: st.DesignID, Collars: []repair.CollarIn{c.in}})
		require.Equal(t, want, fields(err), "%s: %v", name, err)
		if want == nil {
			require.NoError(t, err, name)
		}
	}
}

// The rest of a row never writes over a finding, whatever came before it.
func TestRestOfARowLeavesFindingsAlone(t *testing.T) {
	t.Parallel()
	base := proposed(t)
	studs := base.Ends[0].StudsOf(base.Ends[0].LatestDesign().ID)
	rapid.Check(t, func(t *rapid.T) {
		s := &story{Scope: base.Scope.Clone(), now: base.now, n: base.n}
		had := map[string]string{}
		for _, st := range studs {
			if o := rapid.SampledFrom([]string{"", "full", "rejected"}).Draw(t, st.Mark); o != "" {
				require.NoError(t, s.do(authz.Inspector, repair.RecordCollars{DesignID: st.DesignID, Collars: []repair.CollarIn{{Mark: st.Mark, Outcome: o}}}))
				had[st.Mark] = o
			}
		}
		rest := repair.RecordCollars{DesignID: studs[0].DesignID, Rest: true}
		for _, st := range studs {
			rest.Collars = append(rest.Collars, repair.CollarIn{Mark: st.Mark, Outcome: "full"})
		}
		err := s.do(authz.Inspector, rest)
		if len(had) == len(studs) {
			require.ErrorIs(t, err, fault.Refused)
			return
		}
		require.NoError(t, err)
		require.Len(t, s.Ends[0].Collars, len(studs))
		for mark, col := range s.Ends[0].LatestCollars(studs[0].DesignID) {
			if o, ok := had[mark]; ok {
				require.Equal(t, o, col.Outcome, mark)
			} else {
				require.Equal(t, "full", col.Outcome, mark)
			}
		}
	})
}

func TestNonconformanceWaitsAndMayBeClosed(t *testing.T) {
	t.Parallel()
	s := begin(t)
	raise := repair.RaiseNonconformance{Requirement: "collar full", Found: "gap of 1/2 in"}
	require.NoError(t, s.do(authz.Inspector, raise))
	n := func() repair.Nonconformance { return s.Ends[0].Nonconformances[0] }
	require.Equal(t, authz.Engineer, n().Waits())
	require.False(t, n().MayClose(authz.Engineer), "not before a decision")
	require.Equal(t, []string{"instructions"}, fields(s.do(authz.Engineer, repair.DecideNonconformance{Number: 1, Disposition: "rework"})))
	require.NoError(t, s.do(authz.Engineer, repair.DecideNonconformance{Number: 1, Disposition: "rework", Instructions: "weld anew"}))
	require.Equal(t, authz.Contractor, n().Waits())
	require.True(t, n().MayClose(authz.Inspector))
	require.False(t, n().MayClose(authz.Contractor))
	require.NoError(t, s.do(authz.Engineer, repair.DecideNonconformance{Number: 1, Disposition: "use_as_is", Instructions: "the other studs carry it"}))
	require.Equal(t, authz.Engineer, n().Waits())
	require.False(t, n().MayClose(authz.Inspector), "a concession is the engineer's")
	require.Equal(t, []string{"cause"}, fields(s.do(authz.Engineer, repair.CloseNonconformance{Number: 1, Reinspection: "seen"})))
	require.NoError(t, s.do(authz.Engineer, repair.CloseNonconformance{Number: 1, Reinspection: "seen", Cause: "damp ferrules"}))
	require.Empty(t, n().Waits())
}

// The whole way: proposed with its ground, decided by another, worked, looked at again
// by another, closed, reopened and withdrawn, by the one rule of package quality.
func TestNonconformanceGoesTheWholeWay(t *testing.T) {
	t.Parallel()
	s := begin(t)
	n := func() repair.Nonconformance { return s.Ends[0].Nonconformances[0] }
	require.NoError(t, s.do(authz.Contractor, repair.RaiseNonconformance{Requirement: "panel full", Found: "void at the top", Proposed: "repair"}))
	require.Equal(t, quality.Raised, n().StateOf(), "a departure is proposed with its justification")
	require.ErrorContains(t, s.do(authz.Contractor, repair.ProposeDisposition{Number: 1, Disposition: "repair"}), "justification")
	require.NoError(t, s.do(authz.Contractor, repair.ProposeDisposition{Number: 1, Disposition: "repair", Justification: "grout fills it", Containment: "end shored"}))
	require.Equal(t, quality.Proposed, n().StateOf())
	require.Equal(t, "Test contractor, contractor", n().ProposedBy)
	require.NoError(t, s.do(authz.Engineer, repair.SendBackDisposition{Number: 1, Reason: "say which grout"}))
	require.NoError(t, s.do(authz.Contractor, repair.ProposeDisposition{Number: 1, Disposition: "repair", Justification: "grout of 100 MPa fills it"}))
	require.ErrorIs(t, s.do(authz.Inspector, repair.DecideNonconformance{Number: 1, Disposition: "repair", Instructions: "fill"}), fault.Forbidden)
	require.NoError(t, s.do(authz.Engineer, repair.DecideNonconformance{Number: 1, Disposition: "repair", Instructions: "fill and sound again", Cause: "vent closed early"}))
	require.NoError(t, s.do(authz.Contractor, repair.WorkNonconformance{Number: 1, Done: "filled under pressure"}))
	require.Equal(t, authz.Inspector, n().Waits())
	require.ErrorContains(t, s.do(authz.Engineer, repair.DecideNonconformance{Number: 1, Disposition: "reject", Instructions: "x"}), "a decision needs it")
	require.NoError(t, s.do(authz.Inspector, repair.ReinspectNonconformance{Number: 1, Result: "still hollow at one place"}))
	require.Equal(t, 1, n().Failures)
	require.NoError(t, s.do(authz.Contractor, repair.WorkNonconformance{Number: 1, Done: "filled again"}))
	require.NoError(t, s.do(authz.Inspector, repair.ReinspectNonconformance{Number: 1, Accepted: true, Result: "sound all over"}))
	require.Equal(t, "Test inspector, inspector", n().VerifiedBy)
	require.ErrorIs(t, s.do(authz.Inspector, repair.CloseNonconformance{Number: 1}), fault.Forbidden)
	require.NoError(t, s.do(authz.Engineer, repair.CloseNonconformance{Number: 1, Corrective: "vents stay open"}))
	require.NotNil(t, n().ClosedAt)
	require.Equal(t, "sound all over", n().Reinspection)
	require.Equal(t, "Test inspector, inspector", n().VerifiedBy)
	require.NoError(t, s.do(authz.Engineer, repair.ReopenNonconformance{Number: 1, Reason: "hollow again"}))
	require.Nil(t, n().ClosedAt)
	require.Empty(t, n().Disposition)
	require.NoError(t, s.do(authz.Engineer, repair.WithdrawNonconformance{Number: 1, Reason: "it was another end"}))
	require.NotNil(t, n().ClosedAt)
	require.Equal(t, quality.Withdrawn, n().StateOf())
}

// An entry from before states were kept reads as it did.
func TestOldNonconformancesReadAsTheyDid(t *testing.T) {
	t.Parallel()
	at := noon
	for want, n := range map[quality.State]repair.Nonconformance{
		quality.Raised:   {Proposed: "use_as_is"},
		quality.Decided:  {Disposition: "rework", DecidedAt: &at},
		quality.Verified: {Disposition: "use_as_is", DecidedAt: &at},
		quality.Closed:   {Disposition: "rework", DecidedAt: &at, ClosedAt: &at},
	} {
		require.Equal(t, want, n.StateOf())
	}
	require.Equal(t, authz.Contractor, repair.Nonconformance{Disposition: "rework"}.Waits())
	require.Equal(t, authz.Engineer, repair.Nonconformance{}.Waits())
	require.Empty(t, repair.Nonconformance{ClosedAt: &at}.Waits())
}
