package repair_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// The approval tells of itself through the life of a revision, and the short form that
// lists use never says it better than the long one.
func TestApprovalTellsHowItStands(t *testing.T) {
	t.Parallel()
	s := begin(t)
	stands := func(want repair.Standing, because string) repair.Approval {
		t.Helper()
		r := s.Ends[0]
		a := r.ApprovalNow(s.Scope, units.US)
		require.Equal(t, want, a.Standing, a.Because)
		require.Contains(t, a.Because, because)
		revision, state := 0, ""
		for _, d := range r.Designs {
			if d.State == repair.DesignApproved || d.State == repair.DesignApprovedNoted {
				revision, state = d.Revision, d.State
			}
		}
		require.Equal(t, want, repair.ApprovalInList(r.State[0], revision, state).Standing, "lists say the same")
		return a
	}
	require.False(t, stands(repair.ApprovalNone, "no design").Builds())
	s = proposed(t)
	stands(repair.ApprovalNone, "revision 1 is a draft")
	require.NoError(t, s.do(authz.Designer, repair.SubmitDesign{}))
	stands(repair.ApprovalNone, "revision 1 is submitted and waits for review")

	approve := func(decision, reasons string) {
		d := s.Ends[0].LatestDesign()
		require.NoError(t, s.do(authz.Engineer, repair.ReviewDesign{DesignID: d.ID, Decision: decision, Reasons: reasons, Digest: s.Ends[0].DesignDigest(s.Scope, d)}))
	}
	approve(repair.DesignApprovedNoted, "cover 2 in at the left\nno stud at the cope")
	a := stands(repair.ApprovalNoted, "")
	require.Equal(t, []string{"cover 2 in at the left", "no stud at the cope"}, a.Notes)
	require.Equal(t, "Test engineer", a.By)
	require.True(t, a.Builds())

	up := 63
	thinner := func(by units.Length) {
		require.NoError(t, s.do(authz.Inspector, again(func(c *repair.RecordSurvey) { c.Readings[up].T -= by })))
	}
	thinner(0.02 * units.Inch)
	a = stands(repair.ApprovalConfirms, "survey 2 came after the approval")
	require.False(t, a.Builds(), "work waits for the signature unless the owner says otherwise")
	require.NoError(t, s.do(authz.Engineer, set(basis.ReviewConfirmsWaits, 0)))
	require.True(t, stands(repair.ApprovalConfirms, "survey 2").Builds())
	thinner(0.1 * units.Inch)
	require.False(t, stands(repair.ApprovalLook, "remaining thickness").Builds())
	thinner(0.13 * units.Inch)
	require.False(t, stands(repair.ApprovalOutOfDate, "0.130").Builds())

	// A later draft leaves the approval what it is.
	require.NoError(t, s.do(authz.Designer, repair.SaveDesign{Design: repair.DesignFrom(*s.Ends[0].DesignOf(s.Ends[0].LatestDesign()))}))
	require.Equal(t, 1, stands(repair.ApprovalOutOfDate, "").Revision)
}
