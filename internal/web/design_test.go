package web_test

import (
	"fmt"
	"net/http/httptest"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

// fieldsOf are the names and values that the form of a page holds, as a browser
// would send them.
func fieldsOf(a *webtest.Answer, form string) url.Values {
	out := url.Values{}
	for _, n := range slices.Concat(a.Select(form+" input"), a.Select(form+" textarea"), a.Select(form+" select")) {
		name := webtest.Attr(n, "name")
		if name == "" {
			continue
		}
		switch n.Data {
		case "textarea":
			out.Set(name, webtest.Text(n))
		case "select":
			for c := range n.Descendants() {
				if c.Data == "option" {
					if _, set := out[name]; !set || hasAttr(c.Attr, "selected") {
						out.Set(name, webtest.Attr(c, "value"))
					}
				}
			}
		default:
			if t := webtest.Attr(n, "type"); t == "radio" || t == "checkbox" {
				if !hasAttr(n.Attr, "checked") {
					continue
				}
			}
			out.Set(name, webtest.Attr(n, "value"))
		}
	}
	return out
}

func hasAttr(attrs []html.Attribute, name string) bool {
	return slices.ContainsFunc(attrs, func(a html.Attribute) bool { return a.Key == name })
}

func send(c *webtest.Client, path string, form url.Values, header ...string) *webtest.Answer {
	r := httptest.NewRequest("POST", webtest.Base+path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	return c.Do(r)
}

func with(form url.Values, namesAndValues ...string) url.Values {
	out := url.Values{}
	for k, v := range form {
		out[k] = v
	}
	for i := 0; i+1 < len(namesAndValues); i += 2 {
		out.Set(namesAndValues[i], namesAndValues[i+1])
	}
	return out
}

const deskForm = "#design-form"

func TestDesignFromNothingToSubmitted(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Inspector, "1N-1", asFound(0.3))
	c, desk := p.Role(authz.Designer), p.Path("ends", "1N-1", "design")

	a := c.Get(desk).Status(200).Has("Save draft of revision 1", "No stud yet")
	form := fieldsOf(a, deskForm)
	require.Equal(t, "3/4 in", form.Get("stud-diameter"))
	require.Equal(t, "65", form.Get("stud-fu"), "from the design basis")

	a = send(c, desk+"/preview", with(form, "do", "preview")).Status(422)
	require.NotEmpty(t, a.Select("#f-panel-width[aria-invalid=true]"), "what is missing is said at the fields")

	a = send(c, desk+"/preview", with(form, "do", "propose")).Status(200).Has("A layout that passes every check is drawn")
	require.Contains(t, a.One(".design-outcome .lead-cell"), "passes")
	proposed := fieldsOf(a, deskForm)
	require.Equal(t, form.Get("entry"), proposed.Get("entry"), "one form, one entry")
	require.Zero(t, len(p.End("1N-1").Designs), "nothing is stored by a proposal")

	send(c, desk, with(proposed, "stud-height", "4-1/4", "stud-1-x", "6-1/2", "do", "save")).LeadsTo(desk)
	d := p.End("1N-1").LatestDesign()
	require.Equal(t, repair.DesignDraft, d.State)
	require.InDelta(t, 4.25*25.4, float64(d.StudHeight), 1e-9)
	again := fieldsOf(c.Get(desk).Status(200).Has("The draft of revision 1 is saved."), deskForm)
	require.Equal(t, "4-1/4", again.Get("stud-height"), "kept as typed")
	require.Equal(t, "6-1/2", again.Get("stud-1-x"), "kept as typed")

	send(c, desk+"/submit", with(again, "note", "moved by hand, to be looked at as it is")).LeadsTo(p.Path("ends", "1N-1", "designs", "1"))
	require.Equal(t, repair.DesignSubmitted, p.End("1N-1").LatestDesign().State)
	c.Get(desk).Status(200).Has("Revision 1 waits for review. Saving begins revision 2")
}

func TestDesignFormKeepsWhatWasTyped(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Inspector, "1N-1", asFound(0.3))
	p.Do(authz.Designer, "1N-1", smallDesign())
	c, desk := p.Role(authz.Designer), p.Path("ends", "1N-1", "design")
	form := fieldsOf(c.Get(desk), deskForm)
	require.Equal(t, "L1-1", form.Get("stud-1-mark"))

	for name, bad := range map[string]struct{ field, typed, reason string }{
		"no number":      {"panel-width", "wide", "wide"},
		"wrong quantity": {"stud-2-x", "3 ksi", "is a stress"},
		"out of range":   {"panel-x", "900", "Panel, from the girder end, x: must lie from 0 to 165.5 in, got 900"},
		"too high":       {"panel-height", "40", "Panel, height: must end at or below the top flange, 31.390 in above the bottom flange, got 41.000 in"},
		"not whole":      {"stud-1-row", "1.5", "whole number"},
		"no mark":        {"stud-1-mark", "", "1 to 20 characters"},
		"twice":          {"stud-2-mark", "L1-1", "Stud 2, mark: must be unique"},
		"no face":        {"stud-1-face", "X", "Stud L1-1, face: must be L or R"},
	} {
		t.Run(name, func(t *testing.T) {
			a := send(c, desk, with(form, bad.field, bad.typed)).Status(422)
			require.Contains(t, a.One("#errors"), bad.reason)
			require.Equal(t, "true", webtest.Attr(a.Select("#f-" + bad.field)[0], "aria-invalid"), bad.field)
			got := fieldsOf(a, deskForm)
			require.Equal(t, form.Get("note"), got.Get("note"))
			if bad.field != "stud-1-face" {
				require.Equal(t, bad.typed, got.Get(bad.field))
			}
			require.Equal(t, units.Length(3*units.Inch), p.End("1N-1").StudsOf(p.End("1N-1").LatestDesign().ID)[0].X, "nothing is stored")
		})
	}
}

func TestDesignPatternAddDrop(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	c, desk := p.Role(authz.Designer), p.Path("ends", "1N-2", "design")
	form := fieldsOf(c.Get(desk).Status(200).Has("No survey is on record"), deskForm)

	a := send(c, desk+"/preview", with(form, "do", "pattern", "pattern-rows", "3", "pattern-columns", "2", "pattern-x", "4", "pattern-z", "6", "pattern-pitch-x", "4",
		"pattern-pitch-z", "4-1/2", "pattern-faces", "both")).Status(200)
	got := fieldsOf(a, deskForm)
	require.Equal(t, "12", a.One(".stud-set .count"))
	require.Equal(t, []string{"L-3-2", "8", "15", "L"}, []string{got.Get("stud-6-mark"), got.Get("stud-6-x"), got.Get("stud-6-z"), got.Get("stud-6-face")})

	one := fieldsOf(send(c, desk+"/preview", with(got, "do", "pattern", "pattern-rows", "1", "pattern-faces", "right")), deskForm)
	require.Equal(t, "L-3-2", one.Get("stud-6-mark"), "the other face stays")
	require.Equal(t, "R-1-2", one.Get("stud-8-mark"))
	require.False(t, one.Has("stud-9-mark"))

	added := fieldsOf(send(c, desk+"/preview", with(one, "do", "add")), deskForm)
	require.Equal(t, []string{"R-2-2", "8", "10.5"}, []string{added.Get("stud-9-mark"), added.Get("stud-9-x"), added.Get("stud-9-z")})
	dropped := fieldsOf(send(c, desk+"/preview", with(added, "do", "drop-1")), deskForm)
	require.Equal(t, "L-1-2", dropped.Get("stud-1-mark"))
	require.False(t, dropped.Has("stud-9-mark"))

	for field, typed := range map[string]string{"pattern-rows": "0", "pattern-pitch-x": "0", "pattern-x": "no", "pattern-columns": "500"} {
		bad := send(c, desk+"/preview", with(got, "do", "pattern", field, typed)).Status(422)
		require.NotEmpty(t, bad.Select("#f-"+field+"[aria-invalid=true]"), field)
		require.Equal(t, "12", bad.One(".stud-set .count"), "the layout stays")
	}
	require.Empty(t, p.End("1N-2").Designs)
}

func TestDesignInOtherUnits(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Designer, "1N-1", smallDesign())
	c, desk := p.Role(authz.Designer), p.Path("ends", "1N-1", "design")
	c.Post("/account/reading", "units", "si", "theme", "").Status(303)
	form := fieldsOf(c.Get(desk), deskForm)
	require.Equal(t, "76.2", form.Get("stud-1-x"))
	require.Equal(t, "5/8 in", form.Get("stud-diameter"))
	send(c, desk, with(form, "stud-1-x", "3-1/8 in")).LeadsTo(desk)
	d := p.End("1N-1")
	require.Equal(t, 3.125*units.Inch, d.StudsOf(d.LatestDesign().ID)[0].X)
	require.Equal(t, "3-1/8 in", fieldsOf(c.Get(desk), deskForm).Get("stud-1-x"))
	before, _ := p.Store.Verify(t.Context())
	require.Empty(t, before.Differences)
}

func TestDesignConflictShowsBoth(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Inspector, "1N-1", asFound(0.3))
	p.Do(authz.Designer, "1N-1", smallDesign())
	c, desk := p.Role(authz.Designer), p.Path("ends", "1N-1", "design")
	form := fieldsOf(c.Get(desk), deskForm)

	other := smallDesign()
	other.Design.PanelWidth = 18 * units.Inch
	other.Design.Studs[0].X = 4 * units.Inch
	p.Do(authz.Engineer, "1N-1", other)

	mine := with(form, "panel-width", "20", "note", "mine")
	a := send(c, desk, mine).Status(409).Has("Not stored yet: the record changed meanwhile", p.Role(authz.Engineer).User.Name)
	rows := a.One(".conflict table")
	require.Contains(t, rows, "Panel width ! changed 18.000 in 20.000 in")
	require.Contains(t, rows, "Stud L1-1 ! moved")
	again := fieldsOf(a, deskForm)
	require.Equal(t, "20", again.Get("panel-width"), "nothing typed is lost")
	require.Equal(t, p.Version("1N-1"), again.Get("version"))
	require.InDelta(t, 18*25.4, float64(p.End("1N-1").LatestDesign().PanelWidth), 1e-9, "nothing is overwritten")
	send(c, desk, again).LeadsTo(desk)
	require.InDelta(t, 20*25.4, float64(p.End("1N-1").LatestDesign().PanelWidth), 1e-9)
}

func TestDesignSentTwiceCountsOnce(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	c, desk := p.Role(authz.Designer), p.Path("ends", "1N-1", "design")
	p.Do(authz.Designer, "1N-1", smallDesign())
	form := fieldsOf(c.Get(desk), deskForm)
	send(c, desk, form).LeadsTo(desk)
	send(c, desk, form).LeadsTo(desk)
	require.Equal(t, strconv.Itoa(3), p.Version("1N-1"), "made, designed, saved once")
}

func TestDesignThatDoesNotPassNeedsAReason(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Inspector, "1N-1", asFound(0.3))
	p.Do(authz.Designer, "1N-1", smallDesign())
	c, desk := p.Role(authz.Designer), p.Path("ends", "1N-1", "design")
	form := fieldsOf(c.Get(desk), deskForm)
	a := send(c, desk+"/submit", with(form, "note", "")).Status(422)
	require.Contains(t, a.One("#errors"), "does not pass")
	require.Equal(t, repair.DesignDraft, p.End("1N-1").LatestDesign().State)
	require.Equal(t, "to be reviewed as it is", p.End("1N-1").LatestDesign().Note, "a refused submission saves nothing")
}

func TestDesignProposalSaysWhyThereIsNone(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	ch := asFound(0.3)
	for i := range ch.Readings {
		ch.Readings[i].T = 0.02 * units.Inch
	}
	p.Do(authz.Inspector, "1N-1", ch)
	c, desk := p.Role(authz.Designer), p.Path("ends", "1N-1", "design")
	form := fieldsOf(c.Get(desk), deskForm)
	a := send(c, desk+"/preview", with(form, "do", "propose", "stud-height", "1-1/2"))
	require.Contains(t, a.Status(200).One(".hazard"), "No layout found")
	send(c, desk+"/preview", with(form, "do", "propose", "fc", "strong")).Status(422).Has("strong")
}

func TestDesignPreviewAsFragment(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Designer, "1N-1", smallDesign())
	c, desk := p.Role(authz.Designer), p.Path("ends", "1N-1", "design")
	form := fieldsOf(c.Get(desk), deskForm)
	a := send(c, desk+"/preview", with(form, "stud-1-x", "5"), "X-Fragment", "1").Status(200).Lacks("<html")
	require.Equal(t, "127", webtest.Attr(a.Select(`g.studs [data-mark="L1-1"]`)[0], "data-x"))
	require.Equal(t, units.Length(3*units.Inch), p.End("1N-1").StudsOf(p.End("1N-1").LatestDesign().ID)[0].X, "a preview stores nothing")
	a = send(c, desk+"/preview", with(form, "stud-1-x", "five"), "X-Fragment", "1")
	require.Contains(t, a.One("#design-checks"), "Nothing is computed until")
}

func TestDesignRights(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Designer, "1N-1", smallDesign())
	desk := p.Path("ends", "1N-1", "design")
	form := fieldsOf(p.Role(authz.Designer).Get(desk), deskForm)
	for _, role := range authz.Roles() {
		may := role == authz.Designer || role == authz.Engineer
		want := map[bool]int{true: 200, false: 303}[may]
		p.Role(role).Get(desk).Status(want)
		p.Role(role).Get(p.Path("ends", "1N-2", "design")).Status(map[bool]int{true: 200, false: 404}[may])
		if !may {
			for _, path := range []string{desk, desk + "/preview", desk + "/submit"} {
				send(p.Role(role), path, form).Status(403)
			}
		}
	}
	p.Anonymous().Get(desk).Status(303)
	c := p.Role(authz.Designer)
	c.Get(p.Path("ends", "9N-9", "design")).Status(404)
	send(c, desk, with(form, "version", "")).Status(400)
	send(c, desk, with(form, "entry", "x")).Status(400)
	send(c, desk+"/preview", with(form, "do", fmt.Sprintf("drop-%d", 1<<40))).Status(200)
}
