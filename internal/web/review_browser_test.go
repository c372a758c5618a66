package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// passing is a design that passes on the latest survey of an end.
func (p *testProgram) passing(end string) repair.SaveDesign {
	p.t.Helper()
	s := p.Scope(end)
	r := s.Ends[0]
	d, err := encasement.Propose(s.Basis(), r.Geometry(s), r.Steel(s), r.End.Reaction,
		encasement.Materials{StudDiameter: 0.75 * units.Inch, StudHeight: 4 * units.Inch, StudFu: 65 * units.Ksi, Fc: 18 * units.Ksi})
	require.NoError(p.t, err)
	return repair.SaveDesign{Design: repair.DesignFrom(d)}
}

func TestReviewJourney(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Inspector, "1N-1", asFound(0.3))
	p.Do(authz.Designer, "1N-1", p.passing("1N-1"))
	p.Do(authz.Designer, "1N-1", repair.SubmitDesign{})

	page := p.Browser(authz.Engineer)
	page.SetViewport(1280, 800)
	page.Open(p.Path("reviews"))
	require.Contains(t, page.Text(".index"), "1", "the index tells how many wait")
	require.Equal(t, 200, page.Submit("main table a[href$='/designs/1/review']"))
	p.Look(page, page.Path(), "review-submitted")
	page.Click("[name=decision][value=approved]")
	require.Equal(t, 200, page.Submit("#decision button[type=submit]"))
	require.Contains(t, page.Text("main"), "Revision 1 is approved.")
	require.Equal(t, repair.DesignApproved, p.End("1N-1").LatestDesign().State)

	// Cleaning finds more loss: the approval says so itself.
	found := asFound(0.33)
	found.Facts.Kind = "cleaned"
	p.Do(authz.Inspector, "1N-1", found)
	page.Open(p.Path("ends", "1N-1", "designs", "1"))
	require.Contains(t, page.Text(".design-moved"), "Survey 2")
	p.Look(page, p.Path("ends", "1N-1", "designs", "1"), "revision-stale")
	p.Look(page, p.Path("reviews"), "reviews")
	page.Open(p.Path("ends", "1N-1", "designs", "1", "review"))
	page.Axe(t)
	page.Choose("#f-reasons", "The loss found stays outside the studs.")
	require.Equal(t, 200, page.Submit("#confirmation button[type=submit]"))
	require.Contains(t, page.Text("main"), "is confirmed for what was found since")
	require.False(t, p.End("1N-1").State[0].OutOfDate)
	require.False(t, page.Exists(".design-moved"))

	// A second revision is laid over the first.
	second := p.passing("1N-1")
	second.Design.Studs[0].X += units.Inch / 2
	second.Design.Studs = second.Design.Studs[:len(second.Design.Studs)-1]
	second.Design.PanelWidth += units.Inch
	second.Design.Note = "The last stud would meet the cope; to be looked at as it is."
	p.Do(authz.Designer, "1N-1", second)
	p.Do(authz.Designer, "1N-1", repair.SubmitDesign{})
	p.Look(page, p.Path("ends", "1N-1", "designs", "2", "review"), "review-second")
	require.Contains(t, page.Text(".compared"), "removed")
	require.Empty(t, page.Problems())
}
