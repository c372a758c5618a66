package web_test

import (
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/web/browsertest"
)

// surveyed records a survey as it was taken some days ago.
func (p *testProgram) surveyed(end string, loss float64, days int) {
	p.t.Helper()
	_, err := p.Store.Edit(p.ctx, db.Entry{ID: newEntryID(), ProgramID: p.ID, Actor: p.Actor(authz.Inspector), Captured: ago(time.Duration(days) * 24 * time.Hour),
		Ends: []db.EndRef{{ID: p.End(end).End.ID}}, Change: asFound(loss)})
	require.NoError(p.t, err)
}

// assumed is a rate of loss as an owner states it.
func assumed() repair.EditAssumptions {
	return repair.EditAssumptions{RateLow: 0.04, Rate: 0.08, RateHigh: 0.14, Source: "Owner's letter of 2 March, invented"}
}

// outlookProgram has ends that stand apart: two surveys and a design, short of the
// demand, surveyed once, and not surveyed.
func outlookProgram(t *testing.T) *testProgram {
	p := newTestProgram(t)
	p.surveyed("1N-1", 0.22, 6*365)
	p.approved("1N-1")
	p.surveyed("1N-2", 0.12, 30)
	p.surveyed("1F-1", 0.8, 20)
	p.DoProgram(authz.Engineer, assumed())
	return p
}

func TestOutlookOfAnEndInABrowser(t *testing.T) {
	t.Parallel()
	p := outlookProgram(t)
	p.fill("1N-1")
	page := p.Browser(authz.Engineer)
	p.Look(page, p.Path("ends", "1N-1"), "outlook-end")
	p.Look(page, p.Path("ends", "1N-2"), "outlook-assumed")
	for _, dark := range []bool{false, true} {
		page.SetViewport(1280, 800)
		page.SetDark(dark)
		require.Equal(t, 200, page.Open(p.Path("ends", "1N-2")))
		browsertest.Eval[bool](page, `document.querySelectorAll("details.fold").forEach(d => { d.open = true }), true`)
		page.Screenshot("outlook-open-" + strconv.FormatBool(dark))
		page.Axe(t)
	}
}

func TestOrderOfRepairInABrowser(t *testing.T) {
	t.Parallel()
	p := outlookProgram(t)
	page := p.Browser(authz.Engineer)
	p.Look(page, p.Path("first"), "first")
	p.Look(page, p.Path("assumptions"), "assumptions")
	require.NoError(t, p.People.SetUnits(t.Context(), p.Role(authz.Engineer).User.ID, new("si")))
	p.Look(page, p.Path("assumptions"), "assumptions-si")
}
