package web_test

import (
	"net/url"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/web/webtest"
)

// formAt reads the form of an answer that a selector names as a browser would send
// it, without its buttons.
func formAt(a *webtest.Answer, form string) url.Values {
	out := url.Values{}
	for _, n := range a.Select(form + " [name]") {
		name, kind := webtest.Attr(n, "name"), webtest.Attr(n, "type")
		switch {
		case n.Data == "button":
		case n.Data == "select":
			out.Add(name, selected(n))
		case n.Data == "textarea":
			text := ""
			for c := range n.ChildNodes() {
				text += c.Data
			}
			out.Add(name, text)
		case (kind == "checkbox" || kind == "radio") && !has(n, "checked"):
		default:
			out.Add(name, webtest.Attr(n, "value"))
		}
	}
	return out
}

func has(n *html.Node, attr string) bool {
	for _, a := range n.Attr {
		if a.Key == attr {
			return true
		}
	}
	return false
}

func selected(n *html.Node) string {
	first, any := "", false
	for c := range n.Descendants() {
		if c.Type == html.ElementNode && c.Data == "option" {
			if has(c, "selected") {
				return webtest.Attr(c, "value")
			}
			if !any {
				first, any = webtest.Attr(c, "value"), true
			}
		}
	}
	return first
}

// pressed lists the values as Post takes them, with a button pressed.
func pressed(form url.Values, do string) []string {
	out := []string{"do", do}
	for name, values := range form {
		for _, v := range values {
			out = append(out, name, v)
		}
	}
	return out
}

// place finds the field prefix of a step on the form by its code.
func place(t *testing.T, form url.Values, code string) string {
	t.Helper()
	n, err := strconv.Atoi(form.Get("n"))
	require.NoError(t, err)
	for i := range n {
		if name := "s" + strconv.Itoa(i); form.Get(name+".code") == code {
			return name
		}
	}
	require.FailNow(t, "the form has no step "+code)
	return ""
}

const sequenceFormAt = "form.sequence"

func (p *testProgram) codes() string {
	p.t.Helper()
	var out []string
	for _, st := range p.Scope("1N-1").Sequence() {
		if !st.Retired {
			out = append(out, st.Code)
		}
	}
	return strings.Join(out, " ")
}

func TestSequenceIsReadByAllAndEditedByAdministrators(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	for _, role := range authz.Roles() {
		a := p.Role(role).Get(p.Path("sequence")).Status(200)
		a.Has("Access set", "owner&#39;s engineer", "a tick list:", "bars located before coring", "the gate to strip passed", "No step was retired")
		require.Equal(t, role == authz.Administrator, len(a.Select(`a[href="`+p.Path("sequence", "edit")+`"]`)) == 1, role)
		want := 403
		if role == authz.Administrator {
			want = 200
		}
		p.Role(role).Get(p.Path("sequence", "edit")).Status(want)
		p.Role(role).Post(p.Path("sequence", "edit"), "entry", newEntryID(), "n", "0", "do", "add").Status(want)
	}
	p.AsSiteAdmin().Get(p.Path("sequence", "edit")).Status(403)
}

func TestSequenceFormSentBackUnchangedChangesNothing(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	admin := p.Role(authz.Administrator)
	for _, system := range []string{"us", "si"} {
		require.NoError(t, p.People.SetUnits(t.Context(), admin.User.ID, &system))
		form := formAt(admin.Get(p.Path("sequence", "edit")).Status(200), sequenceFormAt)
		admin.Post(p.Path("sequence", "edit"), pressed(form, "preview")...).Status(200).Has("the sequence is as it was").Lacks(`value="save"`)
	}
}

func TestStepIsAddedWithATickListAfterItsConsequencesWereSeen(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	admin, at := p.Role(authz.Administrator), p.Path("sequence", "edit")
	require.Equal(t, "ACC", p.End("1N-1").State[0].StepCode)

	form := formAt(admin.Get(at), sequenceFormAt)
	form = formAt(admin.Post(at, pressed(form, "add")...).Status(200), sequenceFormAt)
	name := place(t, form, "")
	form.Set(name+".order", "1")
	refusal := admin.Post(at, pressed(form, "preview")...).Status(422)
	refusal.Has("3 values could not be taken", "At least one role is needed")
	require.Len(t, refusal.Select("#f-s0\\.performer.bad"), 1)
	require.Len(t, refusal.Select("#f-s0\\.code[aria-invalid]"), 1)
	require.Len(t, refusal.Select("#edit-new-1 details[open]"), 1)

	form = formAt(refusal, sequenceFormAt)
	name = place(t, form, "")
	require.Equal(t, "s0", name, "the step moved to the place typed")
	form.Set(name+".code", "TOL")
	form.Set(name+".name", "Talk at the tool box")
	form.Add(name+".performer", "contractor")
	form.Set(name+".q0.condition", "tick_list")
	form.Set(name+".q0.text", "hazards of the shift named\r\nrescue plan read")
	preview := admin.Post(at, pressed(form, "preview")...).Status(200)
	preview.Has("Talk at the tool box is added at place 1.", "4 ends change their next step", "1F-2")
	require.Equal(t, "ACC", p.End("1N-1").State[0].StepCode, "a preview stores nothing")

	// A form changed after the preview is shown once more, not stored.
	form = formAt(preview, sequenceFormAt)
	form.Set(name+".name", "Tool box talk")
	preview = admin.Post(at, pressed(form, "save")...).Status(200)
	preview.Has("The form changed since you saw what it does")
	require.Equal(t, "ACC", p.End("1N-1").State[0].StepCode)

	form = formAt(preview, sequenceFormAt)
	admin.Post(at, pressed(form, "save")...).LeadsTo(p.Path("sequence")).Follow().Has("Tool box talk", "rescue plan read", "Tool box talk is added")
	admin.Post(at, pressed(form, "save")...).Status(303) // the same entry twice counts once
	require.Equal(t, "TOL", p.End("1N-1").State[0].StepCode)
	p.Role(authz.Contractor).Get(p.Path("ends", "1N-1")).Has("Tool box talk", "hazards of the shift named")
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

func TestStepsAreMovedRetiredAndBroughtBack(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	admin, at := p.Role(authz.Administrator), p.Path("sequence", "edit")
	was := p.codes()
	gau, hrd := p.stepID("GAU"), p.stepID("HRD")
	send := func(form url.Values, do string) url.Values {
		return formAt(admin.Post(at, pressed(form, do)...).Status(200), sequenceFormAt)
	}
	form := formAt(admin.Get(at), sequenceFormAt)
	form = send(form, "up."+gau)
	form = send(form, "down."+hrd)
	form = send(form, "retire."+p.stepID("COR"))
	form.Set(place(t, form, "CLS")+".order", "1")
	form = send(form, "preview")
	admin.Post(at, pressed(form, "save")...).Status(303)
	require.Equal(t, "CLS ACC CLN MSR DES WLD GAU COL FRM REL CST CUR STR TRF HRD LDP", p.codes())
	admin.Get(p.Path("sequence")).Has("Deck cored", "Steps out of use", "Deck cored is retired")

	form = formAt(admin.Get(at), sequenceFormAt)
	form = send(form, "restore."+p.stepID("COR"))
	form = send(form, "down."+gau)
	form = send(form, "up."+hrd)
	form.Set(place(t, form, "CLS")+".order", "17")
	form = send(form, "preview")
	admin.Post(at, pressed(form, "save")...).Status(303)
	require.Equal(t, was, p.codes())
}

func TestStepBecomesAHoldAndKeepsItsCode(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	admin, at := p.Role(authz.Administrator), p.Path("sequence", "edit")
	form := formAt(admin.Get(at), sequenceFormAt)
	acc := place(t, form, "ACC")
	form.Set(acc+".hold", "on")
	admin.Post(at, pressed(form, "preview")...).Status(422).Has("A hold needs at least one role that releases it")
	form.Add(acc+".releaser", "engineer")
	form.Set(acc+".code", "AXX")
	admin.Post(at, pressed(form, "preview")...).Status(422).Has("The code of a step on record stays ACC")
	form.Set(acc+".code", "ACC")
	form.Set(place(t, form, "STR")+".q2.condition", "strength_reached")
	form.Set(place(t, form, "STR")+".q2.strength", "plenty")
	admin.Post(at, pressed(form, "preview")...).Status(422).Has("plenty", "a stress such as")
	form.Set(place(t, form, "STR")+".q2.strength", "100 MPa")
	form = formAt(admin.Post(at, pressed(form, "preview")...).Status(200).Has("Access set becomes a hold that owner&#39;s engineer releases"), sequenceFormAt)
	admin.Post(at, pressed(form, "save")...).Status(303)
	require.NoError(t, p.People.SetUnits(t.Context(), admin.User.ID, new("si")))
	admin.Get(p.Path("sequence")).Has("a strength of 100.0\u00a0MPa")
	now := p.Scope("1N-1").Sequence()
	require.True(t, now[0].Hold)
	require.Equal(t, []sequence.Role{authz.Inspector, authz.Engineer}, now[5].Releaser, "the first is the one whom an end waits for")
	changes, err := p.Store.SettingChanges(p.ctx, p.ID, []string{"sequence.edit"}, 1)
	require.NoError(t, err)
	require.Len(t, changes[0].Changes, 2, "only the two steps that were edited are written")
}

func TestSequenceEditedTwiceAtOnceLosesNothing(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	admin, at := p.Role(authz.Administrator), p.Path("sequence", "edit")
	form := formAt(admin.Get(at), sequenceFormAt)
	form.Set(place(t, form, "CUR")+".name", "Cured and kept wet")
	form = formAt(admin.Post(at, pressed(form, "preview")...).Status(200), sequenceFormAt)

	steps := p.Scope("1N-1").Sequence()
	other := append([]sequence.Step(nil), steps...)
	other = append(other, sequence.Step{Code: "PNT", Name: "Painted", Order: 18, Performer: []sequence.Role{authz.Contractor}, AppliesToAll: true})
	p.DoProgram(authz.Administrator, repair.EditSequence{Steps: other})

	clash := admin.Post(at, pressed(form, "save")...).Status(409)
	clash.Has("Somebody changed this meanwhile", "Cured and kept wet", "Painted", "retired by this edit")
	require.Contains(t, p.codes(), "PNT")
	form = formAt(clash, sequenceFormAt)
	form = formAt(admin.Post(at, pressed(form, "restore."+p.stepID("PNT"))...).Status(200), sequenceFormAt)
	form = formAt(admin.Post(at, pressed(form, "preview")...).Status(200).Lacks("Painted is"), sequenceFormAt)
	admin.Post(at, pressed(form, "save")...).Status(303)
	require.Contains(t, p.codes(), "CLS PNT")
	admin.Get(p.Path("sequence")).Has("Cured and kept wet")

	p.DoProgram(authz.Administrator, repair.AcceptMockup{Note: "cast, cut and found full"})
	admin.Post(at, "entry", newEntryID(), "n", "900", "do", "preview").Status(400)
}
