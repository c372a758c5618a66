package web_test

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/web/webtest"
)

var (
	pagerTotal = regexp.MustCompile(`of (\d+)$`)
	addsUp     = regexp.MustCompile(`add up to ([\d,.]+)`)
)

// listed is how many rows the list behind a link has, by its pager, and what they add
// up to where the list says so.
func listed(t testing.TB, c *webtest.Client, href string) (rows int, sum string) {
	t.Helper()
	page := c.Get(href).Status(200)
	for _, n := range page.Select("nav.pager p") {
		if m := pagerTotal.FindStringSubmatch(webtest.Text(n)); m != nil {
			rows, _ = strconv.Atoi(m[1])
		}
	}
	if m := addsUp.FindStringSubmatch(page.Body); m != nil {
		sum = m[1]
	}
	return rows, sum
}

// finish puts the first step that an end is worked at in a window of its own on record
// as done, and makes the counts anew.
func (p *testProgram) finish(end string, at time.Time) {
	p.t.Helper()
	for _, st := range p.Scope(end).Sequence() {
		if st.Window != "own" {
			continue
		}
		_, err := p.Pool.Exec(p.ctx, `insert into step_record (id, end_id, step_id, kind, by_user, by_name, by_role, captured_at, arrived_at)
			values (gen_random_uuid(), $1, $2, 'completed', $3, 'x', 'contractor', $4, $4)`, p.End(end).End.ID, st.ID, p.Role(authz.Contractor).User.ID, at)
		require.NoError(p.t, err)
		break
	}
	for _, table := range []string{"end_tally", "program_tally"} {
		_, err := p.Pool.Exec(p.ctx, "delete from "+table)
		require.NoError(p.t, err)
	}
	_, err := p.Store.Refresh(p.ctx, nil)
	require.NoError(p.t, err)
}

// Everybody sees the bridges of their own roles side by side, and no other, not even
// whoever keeps the installation.
func TestBridgesAreThoseOfOnesOwnRoles(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	for _, role := range authz.Roles() {
		p.Role(role) // before the site is that of the second program
	}
	q := newTestProgramIn(t, p)
	p.Do(authz.Inspector, "1N-1", asFound(0.6))
	for _, role := range authz.Roles() {
		p.Role(role).Get("/bridges").Status(200).Has("Small bridge repairs").Lacks("Second bridge", "Together")
		q.Role(role).Get("/bridges").Status(200).Has("Second bridge repairs").Lacks("Small bridge")
	}
	p.AsSiteAdmin().Get("/bridges").Status(200).Lacks("Small bridge", "Second bridge").Has("You have no role in any program yet")
	p.Anonymous().Get("/bridges").LeadsTo("/login?next=%2Fbridges")

	// Somebody with a role in each, another one in the second, sees both with their sum.
	both := p.NewUser("both@ends.test", false)
	require.NoError(t, p.People.SetRole(p.ctx, both.ID, mustUUID(p.ID), authz.Manager))
	require.NoError(t, p.People.SetRole(p.ctx, both.ID, mustUUID(q.ID), authz.Laboratory))
	c := p.SignIn(both)
	page := c.Get("/bridges").Status(200).Has("Small bridge repairs", "Second bridge repairs", "Together", "nothing to go by yet: open")
	rows := page.Select("tbody tr")
	require.Len(t, rows, 3)
	sums := make([]int, 7)
	for i := range rows {
		for col := range sums {
			cell := page.Select(fmt.Sprintf("tbody tr:nth-of-type(%d) td:nth-of-type(%d)", i+1, col+1))[0]
			shown, err := strconv.Atoi(strings.Fields(webtest.Text(cell))[0])
			require.NoError(t, err)
			link := page.Select(fmt.Sprintf("tbody tr:nth-of-type(%d) td:nth-of-type(%d) a", i+1, col+1))
			if len(link) == 0 {
				require.Equal(t, 2, i, "only the sums have no list")
				require.Equal(t, sums[col], shown)
				continue
			}
			n, _ := listed(t, c, webtest.Attr(link[0], "href"))
			require.Equal(t, n, shown, webtest.Attr(link[0], "href"))
			sums[col] += shown
		}
	}
	require.Equal(t, 8, sums[0])
	require.Positive(t, sums[3], "a web of which 60 percent is lost lies below its demand, or the column shows nothing")
}

// A role that is taken away takes the bridge off the page at once.
func TestABridgeGoesWithTheRole(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	u := p.NewUser("for.a.while@ends.test", false)
	require.NoError(t, p.People.SetRole(p.ctx, u.ID, mustUUID(p.ID), authz.Manager))
	c := p.SignIn(u)
	c.Get("/bridges").Status(200).Has("Small bridge repairs")
	require.NoError(t, p.People.RemoveRole(p.ctx, u.ID, p.Program))
	c.Get("/bridges").Status(200).Lacks("Small bridge repairs")
}

// The dates are those of the forecast page, and the next window is the one that comes.
func TestBridgesTellTheForecastOfEach(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	for _, end := range []string{"1N-1", "1N-2", "1F-1", "1F-2"} {
		p.underClosure(end, "ramp closure")
	}
	windows := p.season("ramp closure", repair.WindowUsed, repair.WindowLost, repair.WindowUsed)
	manager := p.Role(authz.Manager)
	manager.Get("/bridges").Status(200).Has("nothing to go by yet: ramp closure", "none planned")
	next := time.Now().UTC().Truncate(time.Hour).AddDate(0, 0, 3)
	p.Do(authz.Contractor, "1N-1", repair.SetWindows{Windows: []repair.Window{{Kind: "ramp closure", StartsAt: next, EndsAt: next.Add(6 * time.Hour), ProductiveH: 5, State: repair.WindowPlanned}}})
	p.finish("1N-1", windows[0].StartsAt.Add(time.Hour))
	due := time.Now().AddDate(5, 0, 0).UTC().Truncate(24 * time.Hour)
	now := p.Scope("1N-1").Program
	now.CompletionDue = &due
	p.DoProgram(authz.Administrator, repair.EditProgram{Program: now})
	page := manager.Get("/bridges").Status(200).Has(next.Format("2006-01-02 15:04")+", ramp closure, planned", due.Format(time.DateOnly))
	cell := func(n int) string {
		return strings.Fields(webtest.Text(page.Select(fmt.Sprintf("tbody tr td:nth-of-type(%d)", n))[0]))[0]
	}
	p50, p85 := cell(9), cell(10)
	dates := manager.Get(p.Path("forecast")).Status(200).Select("section[aria-labelledby=whole] .table:first-of-type td:first-of-type")
	require.Equal(t, webtest.Text(dates[0]), p50)
	require.Equal(t, webtest.Text(dates[1]), p85)
	require.Regexp(t, `^\d{4}-\d\d-\d\d$`, p50)
	require.LessOrEqual(t, p50, p85)
}

func TestBridgesLookRight(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	for _, role := range authz.Roles() {
		p.Role(role) // before the site is that of the second program
	}
	q := newTestProgramIn(t, p)
	u := p.NewUser("both@ends.test", false)
	require.NoError(t, p.People.SetRole(p.ctx, u.ID, mustUUID(p.ID), authz.Manager))
	require.NoError(t, p.People.SetRole(p.ctx, u.ID, mustUUID(q.ID), authz.Manager))
	page := p.Browser(authz.Manager)
	page.UseCookies(p.SignIn(u).Cookies()...)
	p.Look(page, "/bridges", "bridges")
	for _, w := range []int{1920, 390} {
		page.SetViewport(w, 1080)
		require.Equal(t, 200, page.Open("/bridges"))
		require.Empty(t, page.Overflows())
	}
}
