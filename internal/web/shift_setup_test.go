package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
)

// step is the id of a step of the program by its code.
func (p *testProgram) step(code string) string {
	p.t.Helper()
	for _, st := range p.Scope("1N-1").Steps {
		if st.Code == code {
			return st.ID
		}
	}
	p.t.Fatalf("no step %s", code)
	return ""
}

func TestWhatWindowsArePlannedWithIsSetOnAPage(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.underClosure("1N-1", "ramp closure")
	path := p.Path("planning")
	contractor, manager := p.Role(authz.Contractor), p.Role(authz.Manager)
	contractor.Get(path).Status(200).Has("ramp closure", "not described yet", "No crew is named", "Nothing is listed")
	p.Role(authz.Inspector).Get(path + "?part=crew").Status(200).None("main form.stack")
	p.Role(authz.Inspector).Post(path, "entry", newEntryID(), "part", "crew", "name", "x").Status(403)
	contractor.Get(path + "?part=effort&of=none").Status(404)
	contractor.Post(path, "entry", newEntryID(), "part", "other").Status(404)

	// A kind: what it asks for, kept as typed where a figure cannot be taken.
	form := formAt(contractor.Get(path+"?part=kind&of=ramp+closure").Status(200), "main form.stack")
	form.Set("confirmations", "lane closed\r\n\r\npolice posted\r\nlane closed")
	form.Set("setup_min", "forty")
	contractor.Post(path, pressed(form, "save")...).Status(422).Has("Must be a whole number", "forty", "police posted")
	form.Set("setup_min", "2000")
	contractor.Post(path, pressed(form, "save")...).Status(422).Has("2000")
	form.Set("setup_min", "40")
	form.Set("handback_min", "20")
	contractor.Post(path, pressed(form, "save")...).LeadsTo(path).Follow().Has("lane closed; police posted")

	// The form of before overwrites nothing; what it holds is kept to be sent again.
	stale := form
	stale.Set("entry", newEntryID())
	stale.Set("note", "by the other desk")
	form = formAt(manager.Post(path, pressed(stale, "save")...).Status(409).Has("by the other desk", "Nothing of yours was stored yet"), "main form.stack")
	manager.Post(path, pressed(form, "save")...).LeadsTo(path).Follow().Has("by the other desk")

	// A crew, a step's minutes and stock.
	crew := formAt(contractor.Get(path+"?part=crew").Status(200), "main form.stack")
	contractor.Post(path, pressed(crew, "save")...).Status(422).Has("Name the crew")
	crew.Set("name", "Night gang")
	crew.Set("trades", "rig\nweld")
	crew.Set("entry", newEntryID())
	contractor.Post(path, pressed(crew, "save")...).LeadsTo(path).Follow().Has("Night gang", "rig, weld", "every kind of access")
	step := p.step("ACC")
	effort := formAt(contractor.Get(path+"?part=effort&of="+step).Status(200), "main form.stack")
	effort.Set("minutes", "90")
	effort.Set("uses", "1 platform\nplatform")
	effort.Set("source", "timed in March")
	contractor.Post(path, pressed(effort, "save")...).Status(422).Has("Begin each line with how many", "timed in March")
	effort.Set("uses", "1 platform\n40 studs 3/4 x 4")
	contractor.Post(path, pressed(effort, "save")...).LeadsTo(path).Follow().Has("1 platform, 40 studs 3/4 x 4")
	stock := formAt(contractor.Get(path+"?part=stock").Status(200), "main form.stack")
	stock.Set("name", "platform")
	stock.Set("on_hand", "2")
	contractor.Post(path, pressed(stock, "save")...).LeadsTo(path)

	sh, err := p.Store.Shifts(p.ctx, p.ID)
	require.NoError(t, err)
	require.Equal(t, []string{"lane closed", "police posted"}, sh.Kinds[0].Confirmations)
	require.Equal(t, map[string]int{"platform": 1, "studs 3/4 x 4": 40}, sh.Efforts[0].Uses)
	require.Equal(t, 2, sh.Stock[0].OnHand)
	gone := formAt(contractor.Get(path+"?part=crew&of="+sh.Crews[0].ID).Status(200), "main form.stack")
	gone.Set("retired", "on")
	contractor.Post(path, pressed(gone, "save")...).LeadsTo(path).Follow().Has("no longer works here")
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

func TestSetupPageInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.underClosure("1N-1", "ramp closure")
	p.DoProgram(authz.Contractor, repair.SetWindowKind{Name: "ramp closure", Confirmations: []string{"lane closed", "police posted"}, SetupMin: 40})
	p.DoProgram(authz.Contractor, repair.SetCrew{Name: "Night gang", Trades: []string{"rig"}})
	p.DoProgram(authz.Contractor, repair.SetEffort{StepID: p.step("ACC"), Minutes: 90, Source: "timed in March", Uses: map[string]int{"platform": 1}})
	p.DoProgram(authz.Contractor, repair.SetStock{Name: "platform", OnHand: 2})
	p.Look(p.Browser(authz.Contractor), p.Path("planning")+"?part=kind&of=ramp+closure", "planning-setup")
}
