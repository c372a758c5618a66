package web_test

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

// changedSince approves a design at 1N-1, and then changes the demand and a setting under it.
// It returns the entry before.
func (p *testProgram) changedSince() int64 {
	p.t.Helper()
	p.approved("1N-1")
	then, err := p.Store.LastEntry(p.ctx, p.ID)
	require.NoError(p.t, err)
	facts := repair.FactsOf(p.End("1N-1").End)
	facts.Reaction = 150 * units.Kip
	p.Do(authz.Designer, "1N-1", repair.EditEnd{Facts: facts, Reason: "trucks <b>grew</b>"})
	p.DoProgram(authz.Engineer, repair.EditBasis{Key: "web.phi_crippling", Value: 0.7, Typed: "0.7", Source: "owner's manual 4.2"})
	return then
}

func TestAnEndIsShownAsItWas(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	then := p.changedSince()
	path := p.Path("ends", "1N-1", "past")
	manager := p.Role(authz.Manager)
	a := manager.Get(fmt.Sprintf("%s?entry=%d", path, then)).Status(200)
	text := webtest.Text(a.Select("main")[0])
	require.Contains(t, text, "1N-1 as on record at")
	require.Contains(t, text, fmt.Sprintf("after entry %d, Design reviewed, by %s. 2 entries have come", then, p.Actor(authz.Engineer).Name))
	require.Contains(t, text, "110.0 kip")
	require.NotContains(t, text, "150.0")
	require.Contains(t, text, "Revision 1 was in force: approved.")
	require.NotContains(t, text, "out of date")
	require.Empty(t, a.Select("main form"), "nothing can be entered in the past")

	now := webtest.Text(manager.Get(p.Path("ends", "1N-1")).Status(200).Select("main")[0])
	require.Contains(t, now, "150.0")
	require.Contains(t, now, "out of date")

	first := webtest.Text(manager.Get(path + "?entry=2").Status(200).Select("main")[0])
	require.Contains(t, first, "No survey is on record")
	require.Contains(t, first, "No design was on record.")
	later := manager.Get(path + "?entry=2").Select(`.pager a[rel=next]`)
	require.Len(t, later, 1)
	manager.Get(webtest.Attr(later[0], "href")).Status(200).Has("Survey recorded")

	byTime := manager.Get(path + "?at=" + url.QueryEscape("2200-01-01T00:00")).Status(200)
	byTime.Has("You asked for 2200-01-01 00:00", "Nothing has come to the program&#39;s record since.", "150.0")
	manager.Get(path + "?at=" + url.QueryEscape("1990-01-01T00:00")).Status(404).Has("of this program was on record then")
	manager.Get(path + "?entry=1").Status(404).Has("was not on record yet")
	manager.Get(path + "?entry=soon").Status(400).Has("soon")
	manager.Get(path + "?at=soon").Status(422)
	manager.Get(path).Status(303)
	p.Anonymous().Get(path + "?entry=2").Status(303)
}

func TestTheHistoryOfOneValueIsReachedFromTheHistory(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.changedSince()
	manager := p.Role(authz.Manager)
	row := ""
	for _, n := range manager.Get(p.Path("ends", "1N-1", "history")).Status(200).Select(".history > li:first-child a.row-history") {
		row = webtest.Attr(n, "href")
	}
	require.NotEmpty(t, row)
	all := manager.Get(row).Status(200)
	require.Contains(t, webtest.Text(all.Select("h1")[0]), "History of facts of the end 1N-1")
	field := ""
	for _, n := range all.Select(".value-fields a") {
		if webtest.Text(n) == "factored reaction" {
			field = webtest.Attr(n, "href")
		}
	}
	require.NotEmpty(t, field)
	a := manager.Get(field).Status(200)
	rows := a.Select("tbody tr")
	require.Len(t, rows, 2)
	require.Regexp(t, `Facts edited factored reaction 110\.0\skip 150\.0\skip trucks <b>grew</b>`, webtest.Text(rows[0]))
	require.Contains(t, webtest.Text(rows[0]), p.Actor(authz.Designer).Name)
	require.Contains(t, webtest.Text(rows[1]), "Bridge imported")
	require.Contains(t, webtest.Text(rows[1]), "not on record")
	then := a.Select("tbody tr td a")
	require.NotEmpty(t, then)
	manager.Get(webtest.Attr(then[0], "href")).Status(200)

	path := p.Path("history", "value")
	manager.Get(path+"?"+url.Values{"table": {"basis_setting"}, "row": {p.ID + "/web.phi_crippling"}, "field": {"value"}}.Encode()).Status(200).Has("0.7", "Design basis edited")
	manager.Get(path + "?table=reading&row=none").Status(404)
	manager.Get(path + "?table=girder_end&field=nothing&row=" + p.End("1N-1").End.ID).Status(404)
	manager.Get(path + "?table=x&row=" + url.QueryEscape("\x00'; drop table journal")).Status(404)
	manager.Get(path).Status(303)
	p.NewProgram("elsewhere")
	manager.Get(strings.Replace(field, "/p/small", "/p/elsewhere", 1)).Status(404)
}

func TestPastInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	then := p.changedSince()
	page := p.Browser(authz.Engineer)
	p.Look(page, fmt.Sprintf("%s?entry=%d", p.Path("ends", "1N-1", "past"), then), "past-end")
	p.Look(page, p.Path("history", "value")+"?table=girder_end&row="+p.End("1N-1").End.ID, "history-value")
}
