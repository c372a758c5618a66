package web_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/web/webtest"
)

// A numberForm is a form that takes numbers, as the browser of a person of a role
// gets it and sends it.
type numberForm struct {
	name       string
	role       authz.Role
	page, form string   // where it stands, and its element
	action     string   // where it goes; "" where it stands
	good       []string // names and values that make it whole
	numbers    []string // its boxes of lengths
	forces     []string // its boxes of forces or stresses
}

func (p *testProgram) numberForms() []numberForm {
	at := func(parts ...string) string { return p.Path(append([]string{"ends", "1N-1"}, parts...)...) }
	return []numberForm{
		{name: "survey", role: authz.Inspector, page: at("surveys", "new"), form: surveyForm, action: at("surveys"),
			good:    []string{"T.0.0", "0.3", "T.0.1", "0.4", "kind", "cleaned"},
			numbers: []string{"T.0.0", "x.0", "z.0", "flange_thickness", "web_deviation", "web_detached"}},
		{name: "design", role: authz.Designer, page: at("design"), form: "#design-form",
			numbers: []string{"stud-height", "panel-width", "panel-height", "panel-left", "stud-1-x", "stud-1-z"}, forces: []string{"fc", "stud-fu"}},
		{name: "facts", role: authz.Engineer, page: at("edit"), form: "form[data-guard]", good: []string{"reason", "measured on site"},
			numbers: []string{"bearing.length", "bearing.width"}, forces: []string{"reaction", "fy", "fu"}},
	}
}

// TestNumbersThatCannotBe sends each form with one box that holds what no number of
// the work can be. Nothing is stored, the box says why, and what was typed stays.
func TestNumbersThatCannotBe(t *testing.T) {
	t.Parallel()
	p := newBusyProgram(t, "plain words")
	before := p.entries()
	var found []string
	for _, f := range p.numberForms() {
		who := p.Role(f.role)
		whole := formFields(who.Get(f.page).Status(200), f.form).with(f.good...)
		action := f.action
		if action == "" {
			action = f.page
		}
		for _, box := range append(append([]string(nil), f.numbers...), f.forces...) {
			require.Contains(t, whole, box, f.name)
			wrongUnit := "5 kip"
			for _, x := range f.forces {
				if x == box {
					wrongUnit = "5 in"
				}
			}
			for _, typed := range []string{"-3", "NaN", "Inf", "-Inf", "1e400", "1e300", wrongUnit, "five", "0x10", "1/0", strings.Repeat("9", 400), hostile} {
				a := who.Post(action, whole.with(box, typed).list()...)
				name := fmt.Sprintf("%s: %s = %.20q", f.name, box, typed)
				if a.Response.StatusCode != 422 {
					found = append(found, fmt.Sprintf("%s: answered %d", name, a.Response.StatusCode))
					continue
				}
				marked := false
				for _, n := range a.Select("[aria-invalid=true]") {
					// A place off the web is said at the readings that stand there.
					head := strings.HasPrefix(box, "x.") || strings.HasPrefix(box, "z.")
					marked = marked || head || webtest.Attr(n, "name") == box
				}
				if !marked {
					found = append(found, name+": the box is not marked")
				}
				if kept := formFields(a, f.form)[box]; kept != typed {
					found = append(found, fmt.Sprintf("%s: came back as %.40q", name, kept))
				}
			}
		}
		who.Post(action, whole.with("note", strings.Repeat("long ", 2<<20)).list()...).Status(413)
		who.Post(action, whole.with("note", "a\x00b").list()...).Status(400)
		who.Post(action, whole.with("version", "0").list()...).Status(400)
		who.Post(action, whole.with("entry", "nonsense").list()...).Status(400)
	}
	require.Empty(t, found)
	require.Equal(t, before, p.entries(), "nothing was stored")
}

// TestStaleFormsShowBothValues changes the end between the reading of a form and its
// sending.
func TestStaleFormsShowBothValues(t *testing.T) {
	t.Parallel()
	p := newBusyProgram(t, "plain words")
	for _, f := range p.numberForms() {
		who := p.Role(f.role)
		whole := formFields(who.Get(f.page).Status(200), f.form).with(f.good...).with("note", "typed before the other change")
		p.Do(authz.Inspector, "1N-1", asCleaned(0.4))
		before := p.entries()
		action := f.action
		if action == "" {
			action = f.page
		}
		a := who.Post(action, whole.list()...).Status(409).Has("inspector plain words")
		if _, ok := formFields(a, f.form)["note"]; ok {
			a.Has("typed before the other change")
		}
		require.Equal(t, before, p.entries(), f.name)
		// The answer is a form that can be sent again.
		again := formFields(a, f.form)
		require.Equal(t, p.Version("1N-1"), again["version"], f.name)
		done := who.Post(action, again.with(f.good...).list()...)
		require.Equal(t, 303, done.Response.StatusCode, "%s: %s", f.name, reasons(done))
	}
}

// TestWhatTheRulesRefuse sends what reads well and cannot be.
func TestWhatTheRulesRefuse(t *testing.T) {
	t.Parallel()
	p := newBusyProgram(t, "plain words")
	before := p.entries()
	var found []string
	forms := map[string]numberForm{}
	for _, f := range p.numberForms() {
		forms[f.name] = f
	}
	for _, c := range []struct {
		form, box, typed, says string
	}{
		{"survey", "T.0.0", "0.9", "as-new"},
		{"survey", "z.0", "90", "web"},
		{"design", "stud-1-z", "90", ""},
		{"design", "stud-1-x", "-1", ""},
		{"design", "stud-1-face", "Q", ""},
		{"design", "stud-1-mark", "R1-1", ""},
		{"design", "panel-height", "90", ""},
		{"facts", "skew", "89", "-75 and 75"},
		{"facts", "reason", "", "say why"},
		{"facts", "section", "nonsense", "section"},
		{"facts", "bearing.kind", "magnet", "bearing"},
	} {
		f := forms[c.form]
		who := p.Role(f.role)
		whole := formFields(who.Get(f.page).Status(200), f.form).with(f.good...).with(c.box, c.typed)
		action := f.action
		if action == "" {
			action = f.page
		}
		a := who.Post(action, whole.list()...)
		said := strings.ToLower(reasons(a))
		if a.Response.StatusCode != 422 || !strings.Contains(said, c.says) || said == "" {
			found = append(found, fmt.Sprintf("%s: %s = %s: answered %d, %s", c.form, c.box, c.typed, a.Response.StatusCode, said))
		}
	}
	require.Empty(t, found)
	require.Equal(t, before, p.entries(), "nothing was stored")
}

// reasons is what a page says against what was sent.
func reasons(a *webtest.Answer) string {
	var out []string
	for _, n := range append(append(a.Select("[role=alert]"), a.Select(".problem")...), a.Select("[id$=-error]")...) {
		out = append(out, webtest.Text(n))
	}
	return strings.Join(out, " / ")
}
