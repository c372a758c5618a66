package repair_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// twins is a program with two ends on which one layout waits, and what a reviewer has on
// the screen of both.
func twins(t *testing.T) (*story, []repair.DecidedEnd) {
	t.Helper()
	s := proposed(t)
	require.NoError(t, s.do(authz.Designer, repair.SubmitDesign{}))
	twin := s.Scope.Clone().Ends[0]
	twin.End.ID, twin.End.Name = "twin", "1N-2"
	twin.State, twin.Results, twin.Outlook = nil, nil, nil
	s.Ends = append(s.Ends, twin)
	require.NoError(t, s.Recompute())
	var on []repair.DecidedEnd
	for _, r := range s.Ends {
		d := r.LatestDesign()
		on = append(on, repair.DecidedEnd{End: r.End.Name, DesignID: d.ID, Digest: r.DesignDigest(s.Scope, d)})
	}
	require.Equal(t, s.Ends[0].State[0].WaitsLayout, s.Ends[1].State[0].WaitsLayout)
	return s, on
}

func TestReviewSeveralKeepsADecisionForEach(t *testing.T) {
	t.Parallel()
	s, on := twins(t)
	s.Ends[1].End.Reaction -= 5 * units.Kip // another demand, so another digest
	on[1].Digest = s.Ends[1].DesignDigest(s.Scope, s.Ends[1].LatestDesign())
	require.NotEqual(t, on[0].Digest, on[1].Digest)
	require.NoError(t, s.do(authz.Engineer, repair.ReviewDesigns{Ends: on, Decision: repair.DesignApprovedNoted, Reasons: "cover 2 in"}))
	for i, r := range s.Ends {
		require.Equal(t, repair.DesignApprovedNoted, r.LatestDesign().State)
		require.Len(t, r.Reviews, 1)
		require.Equal(t, on[i].Digest, r.Reviews[0].InputDigest, "each signs for its own inputs")
		require.NotEmpty(t, r.Reviews[0].StandsOn)
		require.Equal(t, repair.MeaningNoted, r.Reviews[0].Meaning)
		require.Equal(t, []string{"cover 2 in"}, r.NotesOf(r.LatestDesign()))
	}
	require.NotEqual(t, s.Ends[0].Reviews[0].ID, s.Ends[1].Reviews[0].ID)
}

func TestReviewSeveralIsAllOrNothing(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		alter func(s *story, on []repair.DecidedEnd, ch *repair.ReviewDesigns)
		kind  fault.Kind
		says  string
	}{
		"one moved": {func(_ *story, on []repair.DecidedEnd, _ *repair.ReviewDesigns) { on[1].Digest = "older" }, fault.Conflict, "nothing was recorded at any end; 1N-2: what this design stands on has moved"},
		"one was decided": {func(s *story, _ []repair.DecidedEnd, _ *repair.ReviewDesigns) {
			s.Ends[1].Designs[0].State = repair.DesignReturned
		}, fault.Refused, "1N-2: revision 1 is not waiting"},
		"one is their own": {func(s *story, _ []repair.DecidedEnd, _ *repair.ReviewDesigns) {
			s.Ends[0].Designs[0].DesignedBy = "user-engineer"
		}, fault.Refused, "1N-1: revision 1 is your own design"},
		"no decision":         {func(_ *story, _ []repair.DecidedEnd, ch *repair.ReviewDesigns) { ch.Decision = "" }, fault.Fields, "must be approved"},
		"returned in silence": {func(_ *story, _ []repair.DecidedEnd, ch *repair.ReviewDesigns) { ch.Decision = repair.DesignReturned }, fault.Fields, "say what is noted, or why it is returned"},
		"not alike": {func(s *story, on []repair.DecidedEnd, _ *repair.ReviewDesigns) {
			s.Ends[1].Designs[0].PanelWidth += units.Inch
			on[1].Digest = s.Ends[1].DesignDigest(s.Scope, s.Ends[1].LatestDesign())
		}, fault.Refused, "1N-2: its layout or its section is not that of 1N-1"},
		"one not named": {func(_ *story, on []repair.DecidedEnd, _ *repair.ReviewDesigns) { on[1].End = "9N-9" }, fault.Malformed, "does not name 1N-2"},
		"no such one":   {func(_ *story, on []repair.DecidedEnd, _ *repair.ReviewDesigns) { on[1].DesignID = "none" }, fault.NotFound, "1N-2 has no such revision"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s, on := twins(t)
			ch := repair.ReviewDesigns{Ends: on, Decision: repair.DesignApproved}
			c.alter(s, on, &ch)
			err := s.do(authz.Engineer, ch)
			require.ErrorIs(t, err, c.kind)
			require.Contains(t, fault.Message(err), c.says)
			for _, r := range s.Ends {
				require.Empty(t, r.Reviews)
			}
		})
	}
}

// What all share is told once; what differs has a value for each.
func TestCommonSplitsWhatIsShared(t *testing.T) {
	t.Parallel()
	s, _ := twins(t)
	stands := func() (out [][]repair.StandFact) {
		for _, r := range s.Ends {
			out = append(out, r.StandsOn(s.Scope, r.LatestDesign()))
		}
		return out
	}
	shared, differ := repair.Common(stands())
	require.Empty(t, differ)
	require.Len(t, shared, len(stands()[0]))
	s.Ends[1].End.Reaction += 7 * units.Kip
	shared, differ = repair.Common(stands())
	require.NotEmpty(t, shared)
	names := map[string]bool{}
	for _, row := range differ {
		require.Len(t, row, 2)
		require.NotEqual(t, row[0].Sum, row[1].Sum)
		names[row[0].Key] = true
	}
	require.True(t, names["demand"])
	require.False(t, names["end.fy"])
}
