package web_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
)

func TestWhatCanBeWorkedInAWindowIsSaidChosenAndConfirmed(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.underClosure("1N-1", "ramp closure")
	from := time.Date(2027, 7, 17, 23, 30, 0, 0, time.UTC)
	p.DoProgram(authz.Engineer, repair.SetWindowKind{Name: "ramp closure", Confirmations: []string{"lane closed"}, SetupMin: 40, HandbackMin: 20})
	p.DoProgram(authz.Contractor, repair.SetWindow{Window: repair.Window{Kind: "ramp closure", StartsAt: from, EndsAt: from.Add(5 * time.Hour), ProductiveH: 5, State: repair.WindowPlanned}})
	sc := p.Scope("1N-1")
	require.NotEmpty(t, sc.Windows)
	path := p.Path("windows", sc.Windows[0].ID, "night")
	contractor := p.Role(authz.Contractor)
	contractor.Get(path).Status(200).Has("240 minutes are left", "not granted yet", "Not confirmed: lane closed", "no crew is named for this window", "1N-1")
	contractor.Get(path+"?cut=seventy").Status(422).Has("seventy", "whole minutes, as 70")
	contractor.Get(path + "?cut=999").Status(422).Has("300 minutes of the window")
	p.DoProgram(authz.Contractor, repair.SetCrew{Name: "Night gang"})
	contractor.Get(path+"?cut=70").Status(200).Has("Cut by 70 minutes, 170 are left", "Night gang", "No other plan is worth more")

	contractor.Post(path, "entry", newEntryID(), "do", "confirm", "item", "lane closed").LeadsTo(path).Follow().Has("confirmed by")
	p.Role(authz.Inspector).Post(path, "entry", newEntryID(), "do", "confirm", "item", "lane closed").Status(403)
	end := p.End("1N-1").End.ID
	contractor.Post(path, "entry", newEntryID(), "do", "choose", "end", end, "from", "", "leave_out", "hoist is away").LeadsTo(path).Follow().Has("hoist is away", "Chosen by")
	contractor.Post(path, "entry", newEntryID(), "do", "choose", "end", end, "from", "", "leave_out", "crane is here").Status(409).Has("nothing of yours was stored", "crane is here")
	contractor.Post(path, "entry", newEntryID(), "do", "other").Status(404)

	// A confirmation is taken back on the page of its own window only.
	p.DoProgram(authz.Contractor, repair.SetWindow{Window: repair.Window{Kind: "ramp closure", StartsAt: from.AddDate(0, 0, 7), EndsAt: from.AddDate(0, 0, 7).Add(5 * time.Hour), ProductiveH: 5, State: repair.WindowPlanned}})
	all, err := p.Store.Shifts(t.Context(), p.Scope("1N-1").Program.ID)
	require.NoError(t, err)
	require.Len(t, all.Confirmations, 1)
	other := p.Path("windows", p.Scope("1N-1").Windows[1].ID, "night")
	contractor.Post(other, "entry", newEntryID(), "do", "unconfirm", "id", all.Confirmations[0].ID, "why", "mistaken").Status(404)
	contractor.Post(path, "entry", newEntryID(), "do", "unconfirm", "id", all.Confirmations[0].ID, "why", "lane open again").LeadsTo(path).Follow().Has("missing")
}

func TestTheProposalOfANightInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.underClosure("1N-1", "ramp closure")
	from := time.Date(2027, 7, 17, 23, 30, 0, 0, time.UTC)
	p.DoProgram(authz.Engineer, repair.SetWindowKind{Name: "ramp closure", Confirmations: []string{"lane closed"}, SetupMin: 40, HandbackMin: 20})
	p.DoProgram(authz.Contractor, repair.SetWindow{Window: repair.Window{Kind: "ramp closure", StartsAt: from, EndsAt: from.Add(5 * time.Hour), ProductiveH: 5, State: repair.WindowGranted}})
	p.DoProgram(authz.Contractor, repair.SetCrew{Name: "Night gang"})
	path := p.Path("windows", p.Scope("1N-1").Windows[0].ID, "night")
	page := p.Browser(authz.Contractor)
	p.Look(page, path, "night")
	require.True(t, page.Exists("svg path.worked"))
	require.True(t, page.Exists("svg path.aside"))
	page.SetViewport(390, 844)
	require.Equal(t, 200, page.Open(path))
	require.Empty(t, page.Overflows())
}
