package repair_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

var noon = time.Date(2027, 5, 3, 12, 0, 0, 0, time.UTC)

// story applies changes to a scope the way the store does.
type story struct {
	*repair.Scope
	n   int
	now time.Time
}

func begin(t require.TestingT) *story {
	s := &story{Scope: &repair.Scope{NextPour: 1, NextNonconformance: 1}, now: noon}
	require.NoError(t, s.do(authz.Administrator, repair.CreateProgram{Program: repair.Program{ID: "p", Code: "small", Name: "Small bridge", Units: "us"}}))
	require.NoError(t, s.do(authz.Administrator, repair.ImportBridge{Bridge: repair.BridgeIn{
		Supports: []repair.SupportIn{{Code: "A1", Name: "Abutment 1"}, {Code: "A2", Name: "Abutment 2", Station: 60 * units.Foot}},
		Spans:    []repair.SpanIn{{Number: 1, Length: 60 * units.Foot, Girders: 1, Spacing: 8 * units.Foot, From: "A1", To: "A2"}},
		Sections: []repair.Section{{Name: "W33X130", Kind: "rolled", Depth: 33.1 * units.Inch, FlangeWidth: 11.5 * units.Inch, TopFlangeWidth: 11.5 * units.Inch,
			FlangeThickness: 0.855 * units.Inch, TopFlangeThickness: 0.855 * units.Inch, WebThickness: 0.58 * units.Inch, FilletK: 1.56 * units.Inch}},
		Ends: []repair.EndIn{{Span: 1, Side: "N", Girder: 1, Support: "A1", Face: "ahead", Section: "W33X130", Facts: repair.EndFacts{BearingKind: "bolster",
			BearingLength: 8 * units.Inch, BearingWidth: 11 * units.Inch, Fy: 33 * units.Ksi, Fu: 66 * units.Ksi, HeldAgainstRoll: true,
			Reaction: 110 * units.Kip, Access: "open"}}},
	}}))
	return s
}

func (s *story) do(role authz.Role, ch repair.Change) error {
	after := s.Scope.Clone()
	c := repair.Context{Actor: repair.Actor{ID: "user-" + string(role), Name: "Test " + string(role), Role: role}, Now: s.now, Captured: s.now,
		NewID: func() string { s.n++; return fmt.Sprintf("id-%06d", s.n) }}
	if err := ch.Apply(after, c); err != nil {
		return err
	}
	if err := after.Recompute(); err != nil {
		return err
	}
	s.Scope = after
	s.now = s.now.Add(time.Hour)
	return nil
}

func grid(at func(i, j int) float64) repair.RecordSurvey {
	ch := repair.RecordSurvey{Facts: repair.SurveyFacts{Kind: "as_found", Method: "ultrasonic"}}
	for j := range 8 {
		for i := range 8 {
			ch.Readings = append(ch.Readings, repair.ReadingIn{Face: "T", X: units.Length(2+3*i) * units.Inch, Z: units.Length(1+3*j) * units.Inch,
				T: units.Length(0.58*(1-at(i, j))) * units.Inch})
		}
	}
	return ch
}

func capacity(s *story) float64 { return float64(*s.Ends[0].State[0].Capacity) }

// More loss anywhere never raises what the end can carry.
func TestMoreLossNeverRaisesCapacity(t *testing.T) {
	t.Parallel()
	base := begin(t)
	rapid.Check(t, func(t *rapid.T) {
		loss := rapid.SliceOfN(rapid.Float64Range(0, 0.9), 64, 64).Draw(t, "loss")
		k := rapid.IntRange(0, 63).Draw(t, "where")
		more := rapid.Float64Range(0, 1).Draw(t, "more")
		a, b := &story{Scope: base.Scope.Clone(), now: noon}, &story{Scope: base.Scope.Clone(), now: noon}
		require.NoError(t, a.do(authz.Inspector, grid(func(i, j int) float64 { return loss[8*j+i] })))
		loss[k] += more * (1 - loss[k])
		require.NoError(t, b.do(authz.Inspector, grid(func(i, j int) float64 { return loss[8*j+i] })))
		require.LessOrEqual(t, capacity(b), capacity(a)*(1+1e-12))
	})
}

// The order in which readings come does not matter.
func TestOrderOfReadingsDoesNotMatter(t *testing.T) {
	t.Parallel()
	base := begin(t)
	rapid.Check(t, func(t *rapid.T) {
		loss := rapid.SliceOfN(rapid.Float64Range(0, 0.9), 64, 64).Draw(t, "loss")
		ch := grid(func(i, j int) float64 { return loss[8*j+i] })
		a, b := &story{Scope: base.Scope.Clone(), now: noon}, &story{Scope: base.Scope.Clone(), now: noon}
		require.NoError(t, a.do(authz.Inspector, ch))
		ch.Readings = rapid.Permutation(ch.Readings).Draw(t, "order")
		require.NoError(t, b.do(authz.Inspector, ch))
		require.Equal(t, a.Ends[0].State[0].InputDigest, b.Ends[0].State[0].InputDigest)
		require.Equal(t, capacity(a), capacity(b))
	})
}

// proposed records a survey with half of the web lost low down and lets the
// program lay the repair out.
func proposed(t require.TestingT) *story {
	s := begin(t)
	require.NoError(t, s.do(authz.Inspector, grid(func(i, j int) float64 { return max(0, 0.5-0.15*float64(j)) })))
	r := s.Ends[0]
	d, err := encasement.Propose(s.Basis(), r.Geometry(s.Scope), r.Steel(s.Scope), r.End.Reaction, encasement.Materials{
		StudDiameter: 0.75 * units.Inch, StudHeight: 4 * units.Inch, StudFu: 60 * units.Ksi, Fc: 18 * units.Ksi})
	require.NoError(t, err)
	require.NoError(t, s.do(authz.Designer, repair.SaveDesign{Design: repair.DesignFrom(d)}))
	return s
}

func TestApprovalGoesOutOfDateAndIsConfirmed(t *testing.T) {
	t.Parallel()
	s := proposed(t)
	require.Less(t, capacity(s), float64(110*units.Kip), "the corroded end must be short, or the case shows nothing")
	require.GreaterOrEqual(t, float64(*s.Ends[0].State[0].Repaired), float64(110*units.Kip))
	require.NoError(t, s.do(authz.Designer, repair.SubmitDesign{}))
	d := s.Ends[0].LatestDesign()
	digest := s.Ends[0].DesignDigest(s.Scope, d)

	own := repair.ReviewDesign{DesignID: d.ID, Decision: "approved", Digest: digest}
	require.ErrorIs(t, s.do(authz.Designer, own), fault.Refused, "nobody reviews a design of their own")
	moved := own
	moved.Digest = "something else"
	require.ErrorIs(t, s.do(authz.Engineer, moved), fault.Conflict)
	noReason := own
	noReason.Decision = "returned"
	require.ErrorIs(t, s.do(authz.Engineer, noReason), fault.Fields)
	require.NoError(t, s.do(authz.Engineer, own))
	require.False(t, s.Ends[0].State[0].OutOfDate)

	// Cleaning finds more loss away from the studs.
	ch := grid(func(i, j int) float64 {
		if i == 7 && j == 7 {
			return 0.1
		}
		return max(0, 0.5-0.15*float64(j))
	})
	ch.Facts.Kind = "cleaned"
	require.NoError(t, s.do(authz.Inspector, ch))
	require.True(t, s.Ends[0].State[0].OutOfDate)

	d = s.Ends[0].LatestDesign()
	require.ErrorIs(t, s.do(authz.Engineer, repair.ConfirmDesign{DesignID: d.ID, Digest: digest}), fault.Conflict)
	require.NoError(t, s.do(authz.Engineer, repair.ConfirmDesign{DesignID: d.ID, Digest: s.Ends[0].DesignDigest(s.Scope, d), Reasons: "away from the studs"}))
	require.False(t, s.Ends[0].State[0].OutOfDate)

	back := grid(func(i, j int) float64 { return max(0, 0.55-0.15*float64(j)) })
	back.Facts.Kind = "as_found"
	require.ErrorIs(t, s.do(authz.Inspector, back), fault.Refused, "steel does not get dirty again")
}

func TestRejectedStudsLowerTheRepair(t *testing.T) {
	t.Parallel()
	s := proposed(t)
	full := float64(*s.Ends[0].State[0].Repaired)
	d := s.Ends[0].LatestDesign()
	studs := s.Ends[0].StudsOf(d.ID)
	require.NoError(t, s.do(authz.Inspector, repair.RecordCollars{DesignID: d.ID, Collars: []repair.CollarIn{{Mark: studs[0].Mark, Outcome: "rejected"}}}))
	var welded float64
	for _, x := range s.Ends[0].Results {
		if x.Subject == "as_welded" {
			welded = float64(x.Capacity)
		}
	}
	require.Positive(t, welded)
	require.Less(t, welded, full)
	require.ErrorIs(t, s.do(authz.Inspector, repair.RecordCollars{DesignID: d.ID, Collars: []repair.CollarIn{{Mark: "X-9-9", Outcome: "full"}}}), fault.Fields)
}

func TestImpossibleFindingsAreRefusedAtTheirField(t *testing.T) {
	t.Parallel()
	s := begin(t)
	for field, spoil := range map[string]func(*repair.RecordSurvey){
		"kind":         func(c *repair.RecordSurvey) { c.Facts.Kind = "guessed" },
		"readings":     func(c *repair.RecordSurvey) { c.Readings = nil },
		"readings.0.t": func(c *repair.RecordSurvey) { c.Readings[0].T = 0.8 * units.Inch },
		"readings.1.t": func(c *repair.RecordSurvey) { c.Readings[1].T = -1 },
		"readings.2.z": func(c *repair.RecordSurvey) { c.Readings[2].Z = 900 * units.Inch },
		"holes.0.width": func(c *repair.RecordSurvey) {
			c.Holes = []repair.HoleIn{{X: 10, Z: 10, Width: -3, Height: 5}}
		},
	} {
		ch := grid(func(int, int) float64 { return 0.2 })
		spoil(&ch)
		err := s.do(authz.Inspector, ch)
		var bad *fault.Invalid
		require.ErrorAs(t, err, &bad, field)
		require.NotNil(t, bad.Of(field), "%s: %v", field, err)
		require.Empty(t, s.Ends[0].Surveys)
	}
	ch := grid(func(int, int) float64 { return 0.2 })
	ch.Readings[0].T, ch.Facts.ThickerReason = 0.8*units.Inch, "doubler plate welded in an earlier repair"
	require.NoError(t, s.do(authz.Inspector, ch))
}

func BenchmarkEvaluateEnd(b *testing.B) {
	s := proposed(b)
	r := s.Ends[0]
	b.ReportAllocs()
	for b.Loop() {
		_, _ = r.Evaluate(s.Scope, nil)
	}
}

func BenchmarkNumbersOfEnd(b *testing.B) {
	s := proposed(b)
	r := s.Ends[0]
	b.ReportAllocs()
	for b.Loop() {
		r.Numbers(s.Scope, nil)
	}
}

func BenchmarkRecompute(b *testing.B) {
	s := proposed(b)
	b.ReportAllocs()
	for b.Loop() {
		if err := s.Recompute(); err != nil {
			b.Fatal(err)
		}
	}
}

// A proposal made through rust stands a little more loss where there is sound
// web to go to.
func TestProposalLeavesMetalForCleaning(t *testing.T) {
	t.Parallel()
	s := proposed(t)
	require.NoError(t, s.do(authz.Inspector, grid(func(i, j int) float64 { return max(0, 0.5-0.15*float64(j)) + 0.05 })))
	for _, r := range s.Ends[0].Results {
		if r.Subject == "repaired" {
			require.Equal(t, "passes", r.Verdict, r.Governing)
		}
	}
}
