package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
)

// alike is several ends on which one layout waits for review.
func (p *testProgram) alike(ends ...string) {
	p.t.Helper()
	for i, end := range ends {
		p.Do(authz.Inspector, end, asFound(0.3-0.02*float64(i)))
	}
	one := p.passing(ends[0])
	for _, end := range ends {
		p.Do(authz.Designer, end, one)
		p.Do(authz.Designer, end, repair.SubmitDesign{})
	}
}

func TestReviewSeveralInOneSitting(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.alike("1N-1", "1N-2", "1F-1")
	at := p.Path("reviews", "together")
	c := p.Role(authz.Engineer)
	c.Get(p.Path("reviews")).Status(200).Has("3 alike, in one sitting", "together?like=1N-2")
	a := c.Get(at + "?like=1N-2").Status(200).Has("3 ends with one layout")
	require.Len(t, a.Select("#decision [name=end]"), 3)
	require.Empty(t, a.Select("#decision [name=end][checked]"), "nothing is ticked for the reviewer")
	a.Has("Least remaining thickness", "Ratios of checks that are not the same at all ends")
	form := fieldsOf(a, "#decision")
	form["shown"] = []string{"1N-1", "1N-2", "1F-1"}

	// What is missing is named, and what was typed stays.
	bad := send(c, at, with(form, "reasons", "as at the neighbours")).Status(422)
	bad.Has("Tick the ends that the decision is for", "Must be approved, approved as noted or returned", "as at the neighbours")
	tick := func(entry string, ends ...string) map[string][]string {
		f := with(form, "entry", entry, "decision", repair.DesignApprovedNoted, "reasons", "cover 2 in at the left")
		f["end"] = ends
		return f
	}

	// One of them moves: it is refused by name, nothing is stored, the other ticks stay.
	found := asFound(0.32)
	found.Facts.Kind = "cleaned"
	p.Do(authz.Inspector, "1N-2", found)
	stale := send(c, at, tick(newEntryID(), "1N-1", "1N-2")).Status(409)
	stale.Has("1N-2: what this design stands on has moved", "Nothing was recorded at any end", "cover 2 in at the left", "Its record moved while you looked")
	require.NotEmpty(t, stale.Select("[name=end][value='1N-1'][checked]"))
	require.Empty(t, stale.Select("[name=end][value='1N-2'][checked]"), "the one that moved is ticked again by hand")
	require.NotEmpty(t, stale.Select("[name=decision][value=approved_as_noted][checked]"))
	for _, end := range []string{"1N-1", "1N-2", "1F-1"} {
		require.Empty(t, p.End(end).Reviews)
	}
	require.NotEqual(t, form.Get("digest-1N-2"), fieldsOf(stale, "#decision").Get("digest-1N-2"))

	// Those that are ticked get each a decision of their own; sent twice it counts once.
	entry := newEntryID()
	send(c, at, tick(entry, "1N-1", "1F-1")).LeadsTo(p.Path("reviews")).Follow().Has("Approved as noted at 1N-1, 1F-1, each with a decision of its own.")
	send(c, at, tick(entry, "1N-1", "1F-1")).LeadsTo(p.Path("reviews"))
	digests := map[string]bool{}
	for _, end := range []string{"1N-1", "1F-1"} {
		r := p.End(end)
		require.Len(t, r.Reviews, 1)
		require.Equal(t, form.Get("digest-"+end), r.Reviews[0].InputDigest)
		digests[r.Reviews[0].InputDigest] = true
		c.Get(p.Path("ends", end, "history")).Status(200).Has("Like designs reviewed in one sitting")
	}
	require.Len(t, digests, 2)
	require.Empty(t, p.End("1N-2").Reviews)
	again := send(c, at, tick(newEntryID(), "1N-1", "1N-2")).Status(409)
	again.Has("1N-1: revision 1 is not waiting for review", "1N-2: what this design stands on has moved")

	// Who may look and who may decide.
	p.Role(authz.Manager).Get(at+"?end=1N-2&end=1N-1").Status(200).Has("1 end with one layout", "1N-1: revision 1 is approved as noted").None("form#decision")
	send(p.Role(authz.Manager), at, form).Status(403)
	c.Get(at).Status(200).Has("None of these ends has a revision that waits")
	c.Get(at + "?end=9N-9").Status(404)
	p.AsIn(p.NewProgram("other"), authz.Engineer).Get(at + "?end=1N-2").Status(404)
}

func TestReviewSittingPage(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.alike("1N-1", "1N-2", "1F-1", "1F-2")
	page := p.Browser(authz.Engineer)
	p.Look(page, p.Path("reviews", "together")+"?like=1N-1", "sitting")
	page.Click("[name=end][value='1N-1']")
	page.Click("[name=end][value='1F-2']")
	page.Click("[name=decision][value=approved]")
	require.Equal(t, 200, page.Submit("#decision button[type=submit]"))
	require.Contains(t, page.Text("main"), "2 alike, in one sitting")
	require.Equal(t, repair.DesignApproved, p.End("1F-2").LatestDesign().State)
	require.Equal(t, repair.DesignSubmitted, p.End("1N-2").LatestDesign().State)
	p.Look(page, p.Path("reviews"), "reviews-alike")
}
