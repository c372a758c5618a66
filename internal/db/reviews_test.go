package db_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

func reviewable() repair.DesignIn {
	in := repair.DesignIn{StudDiameter: 0.75 * units.Inch, StudHeight: 4 * units.Inch, StudFu: 65 * units.Ksi, Fc: 18 * units.Ksi,
		PanelWidth: 16 * units.Inch, PanelHeight: 20 * units.Inch, PanelLeft: 5 * units.Inch, PanelRight: 5 * units.Inch, Note: "to be looked at as it is"}
	for i := range 3 {
		in.Studs = append(in.Studs, repair.StudIn{Mark: string(rune('a' + i)), Row: i + 1, Col: 1, X: 4 * units.Inch, Z: units.Length(6+5*i) * units.Inch, Face: "L"})
	}
	return in
}

func TestReviews(t *testing.T) {
	t.Parallel()
	b := setup(t)
	must := func(role authz.Role, name string, ch repair.Change) {
		t.Helper()
		_, err := b.do(role, b.end(t, name), ch)
		require.NoError(t, err)
	}
	approve := func(name string) {
		t.Helper()
		s, err := b.End(b.ctx, b.program, name)
		require.NoError(t, err)
		d := s.Ends[0].LatestDesign()
		must(authz.Engineer, name, repair.ReviewDesign{DesignID: d.ID, Decision: repair.DesignApproved, Digest: s.Ends[0].DesignDigest(s, d)})
	}
	list := func() []string {
		t.Helper()
		got, err := b.Reviews(b.ctx, b.program, time.Now(), 1, 50)
		require.NoError(t, err)
		var names []string
		for _, r := range got.Rows {
			names = append(names, r.Name)
		}
		require.Equal(t, len(names), got.Total)
		n, err := b.ReviewCount(b.ctx, b.program)
		require.NoError(t, err)
		require.Equal(t, got.Total, n)
		return names
	}
	require.Empty(t, list())

	for _, name := range []string{"1N-1", "1N-2", "1F-1", "1F-2"} {
		loss := 0.2
		if name == "1F-1" {
			loss = 0.97 // carries less than its demand
		}
		must(authz.Inspector, name, someSurvey(loss))
		must(authz.Designer, name, repair.SaveDesign{Design: reviewable()})
	}
	require.Empty(t, list(), "a draft waits for nobody")
	for _, name := range []string{"1N-2", "1N-1", "1F-1"} {
		must(authz.Designer, name, repair.SubmitDesign{})
	}
	require.Equal(t, []string{"1F-1", "1N-2", "1N-1"}, list(), "short of capacity first, then the longest waiting")

	approve("1N-2")
	require.Equal(t, []string{"1F-1", "1N-1"}, list())
	must(authz.Inspector, "1N-2", repair.RecordSurvey{Facts: repair.SurveyFacts{Kind: "cleaned"}, Readings: someSurvey(0.19).Readings})
	require.Equal(t, []string{"1F-1", "1N-1", "1N-2"}, list(), "out of date comes after what was submitted")

	got, err := b.Reviews(b.ctx, b.program, time.Now(), 1, 50)
	require.NoError(t, err)
	asked, stale := got.Rows[0], got.Rows[2]
	require.Equal(t, 1, asked.Revision)
	require.Equal(t, b.people[authz.Designer].ID, asked.DesignerID)
	require.Equal(t, b.people[authz.Designer].Name, asked.Designer)
	require.NotNil(t, asked.Submitted)
	require.Nil(t, asked.Approved)
	require.Nil(t, stale.Submitted)
	require.NotNil(t, stale.Approved)
	require.Equal(t, b.people[authz.Engineer].Name, stale.Approver)
	require.Equal(t, 2, *stale.NewSurvey)
	require.Equal(t, 20, stale.Corrected)
	require.Nil(t, stale.Window)

	// A draft of a next revision leaves the approved one in the list, under its own number.
	must(authz.Designer, "1N-2", repair.SaveDesign{Design: reviewable()})
	got, err = b.Reviews(b.ctx, b.program, time.Now(), 1, 50)
	require.NoError(t, err)
	require.Equal(t, 1, got.Rows[2].Revision)
	require.Equal(t, 2, *got.Rows[2].DesignRevision)
	// Submitted, it is the one that waits.
	must(authz.Designer, "1N-2", repair.SubmitDesign{})
	got, err = b.Reviews(b.ctx, b.program, time.Now(), 1, 50)
	require.NoError(t, err)
	require.Equal(t, []string{"1F-1", "1N-1", "1N-2"}, list())
	require.Equal(t, 2, got.Rows[2].Revision)
	require.NotNil(t, got.Rows[2].Submitted)

	page, err := b.Reviews(b.ctx, b.program, time.Now(), 2, 2)
	require.NoError(t, err)
	require.Len(t, page.Rows, 1)
	require.Equal(t, 3, page.Total)
	other, err := b.Reviews(b.ctx, newID(), time.Now(), 1, 50)
	require.NoError(t, err)
	require.Empty(t, other.Rows)
}
