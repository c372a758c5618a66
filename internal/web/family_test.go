package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
)

// TestFamilyBecomesDraftsAtItsEnds plans the surveyed ends together, stores the
// family as drafts in one entry, and refuses a plan that something has overtaken.
func TestFamilyBecomesDraftsAtItsEnds(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	for _, name := range []string{"1N-1", "1N-2", "1F-1"} {
		p.Do(authz.Inspector, name, asFound(0.5))
	}
	path := p.Path("families")
	designer := p.Role(authz.Designer)
	p.Role(authz.Manager).Get(path).Status(200).Has("Family A").None("section form button")
	p.Role(authz.Inspector).Post(path, "entry", newEntryID(), "family", "A").Status(403)
	designer.Get(path + "?stud-diameter=wide").Status(422).Has("wide")
	shown := designer.Get(path).Status(200).Has("1N-1", "1N-2", "1F-1", "1 end is left out")
	form := formAt(shown, "section form")
	stale := formAt(shown, "section form")
	designer.Post(path, pressed(form, "")...).LeadsTo(path)
	drafts := 0
	for _, name := range []string{"1N-1", "1N-2", "1F-1"} {
		rec := p.End(name)
		if d := rec.LatestDesign(); d != nil {
			drafts++
			require.Equal(t, repair.DesignDraft, d.State)
			require.Contains(t, d.Note, "family A")
			require.Greater(t, float64(*rec.State[0].Repaired), float64(rec.State[0].Demand), "the shared layout carries the demand at %s", name)
		}
	}
	require.Positive(t, drafts)
	designer.Get(path).Status(200).Has("its draft, revision 1, would be replaced")
	stale.Set("entry", newEntryID())
	designer.Post(path, pressed(stale, "")...).Status(409).Has("changed since you saw the plan")
}

func TestFamilyPageInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	for _, name := range []string{"1N-1", "1N-2", "1F-1", "1F-2"} {
		p.Do(authz.Inspector, name, asFound(0.5))
	}
	page := p.Browser(authz.Designer)
	p.Look(page, p.Path("families"), "families")
	require.Empty(t, page.Problems())
}
