package web_test

import (
	"encoding/hex"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

func TestHistoryNamesOldAndNewInTheReadersUnits(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	facts := repair.FactsOf(p.End("1N-1").End)
	facts.Reaction = 120 * units.Kip
	p.Do(authz.Designer, "1N-1", repair.EditEnd{Facts: facts, Reason: "new load rating"})
	p.DoProgram(authz.Engineer, repair.EditBasis{Key: "web.phi_crippling", Value: 0.75, Typed: "0.75", Source: "owner's manual 4.2"})

	a := p.Role(authz.Manager).Get(p.Path("ends", "1N-1", "history")).Status(200)
	first := a.Select(".history > li")[0]
	text := webtest.Text(first)
	require.Contains(t, text, "Facts edited")
	require.Contains(t, text, "Reason new load rating")
	require.Contains(t, text, "factored reaction was 110.0 kip → became 120.0 kip")
	require.Contains(t, text, p.Actor(authz.Designer).Name)
	require.NotContains(t, text, "fy", "what did not change is left out")

	lines, err := p.Store.History(t.Context(), p.ID, p.End("1N-1").End.ID, 0, 1)
	require.NoError(t, err)
	a.Has(hex.EncodeToString(lines[0].Hash), "Survey recorded", "Readings: 20 added", "Design reviewed", "approved")

	require.NoError(t, p.People.SetUnits(t.Context(), p.Role(authz.Manager).User.ID, new("si")))
	p.Role(authz.Manager).Get(p.Path("ends", "1N-1", "history")).Has("489.3\u00a0kN", "533.8\u00a0kN")

	b := p.Role(authz.Manager).Get(p.Path("history")).Status(200)
	b.Has("Design basis edited", "owner&#39;s manual 4.2", "web local crippling", "Program opened", "Bridge imported")
	require.NotEmpty(t, b.Select(`a[href="`+p.Path("ends", "1N-1")+`"]`))
	p.Role(authz.Manager).Get(p.Path("history") + "?before=x").Status(400)
	p.Anonymous().Get(p.Path("history")).Status(303)
}

func TestHistoryIsPaged(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	for range 27 {
		p.Do(authz.Designer, "1N-1", repair.EditEnd{Facts: repair.FactsOf(p.End("1N-1").End), Reason: "again"})
	}
	path := p.Path("ends", "1N-1", "history")
	a := p.Role(authz.Engineer).Get(path).Status(200)
	require.Len(t, a.Select(".history > li"), 25)
	older := a.Select(`.pager a[rel=next]`)
	require.Len(t, older, 1)
	b := p.Role(authz.Engineer).Get(webtest.Attr(older[0], "href")).Status(200)
	require.NotEmpty(t, b.Select(".history > li"))
	require.Empty(t, b.Select(`.pager a[rel=next]`))
	require.NotEqual(t, webtest.Attr(a.Select(".history > li")[24], "id"), webtest.Attr(b.Select(".history > li")[0], "id"))
	b.Has("Newest")
}

func TestHistoryInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	p.fill("1N-1")
	page := p.Browser(authz.Engineer)
	p.Look(page, p.Path("ends", "1N-1", "history"), "history-end")
	p.Look(page, p.Path("history"), "history")
}
