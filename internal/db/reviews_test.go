package db_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
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

var limits = repair.ReviewLimitsFrom(basis.Basis{})

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
		got, err := b.Reviews(b.ctx, b.program, time.Now(), limits, 1, 50)
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

	got, err := b.Reviews(b.ctx, b.program, time.Now(), limits, 1, 50)
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
	got, err = b.Reviews(b.ctx, b.program, time.Now(), limits, 1, 50)
	require.NoError(t, err)
	require.Equal(t, 1, got.Rows[2].Revision)
	require.Equal(t, 2, *got.Rows[2].DesignRevision)
	// Submitted, it is the one that waits.
	must(authz.Designer, "1N-2", repair.SubmitDesign{})
	got, err = b.Reviews(b.ctx, b.program, time.Now(), limits, 1, 50)
	require.NoError(t, err)
	require.Equal(t, []string{"1F-1", "1N-1", "1N-2"}, list())
	require.Equal(t, 2, got.Rows[2].Revision)
	require.NotNil(t, got.Rows[2].Submitted)

	page, err := b.Reviews(b.ctx, b.program, time.Now(), limits, 2, 2)
	require.NoError(t, err)
	require.Len(t, page.Rows, 1)
	require.Equal(t, 3, page.Total)
	other, err := b.Reviews(b.ctx, newID(), time.Now(), limits, 1, 50)
	require.NoError(t, err)
	require.Empty(t, other.Rows)
}

// Each way of being urgent, made by rows that differ in nothing else, comes in its
// place, and the owner's limits move it.
func TestReviewsComeInTheOrderOfTheirUrgency(t *testing.T) {
	t.Parallel()
	b := setup(t)
	now := time.Date(2030, 6, 3, 12, 0, 0, 0, time.UTC)
	names := []string{"1N-1", "1N-2", "1F-1", "1F-2", "2N-1", "2N-2", "2F-1", "2F-2"}
	var have []string
	require.NoError(t, b.Pool.QueryRow(b.ctx, "select array_agg(name order by sort_key) from end_state where program_id = $1", b.program).Scan(&have))
	if len(have) < len(names) {
		names = have
	}
	for _, name := range names {
		_, err := b.do(authz.Inspector, b.end(t, name), someSurvey(0.2))
		require.NoError(t, err)
		_, err = b.do(authz.Designer, b.end(t, name), repair.SaveDesign{Design: reviewable()})
		require.NoError(t, err)
		_, err = b.do(authz.Designer, b.end(t, name), repair.SubmitDesign{})
		require.NoError(t, err)
	}
	require.GreaterOrEqual(t, len(names), 4)
	set := func(name, what string) {
		t.Helper()
		tag, err := b.Pool.Exec(b.ctx, "update end_state set "+what+" where program_id = $1 and name = $2", b.program, name)
		require.NoError(t, err)
		require.EqualValues(t, 1, tag.RowsAffected())
	}
	for _, name := range names {
		set(name, "waits_since = '2030-06-02', capacity_n = 2 * demand_n, stale = ''")
	}
	set(names[0], "capacity_n = demand_n / 2")
	set(names[1], "waits_since = '2030-05-20'")
	set(names[2], "access = 'ramp'")
	set(names[3], "stale = 'stops'")
	_, err := b.Pool.Exec(b.ctx, `insert into access_window (id, program_id, kind, starts_at, ends_at, productive_h, state) values (gen_random_uuid(), $1, 'ramp', '2030-06-10', '2030-06-11', 4, 'granted')`, b.program)
	require.NoError(t, err)
	order := func(l repair.ReviewLimits) (out []string) {
		got, err := b.Reviews(b.ctx, b.program, now, l, 1, 50)
		require.NoError(t, err)
		for i, r := range got.Rows[:4] {
			out = append(out, r.Name)
			if l == limits {
				require.Equal(t, repair.Urgency(i), r.Urgency)
			}
			require.Equal(t, len(names), r.Alike, "all have one layout")
		}
		return out
	}
	require.Equal(t, []string{names[3], names[2], names[1], names[0]}, order(limits))
	day := 24 * time.Hour
	require.Equal(t, []string{names[3], names[1], names[0], names[2]}[:3], order(repair.ReviewLimits{WindowNear: day, WaitLong: 7 * day})[:3], "the window is not near")
	require.Equal(t, []string{names[3], names[2], names[0]}, order(repair.ReviewLimits{WindowNear: 14 * day, WaitLong: 30 * day})[:3], "nobody waits long")
	like, err := b.Alike(b.ctx, b.program, names[0], 100)
	require.NoError(t, err)
	require.Len(t, like, len(names))
}
