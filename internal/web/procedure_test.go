package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
)

// TestProcedureIsEnteredCheckedAndPutInForce takes a procedure from its form to
// force: nobody may check their own, and none comes in force unchecked.
func TestProcedureIsEnteredCheckedAndPutInForce(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	path := p.Path("procedures")
	designer, engineer := p.Role(authz.Designer), p.Role(authz.Engineer)
	for _, role := range []authz.Role{authz.Administrator, authz.Inspector, authz.Contractor, authz.Laboratory, authz.Manager} {
		p.Role(role).Get(path).Status(200).Has("Row minimum, lower bound", "in force").None(`a[href$="/procedures/new"]`)
		p.Role(role).Post(path, "entry", newEntryID(), "name", "x").Status(403)
	}
	form := formAt(designer.Get(path+"/new").Status(200), "main form.stack")
	require.Equal(t, "row_minimum", form.Get("averaging"))
	form.Set("name", "Mean of the zone")
	form.Set("body", "Office of invented bridges")
	form.Set("edition", "2nd, 2024, 4.3")
	form.Set("tag", "read")
	form.Set("averaging", "zone_mean")
	form.Set("crippling_sound", "9.5")
	designer.Post(path, pressed(form, "")...).Status(422).Has("Must lie from 0.05 to 2", `value="9.5"`, "Mean of the zone")
	require.Empty(t, p.Scope("1N-1").Procedures, "a refused form stores nothing")
	form.Set("crippling_sound", "0.9")
	designer.Post(path, pressed(form, "")...).LeadsTo(path).Follow().Has("Mean of the zone", "waits for a second person")

	row := p.Scope("1N-1").Procedures[0]
	at := p.Path("procedures", row.ID)
	designer.Get(at).Status(200).Has("Nobody but", "differs").None("#check").None("#force")
	designer.Post(at, "entry", newEntryID(), "do", "check", "note", "own copy").Status(403)
	own := p.Scope("1N-1").ShippedProcedure()
	own.Name, own.Body, own.Edition = "Entered by the engineer", "Office of invented bridges", "1st"
	p.DoProgram(authz.Engineer, repair.EnterProcedure{Procedure: own})
	mine := p.Path("procedures", p.Scope("1N-1").Procedures[1].ID)
	engineer.Get(mine).Status(200).None("#check")
	engineer.Post(mine, "entry", newEntryID(), "do", "check", "note", "own copy").Status(422).Has("another person must compare it")
	before := p.End("1N-1").State[0]
	require.False(t, before.OutOfDate)
	engineer.Post(at, "entry", newEntryID(), "do", "preview", "reason", "the manual says so").Status(422).Has("has not been compared with its text")
	check := formAt(engineer.Get(at).Status(200), `section[aria-labelledby=check] form`)
	engineer.Post(at, pressed(check, "check")...).Status(422).Has("Name the copy of the text")
	check.Set("note", "copy 12 of the manual, pages 40 to 44, every value")
	check.Set("entry", newEntryID())
	engineer.Post(at, pressed(check, "check")...).LeadsTo(path)

	force := formAt(engineer.Get(at).Status(200).Has("copy 12 of the manual"), `section[aria-labelledby=force] form`)
	force.Set("reason", "the owner's manual requires it")
	shown := engineer.Post(at, pressed(force, "preview")...).Status(200).Has("What this changes", "1N-1")
	require.Nil(t, p.Scope("1N-1").InForce(), "a look stores nothing")
	force = formAt(shown, `section[aria-labelledby=force] form`)
	stale := formAt(shown, `section[aria-labelledby=force] form`)
	engineer.Post(at, pressed(force, "force")...).LeadsTo(path).Follow().Has("owner&#39;s manual requires it")
	require.NotNil(t, p.Scope("1N-1").InForce())
	after := p.End("1N-1").State[0]
	require.NotEqual(t, *before.Capacity, *after.Capacity, "capacity follows the procedure in force")
	require.True(t, after.OutOfDate, "an approval stands on the procedure")

	// Somebody who looked before it came in force is told so.
	stale.Set("entry", newEntryID())
	engineer.Post(p.Path("procedures", "shipped"), pressed(stale, "preview")...).Status(409).Has("The procedure in force changed")
	p.DoProgram(authz.Engineer, repair.PutProcedureInForce{Reason: "back to ours"})
	require.Equal(t, *before.Capacity, *p.End("1N-1").State[0].Capacity)
}

func TestProcedurePagesInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	in := p.Scope("1N-1").ShippedProcedure()
	in.Name, in.Body, in.Edition, in.Averaging = "Mean of the zone", "Office of invented bridges", "2nd, 2024, 4.3", "zone_mean"
	p.DoProgram(authz.Designer, repair.EnterProcedure{Procedure: in})
	row := p.Scope("1N-1").Procedures[0]
	page := p.Browser(authz.Engineer)
	p.Look(page, p.Path("procedures"), "procedures")
	p.Look(page, p.Path("procedures", "shipped"), "procedure-shipped")
	p.Look(page, p.Path("procedures", "new"), "procedure-new")
	p.Look(page, p.Path("procedures", row.ID), "procedure")
	p.DoProgram(authz.Engineer, repair.CheckProcedure{ProcedureID: row.ID, Note: "copy 12, every value"})
	p.Look(page, p.Path("procedures", row.ID), "procedure-checked")
	require.Empty(t, page.Problems())
}
