package web_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

// fields are the names and values that a browser would send from a form.
type fields map[string]string

// formFields reads the boxes of a form as they stand on a page.
func formFields(a *webtest.Answer, form string) fields {
	out := fields{}
	for _, n := range a.Select(form + " input") {
		kind := webtest.Attr(n, "type")
		checked := strings.Contains(" "+attrs(n)+" ", " checked ")
		if name := webtest.Attr(n, "name"); name != "" && (kind != "radio" && kind != "checkbox" || checked) {
			out[name] = webtest.Attr(n, "value")
		}
	}
	for _, n := range a.Select(form + " textarea") {
		text := ""
		if n.FirstChild != nil {
			text = n.FirstChild.Data
		}
		out[webtest.Attr(n, "name")] = text
	}
	for _, n := range a.Select(form + " option[selected]") {
		out[webtest.Attr(n.Parent, "name")] = webtest.Attr(n, "value")
	}
	return out
}

func attrs(n *html.Node) string {
	names := make([]string, len(n.Attr))
	for i, at := range n.Attr {
		names[i] = at.Key
	}
	return strings.Join(names, " ")
}

// with sets further values.
func (f fields) with(namesAndValues ...string) fields {
	out := fields{}
	for k, v := range f {
		out[k] = v
	}
	for i := 0; i < len(namesAndValues); i += 2 {
		out[namesAndValues[i]] = namesAndValues[i+1]
	}
	return out
}

// list is the form as Client.Post wants it.
func (f fields) list() []string {
	var out []string
	for k, v := range f {
		out = append(out, k, v)
	}
	return out
}

const surveyForm = "form[data-survey]"

func TestSurveyIsEnteredAsTyped(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	who := p.Role(authz.Inspector)
	path := p.Path("ends", "1N-1")
	f := formFields(who.Get(path+"/surveys/new").Status(200), surveyForm)
	require.Equal(t, "0", f["x.0"])
	require.Equal(t, "6", f["rows"])
	who.Post(path+"/surveys", f.with("T.5.0", "5/16", "T.5.1", "0.3125", "L.4.0", "7.9 mm", "T.4.1", "na", "flange_thickness", "13/16", "hole.0.x", "", "note", "wet").list()...).
		LeadsTo(path + "#capacity")

	r := p.End("1N-1")
	require.Len(t, r.Readings, 4)
	require.Equal(t, "5/16", byPlace(r, "T", 0, 1).Typed)
	require.Equal(t, float64(5.0/16*units.Inch), float64(byPlace(r, "T", 0, 1).T))
	require.InDelta(t, 7.9, float64(byPlace(r, "L", 0, 4).T), 1e-12)
	require.True(t, byPlace(r, "T", 3, 4).NoAccess)
	require.InDelta(t, 20.6375, float64(*r.LatestSurvey().FlangeThick), 1e-12)

	// Every text comes back as it was typed, and storing it again moves nothing.
	edit := who.Get(path + "/surveys/1/edit").Status(200)
	g := formFields(edit, surveyForm)
	require.Equal(t, []string{"5/16", "0.3125", "7.9 mm", "na", "13/16", "wet"}, []string{g["T.1.0"], g["T.1.1"], g["L.0.0"], g["T.0.1"], g["flange_thickness"], g["note"]})
	who.Post(path+"/surveys/1/edit", g.list()...).LeadsTo(path + "#capacity")
	require.Equal(t, r.Readings, p.End("1N-1").Readings)

	// A reader of SI sees exact millimetres, and storing those moves nothing either.
	require.NoError(t, p.People.SetUnits(t.Context(), who.User.ID, new("si")))
	si := formFields(who.Get(path+"/surveys/1/edit"), surveyForm)
	require.Equal(t, "7.9375", si["T.1.0"])
	who.Post(path+"/surveys/1/edit", si.list()...).Status(303)
	for i, x := range p.End("1N-1").Readings {
		require.Equal(t, r.Readings[i].T, x.T)
		require.Nil(t, x.SupersededBy)
	}
	v, err := p.Store.Verify(t.Context())
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

// spaced is a text with plain blanks, as webtest.Text gives it.
func spaced(text string) string { return strings.Join(strings.Fields(text), " ") }

func byPlace(r *repair.Record, face string, x, z float64) repair.Reading {
	for _, rd := range r.Readings {
		if rd.Face == face && rd.X == units.Length(x)*units.Inch && rd.Z == units.Length(z)*units.Inch && rd.SupersededBy == nil {
			return rd
		}
	}
	return repair.Reading{}
}

func TestSurveyFormForEveryRole(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Inspector, "1N-1", asFound(0.4))
	path := p.Path("ends", "1N-1", "surveys")
	for _, role := range authz.Roles() {
		want := 403
		if role == authz.Inspector || role == authz.Designer || role == authz.Engineer {
			want = 200
		}
		p.Role(role).Get(path + "/new").Status(want)
		p.Role(role).Get(path + "/1/edit").Status(want)
		p.Role(role).Post(path+"/preview", "cols", "0", "rows", "0", "holes", "0").Status(want)
		if want == 403 {
			p.Role(role).Post(path, "cols", "0", "rows", "0", "holes", "0", "entry", newEntryID(), "version", "1").Status(403)
		}
	}
	p.Role(authz.Inspector).Get(path + "/7/edit").Status(404)
	later := asFound(0.5)
	p.Do(authz.Inspector, "1N-1", later)
	p.Role(authz.Inspector).Get(path + "/1/edit").Status(422).Has("is not the latest")
}

func TestSurveyPreviewShowsCapacityAndProblems(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	who := p.Role(authz.Inspector)
	path := p.Path("ends", "1N-1", "surveys")
	f := formFields(who.Get(path+"/new"), surveyForm)
	who.Post(path+"/preview", f.list()...).Status(200).Has("No reading has been typed").Lacks("<!doctype")
	a := who.Post(path+"/preview", f.with("T.5.0", "0.29", "T.5.1", "0.29", "T.5.2", "oops", "T.4.0", "5 in", "x.3", "", "T.5.3", "0.2", "hole.0.x", "1").list()...).Status(200)
	a.Has("does not pass", "50%", "data-field=\"T.5.2\"", "data-field=\"T.4.0\"", "data-field=\"x.3\"", "is more than the as-new")
	require.Empty(t, p.End("1N-1").Surveys)

	// Without a script the same stands on the page.
	b := who.Post(path, f.with("T.5.0", "0.29", "do", "preview").list()...).Status(200)
	b.Has("With these findings", "50%")
	require.Equal(t, a.One("#preview-capacity"), who.Post(path, f.with("T.5.0", "0.29", "T.5.1", "0.29", "do", "preview").list()...).One("#preview-capacity"))

	// What is stored then is what was shown.
	shown := b.One("#preview-capacity")
	who.Post(path, f.with("T.5.0", "0.29").list()...).Status(303)
	require.Equal(t, shown, spaced(p.End("1N-1").State[0].Capacity.Format(units.US, -1)))
}

func TestSurveyRefusesByBox(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	who := p.Role(authz.Inspector)
	path := p.Path("ends", "1N-1", "surveys")
	f := formFields(who.Get(path+"/new"), surveyForm)
	who.Post(path, f.list()...).Status(422).Has("a survey needs at least one reading")
	a := who.Post(path, f.with("T.5.0", "0.7", "T.5.1", "thin", "z.4", "900", "T.4.0", "0.2", "captured_at", "2999-01-01T10:00", "web_deviation", "?").list()...).Status(422)
	a.Has("is more than the as-new", "lies outside the web", `value="thin"`, `value="900"`)
	require.Len(t, a.Select(`.grid-entry input[aria-invalid=true]`), 3)
	who.Post(path, f.with("T.5.0", "0.5", "captured_at", "2999-01-01T10:00").list()...).Status(422).Has("lies in the future")

	// Metal above the as-new thickness stands with a reason.
	who.Post(path, f.with("T.5.0", "0.7", "thicker_reason", "doubler plate of an earlier repair").list()...).Status(303)
	who.Post(path, f.with("cols", "999").list()...).Status(400)
	who.Post(path, f.with("note", strings.Repeat("x", 10<<20)).list()...).Status(413).Has("at most 2097152 bytes")
}

func TestSurveyTakesListsAndTables(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	who := p.Role(authz.Inspector)
	path := p.Path("ends", "1N-1", "surveys")
	f := formFields(who.Get(path+"/new"), surveyForm)

	// A table moves into the grid.
	a := who.Post(path, f.with("points", "z\\x\t0\t4\t8 1/2\n10\t0.5\t\t0.45\n2\t5/16\tNA\t0.3", "face", "L", "do", "paste").list()...).Status(200)
	g := formFields(a, surveyForm)
	require.Equal(t, []string{"0", "4", "8 1/2", "10", "2"}, []string{g["x.0"], g["x.1"], g["x.2"], g["z.0"], g["z.1"]})
	require.Equal(t, []string{"0.5", "", "0.45", "5/16", "NA", "0.3"}, []string{g["L.0.0"], g["L.0.1"], g["L.0.2"], g["L.1.0"], g["L.1.1"], g["L.1.2"]})
	require.Empty(t, g["points"])

	// A list counts as it stands, and a bad line of it is named.
	who.Post(path, g.with("points", "x,z,t\n1,5,0.4\n2,5,R,0.41\n3,oops,0.4").list()...).Status(422).Has("line 4: z must be a length")
	who.Post(path, g.with("points", "x,z,t\n1,5,0.4\n2,5,0.41,R").list()...).Status(303)
	r := p.End("1N-1")
	require.Len(t, r.Readings, 7)
	require.Equal(t, "0.41", byPlace(r, "R", 2, 5).Typed)

	// A new grid keeps what still has its place and lists the rest.
	k := formFields(who.Get(path+"/1/edit"), surveyForm)
	b := who.Post(path+"/1/edit", k.with("start_x", "0", "step_x", "4", "count_x", "3", "start_z", "2", "step_z", "4", "count_z", "3", "do", "grid").list()...).Status(200)
	n := formFields(b, surveyForm)
	require.Equal(t, "5/16", n["L.2.0"])
	require.Contains(t, n["points"], "L\t8 1/2\t10\t0.45")
	require.Contains(t, n["points"], "R\t2\t5\t0.41")
	who.Post(path+"/1/edit", n.list()...).Status(303)
	for _, x := range p.End("1N-1").Readings {
		require.Nil(t, x.SupersededBy, "nothing moved")
	}
	who.Post(path, f.with("step_x", "0", "do", "grid").list()...).Status(422).Has("must be a length above 0")
	for do, name := range map[string]string{"add-row": "z.6", "add-col": "x.6", "add-hole": "hole.0.width"} {
		c := formFields(who.Post(path, f.with("do", do, "T.0.0", "0.5").list()...).Status(200), surveyForm)
		require.Contains(t, c, name)
		require.Equal(t, "0.5", c["T.0.0"])
	}
}

func TestSurveyCorrectionWithdrawsAndKeepsTheOld(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	who := p.Role(authz.Inspector)
	p.Do(authz.Inspector, "1N-1", asFound(0.5))
	path := p.Path("ends", "1N-1", "surveys") + "/1/edit"
	f := formFields(who.Get(path).Status(200), surveyForm)
	before := f["T.3.0"]
	require.Equal(t, "0.29", before)
	who.Post(path, f.with("T.3.0", "0.31", "T.3.1", "").list()...).Status(303)
	r := p.End("1N-1")
	require.Len(t, r.Readings, 21, "one corrected reading is added, none is taken away")
	gone := 0
	for _, x := range r.Readings {
		if x.SupersededBy != nil {
			gone++
		}
	}
	require.Equal(t, 2, gone)
	g := formFields(who.Get(path), surveyForm)
	require.Equal(t, []string{"0.31", ""}, []string{g["T.3.0"], g["T.3.1"]})
	v, err := p.Store.Verify(t.Context())
	require.NoError(t, err)
	require.Empty(t, v.Differences)

	empty := g.with()
	for name := range g {
		if strings.HasPrefix(name, "T.") {
			empty[name] = ""
		}
	}
	who.Post(path, empty.list()...).Status(422).Has("keeps at least one reading")
}

func TestStaleSurveyShowsBoth(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Inspector, "1N-1", asFound(0.5))
	path := p.Path("ends", "1N-1", "surveys") + "/1/edit"
	mine, theirs := p.Role(authz.Inspector), p.Role(authz.Designer)
	f := formFields(mine.Get(path), surveyForm)
	theirs.Post(path, formFields(theirs.Get(path), surveyForm).with("T.3.0", "1/4").list()...).Status(303)

	a := mine.Post(path, f.with("T.3.0", "0.3125", "note", "second look").list()...).Status(409)
	a.Has("changed this end after you opened the form", `value="0.3125"`, "now 1/4", "second look")
	require.Len(t, a.Select(".cell-why"), 1)
	require.Equal(t, "1/4", byPlace(p.End("1N-1"), "T", 0, 1).Typed)
	g := formFields(a, surveyForm)
	require.Equal(t, p.Version("1N-1"), g["version"])
	mine.Post(path, g.list()...).Status(303)
	require.Equal(t, "0.3125", byPlace(p.End("1N-1"), "T", 0, 1).Typed)

	// A new survey made on an older record says so as well.
	n := formFields(mine.Get(p.Path("ends", "1N-2", "surveys", "new")), surveyForm)
	p.Do(authz.Engineer, "1N-2", asFound(0.2))
	b := mine.Post(p.Path("ends", "1N-2", "surveys"), n.with("T.5.0", "0.5").list()...).Status(409)
	b.Has("The latest survey on record is survey 1", `value="0.5"`)
	mine.Post(p.Path("ends", "1N-2", "surveys"), formFields(b, surveyForm).list()...).Status(303)
}
