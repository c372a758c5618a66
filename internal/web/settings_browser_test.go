package web_test

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/web/browsertest"
)

func TestSettingsPagesInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	p.underClosure("1F-2", "ramp closure")
	start := ago(0).Add(48 * 3600e9)
	for _, state := range []string{repair.WindowPlanned, repair.WindowGranted, repair.WindowUsed, repair.WindowLost} {
		w := repair.Window{Kind: "ramp closure", StartsAt: start, EndsAt: start.Add(10 * 3600e9), ProductiveH: 7.5, State: state}
		if state == repair.WindowLost {
			w.Party, w.Reason = "owner", "police not sent"
		}
		p.DoProgram(authz.Engineer, repair.SetWindow{Window: w})
		start = start.Add(24 * 3600e9)
	}
	p.DoProgram(authz.Engineer, repair.AcceptMockup{Note: "Full size, fed through two cores as at the bridge. Cut in four places: no void above 5 mm."})
	p.DoProgram(authz.Engineer, repair.EditBasis{Key: string(basis.WebPhiCrippling), Value: 0.75, Typed: "0.75", Source: "ANSI/AISC 360-22 J10.3, read by the owner's engineer"})
	steps := p.Scope("1N-1").Sequence()
	p.DoProgram(authz.Administrator, repair.EditSequence{Steps: append(append([]sequence.Step(nil), steps[:7]...), steps[8:]...)})

	page := p.Browser(authz.Administrator)
	p.Look(page, p.Path("sequence"), "sequence")
	p.Look(page, p.Path("basis"), "basis")
	p.Look(page, p.Path("basis", string(basis.WebPhiCrippling)), "setting")
	p.Look(page, p.Path("basis", string(basis.StripStrength)), "setting-memory")
	p.Look(page, p.Path("people"), "people")
	p.Look(page, p.member(p.Role(authz.Engineer)), "member")
	p.Look(page, p.member(p.Role(authz.Engineer))+"?ask=remove", "member-remove")
	p.Look(page, p.Path("program"), "program")
	p.Look(page, p.Path("program", "edit"), "program-edit")
	p.Look(page, p.Path("windows"), "windows")
	p.Look(page, p.Path("windows", p.Scope("1N-1").Windows[0].ID), "window")
	p.Look(page, p.Path("sequence", "edit"), "sequence-edit")
	page.Open(p.Path("people"))
	page.Fill("[name=email]", "new.hand@ends.test")
	page.Fill("[name=name]", "Ada Newhand")
	page.Choose("main [name=role]", "contractor")
	require.Equal(t, 200, page.Submit("main button[type=submit]"))
	require.NotEmpty(t, page.Text("code.password"))
	page.Screenshot("people-made")
	page.Axe(t)
	page.Open(p.Path("program", "edit"))
	prog := p.Scope("1N-1").Program
	prog.Owner = "County of There"
	p.DoProgram(authz.Administrator, repair.EditProgram{Program: prog})
	page.Fill("[name=owner]", "County of Here")
	require.Equal(t, 409, page.Submit("main button[type=submit]"))
	page.Screenshot("program-clash")
	page.Axe(t)
	for _, problem := range page.Problems() {
		require.Contains(t, problem, "409", "nothing but the answer that refuses")
	}
}

// TestStepIsAddedInABrowser adds a step with a tick list, sees what it does before
// it is stored, and sees the next step of an end change.
func TestStepIsAddedInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	page := p.Browser(authz.Administrator)
	page.Open(p.Path("ends", "1N-1"))
	require.Contains(t, page.Text("[aria-current=step] h3"), "Access set")
	page.Open(p.Path("sequence"))
	page.Submit(`.settings-head a.button`)
	page.Submit(`.sequence > .send button[value=add]`)
	const step = "#edit-new-1 "
	require.True(t, page.Exists(step+"details[open]"))
	page.Screenshot("journey-step-added")
	page.Fill(step+"[name='s17.code']", "TBT")
	page.Fill(step+"[name='s17.name']", "Tool box talk")
	page.Fill(step+"[name='s17.order']", "1")
	page.Click(step + "[name='s17.performer'][value=contractor]")
	require.False(t, visible(page, step+".releasers"))
	page.Click(step + "[name='s17.hold']")
	require.True(t, visible(page, step+".releasers"), "who releases is asked once it is a hold")
	page.Click(step + "[name='s17.releaser'][value=inspector]")
	require.False(t, visible(page, step+".for-text"))
	page.Choose(step+"[name='s17.q1.condition']", "tick_list")
	require.True(t, visible(page, step+".ask:nth-of-type(2) .for-text"))
	page.Fill(step+"[name='s17.q1.text']", "hazards of the shift named")
	require.Equal(t, 200, page.Submit(`.sequence > .send button[value=preview]`))
	require.Contains(t, page.Text("#preview"), "Tool box talk is added at place 1")
	require.Contains(t, page.Text("#preview"), "4 ends change their next step")
	page.Screenshot("journey-preview")
	page.Axe(t)
	page.Submit(`.sequence > .send button[value=save]`)
	require.Contains(t, page.Text(".flash"), "The sequence is saved")
	page.Open(p.Path("ends", "1N-1"))
	require.Contains(t, page.Text("[aria-current=step] h3"), "Tool box talk")
	require.Empty(t, page.Problems())
}

// TestSettingIsEditedInABrowser edits a factor of the basis and sees an approved
// design go out of date, before it is stored and after.
func TestSettingIsEditedInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	page := p.Browser(authz.Engineer)
	page.Open(p.Path("ends", "1N-1"))
	require.NotContains(t, page.Text("main"), "out of date")
	page.Open(p.Path("basis"))
	page.Submit(`a[href$="/basis/` + string(basis.WebPhiCrippling) + `"]`)
	page.Fill("[name=value]", "0.75")
	page.Fill("[name=source]", "ANSI/AISC 360-22 J10.3")
	page.Submit("button[value=preview]")
	require.Contains(t, page.Text(".whatif"), "1 approved design goes out of date")
	require.Contains(t, page.Text(".whatif"), "1N-1")
	page.Screenshot("journey-setting")
	page.Axe(t)
	page.Submit("button[value=save]")
	page.Open(p.Path("ends", "1N-1"))
	require.Contains(t, page.Text("main"), "out of date")
	require.Empty(t, page.Problems())
}

// visible reports whether the first match takes room on the page.
func visible(page *browsertest.Page, selector string) bool {
	return browsertest.Eval[bool](page, "document.querySelector("+strconv.Quote(selector)+").checkVisibility()")
}
