package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
)

func TestTitleFactsAreEditedByAdministrators(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	edit := p.Path("program", "edit")
	for _, role := range authz.Roles() {
		a := p.Role(role).Get(p.Path("program")).Status(200).Has("Small bridge repairs", "US customary", "not accepted")
		require.Equal(t, role == authz.Administrator, len(a.Select(`a[href="`+edit+`"]`)) == 1, role)
		want := 403
		if role == authz.Administrator {
			want = 200
		}
		p.Role(role).Get(edit).Status(want)
	}
	p.AsSiteAdmin().Get(edit).Status(200)

	admin := p.Role(authz.Administrator)
	form := formAt(admin.Get(edit), "main form.stack")
	form.Set("built_year", "1500")
	form.Set("name", "")
	form.Set("timezone", "Mars/Olympus")
	admin.Post(edit, pressed(form, "")...).Status(422).Has("No time zone of that name")
	form.Set("timezone", "America/New_York")
	bad := admin.Post(edit, pressed(form, "")...).Status(422)
	bad.Has("A program needs a name", "Must lie from 1800 to 2200", `value="1500"`)
	form.Set("name", "Small bridge repairs")
	form.Set("built_year", "1961")
	form.Set("field_start", "2027-04-01")
	form.Set("completion_due", "2027-03-01")
	admin.Post(edit, pressed(form, "")...).Status(422).Has("Must lie after the start of field work")
	form.Set("completion_due", "2028-11-30")
	admin.Post(edit, pressed(form, "")...).LeadsTo(p.Path("program")).Follow().Has("1961", "2028-11-30", "America/New_York", "To be finished by: 2028-11-30")

	// Somebody else was faster: both are shown, and sending again is a decision.
	form = formAt(admin.Get(edit), "main form.stack")
	form.Set("owner", "County of Here")
	now := p.Scope("1N-1").Program
	now.Owner = "County of There"
	p.DoProgram(authz.Administrator, repair.EditProgram{Program: now})
	clash := admin.Post(edit, pressed(form, "")...).Status(409).Has("County of Here", "County of There")
	admin.Post(edit, pressed(formAt(clash, "main form.stack"), "")...).Status(303)
	require.Equal(t, "County of Here", p.Scope("1N-1").Program.Owner)
}

// The acceptance is no button of the program page: it is decided on the mock-up's own
// record. What was accepted is taken back by the engineer.
func TestAcceptanceOfAMockupIsNoButtonOfTheProgramPage(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	at, list := p.Path("program", "mockup"), p.Path("mockups")
	for _, role := range authz.Roles() {
		p.Role(role).Get(p.Path("program")).Status(200).Has(`href="` + list + `"`).None("main form")
		if role != authz.Engineer {
			p.Role(role).Post(at, "entry", newEntryID(), "do", "withdraw", "reason", "fine").Status(403)
		}
	}
	engineer := p.Role(authz.Engineer)
	engineer.Post(at, "entry", newEntryID(), "do", "accept", "note", "full size").Status(422).Has("accepted on its own page")
	require.Nil(t, p.Scope("1N-1").Program.MockupAcceptedAt)
	engineer.Post(at, "entry", newEntryID(), "do", "withdraw", "reason", "never was").Status(422).Has("No trial casting is accepted")
	p.DoProgram(authz.Engineer, repair.AcceptMockup{Note: "Full size, cut in four: no void above 5 mm"})
	engineer.Get(list).Has("accepted", "cut in four")
	engineer.Post(at, "entry", newEntryID(), "do", "withdraw").Status(422).Has("Say why the acceptance no longer holds")
	engineer.Post(at, "entry", newEntryID(), "do", "withdraw", "reason", "the mix changed").LeadsTo(list).Follow().Has("not accepted", "Withdrawn by", "the mix changed")
	require.Nil(t, p.Scope("1N-1").Program.MockupAcceptedAt)
}

func TestSiteAdministratorOpensAProgram(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Role(authz.Administrator).Get("/programs/new").Status(403)
	p.Role(authz.Administrator).Get("/").Status(200).Lacks("/programs/new")
	site := p.AsSiteAdmin()
	site.Get("/").Status(200).Has(`href="/programs/new"`)
	form := formAt(site.Get("/programs/new").Status(200), "main form.stack")
	form.Set("code", "Bad Code")
	site.Post("/programs/new", pressed(form, "")...).Status(422).Has("small letters, digits and hyphens", "A program needs a name", `value="Bad Code"`)
	form.Set("name", "Second bridge")
	form.Set("code", programCode)
	site.Post("/programs/new", pressed(form, "")...).Status(422).Has("Another program has this code")
	form.Set("code", "second")
	form.Set("units", "si")
	a := site.Post("/programs/new", pressed(form, "")...).LeadsTo("/p/second/program")
	a.Follow().Has("Second bridge", "The program is open")
	site.Post("/programs/new", pressed(form, "")...).LeadsTo("/p/second/program") // sent twice opens one
	site.Get("/p/second/people").Status(200).Has("Administrator", site.User.Email)
	site.Get("/p/second/sequence/edit").Status(200)
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}
