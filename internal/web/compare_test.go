package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// compared is an end with an approved revision, a survey after it, and a second revision
// that differs in studs and panel.
func (p *testProgram) compared(end string) {
	p.t.Helper()
	p.submitted(end)
	s := p.Scope(end)
	d := s.Ends[0].LatestDesign()
	p.Do(authz.Engineer, end, repair.ReviewDesign{DesignID: d.ID, Decision: repair.DesignApproved, Digest: s.Ends[0].DesignDigest(s, d)})
	found := asFound(0.33)
	found.Facts.Kind = "cleaned"
	p.Do(authz.Inspector, end, found)
	second := p.passing(end)
	second.Design.PanelWidth += 2 * units.Inch
	second.Design.Studs[0].X += units.Inch
	second.Design.Studs[1].Mark = "L-extra"
	second.Design.Studs = second.Design.Studs[:len(second.Design.Studs)-1]
	second.Design.Note = "the last stud would meet the cope"
	p.Do(authz.Designer, end, second)
	p.Do(authz.Designer, end, repair.SubmitDesign{})
}

func TestCompareRevisions(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	at := p.Path("ends", "1N-1", "compare")
	c := p.Role(authz.Inspector)
	c.Get(at).Status(200).Has("This end has no design yet")
	p.submitted("1N-1")
	c.Get(at).Status(200).Has("Revision 1 is the only one")
	c.Get(at + "?was=1&is=now").Status(200).Has("Nothing differs")
	p.compared("1N-2")
	at = p.Path("ends", "1N-2", "compare")
	a := c.Get(at).Status(200)
	require.Equal(t, "2", a.One("#f-is option[selected]")[len("Revision "):len("Revision ")+1])
	require.Contains(t, a.One(".compare-sides"), "with everything it stood on as kept when it was approved")
	layout := a.One(".board-changes table")
	for _, words := range []string{"Panel width ! changed", "Stud L-1-1 ! moved", "Stud L-extra A added", "stands where L-1-2 was", "L-extra stands there", "+1.000 in, 0.000 in"} {
		require.Contains(t, layout, words)
	}
	a.Has("Checks that came out otherwise", "Inputs that differ", "Survey 2, taken", "thinner")
	require.NotEmpty(t, a.Select(".stud-ghost"))
	require.NotEmpty(t, a.Select(".dwg .pin"), "readings that changed are numbered in the drawing")
	require.Contains(t, a.One(".compare-said"), "1 stud moved, 1 new, ")

	// A revision against what the field found, with what it means by the owner's rules.
	now := c.Get(at + "?was=1&is=now").Status(200)
	require.Contains(t, now.One(".design-moved"), "merely confirms")
	require.Empty(t, now.Select(".stud-ghost"), "it is one layout")
	now.Has("The two layouts are alike.")

	// The same, asked the wrong way round, and what is not there.
	require.Contains(t, c.Get(at+"?was=2&is=1").Status(200).One(".board-changes table"), "Stud L-extra X removed")
	c.Get(at + "?was=9&is=1").Status(404).Has("has no revision 9")
	c.Get(p.Path("ends", "1N-2", "designs", "2", "review")).Has("was=1&amp;is=2")
	c.Get(p.Path("ends", "1N-2", "designs", "1")).Has("Compare with what is known now")
	p.AsIn(p.NewProgram("other"), authz.Engineer).Get(at).Status(404)
}

func TestComparePage(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.compared("1N-1")
	page := p.Browser(authz.Engineer)
	p.Look(page, p.Path("ends", "1N-1", "compare"), "compare")
	p.Look(page, p.Path("ends", "1N-1", "compare")+"?was=1&is=now", "compare-now")
}
