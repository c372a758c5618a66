package web_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/web/webtest"
)

type problem struct {
	Type, Title, Detail, Instance string
	Status                        int
	Errors                        []struct{ Field, Value, Limit string }
	Stale                         *struct {
		End       string
		Sent, Now int64
		ChangedBy string `json:"changed_by"`
	}
}

func (s script) edit(kind string, change any, ends ...any) *webtest.Answer {
	body := map[string]any{"kind": kind, "entry": newEntryID(), "change": change}
	if len(ends) > 0 {
		body["ends"] = ends
	}
	return s.ask(http.MethodPost, "/api/v1/p/small/edits", body)
}

func endAt(name string, version int64) map[string]any {
	return map[string]any{"end": name, "version": version}
}

func TestEditThroughATokenIsAnEditLikeAnyOther(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	s := p.Token(p.Role(authz.Inspector), authz.ScopeSurveys)
	type end struct{ Version int64 }
	before := of[end](t, s.get("/api/v1/p/small/ends/1N-1").Status(200))
	entry := newEntryID()
	body := map[string]any{"kind": "survey.record", "entry": entry, "captured": "2026-01-05T02:00:00Z", "ends": []any{endAt("1n-1", before.Version)}, "change": asFound(0.5)}
	type receipt struct {
		Entry    string
		Number   int64
		Repeated bool
		Versions map[string]int64
	}
	first := of[receipt](t, s.ask(http.MethodPost, "/api/v1/p/small/edits", body).Status(200))
	require.False(t, first.Repeated)
	require.Equal(t, before.Version+1, first.Versions[p.End("1N-1").End.ID])
	again := of[receipt](t, s.ask(http.MethodPost, "/api/v1/p/small/edits", body).Status(200))
	require.True(t, again.Repeated)
	require.Equal(t, first.Number, again.Number)
	require.Len(t, p.End("1N-1").Surveys, 1, "the same entry twice is one survey")
	body["change"] = asFound(0.4)
	require.Equal(t, 409, s.ask(http.MethodPost, "/api/v1/p/small/edits", body).Response.StatusCode, "the same entry with other content")

	stale := of[problem](t, s.edit("survey.record", asFound(0.6), endAt("1N-1", before.Version)).Status(409))
	require.Equal(t, "1N-1", stale.Stale.End)
	require.Equal(t, before.Version+1, stale.Stale.Now)

	p.Role(authz.Manager).Get(p.Path("ends", "1N-1", "history")).Status(200).Has("through the token “nightly script”", "Survey recorded")
	s.get("/api/v1/p/small/journal?limit=1").Status(200).Has(`"through":"nightly script"`, `"kind":"survey.record"`)
	s.get("/api/v1/p/small/ends/1N-1/surveys").Status(200).Has(`"readings":[{`, `"kind":"as_found"`)
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

func TestFaultsNameFieldValueAndLimit(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	s := p.Token(p.Role(authz.Engineer), authz.Scopes()...)
	before := p.entries()
	v := p.End("1N-1").End.Version
	thick := asFound(0.5)
	thick.Readings[0].T = 400
	for _, c := range []struct {
		name   string
		answer *webtest.Answer
		status int
		field  string
	}{
		{"no such kind", s.edit("survey.erase", nil), 422, "kind"},
		{"no entry", s.ask("POST", "/api/v1/p/small/edits", `{"kind":"survey.record"}`), 422, "entry"},
		{"unknown field of the envelope", s.ask("POST", "/api/v1/p/small/edits", `{"kind":"survey.record","who":"me"}`), 400, ""},
		{"no JSON", s.ask("POST", "/api/v1/p/small/edits", `{`), 400, ""},
		{"two values", s.ask("POST", "/api/v1/p/small/edits", `{} {}`), 400, ""},
		{"NUL in a text", s.edit("survey.record", map[string]any{"facts": map[string]any{"note": "a\x00b"}}, endAt("1N-1", v)), 400, ""},
		{"no end", s.edit("survey.record", asFound(0.5)), 422, "ends"},
		{"an end that is not there", s.edit("survey.record", asFound(0.5), endAt("9N-9", 1)), 422, "ends.0.end"},
		{"no version", s.edit("survey.record", asFound(0.5), endAt("1N-1", 0)), 422, "ends.0.version"},
		{"ends where none are named", s.edit("basis.edit", map[string]any{"key": "survey.reach", "value": 1}, endAt("1N-1", v)), 422, "ends"},
		{"text for a number", s.edit("survey.record", map[string]any{"readings": []any{map[string]any{"t": "thin"}}}, endAt("1N-1", v)), 422, "change.readings.0.t"},
		{"a field that is none", s.edit("survey.record", map[string]any{"thickness": 3}, endAt("1N-1", v)), 422, "change"},
		{"thicker than the web", s.edit("survey.record", thick, endAt("1N-1", v)), 422, ""},
		{"a step that is none", s.edit("step.completed", map[string]any{"step_id": uuid.NewString()}, endAt("1N-1", v)), 422, "change.step_id"},
		{"a filter that is none", s.get("/api/v1/p/small/ends?colour=red"), 422, "colour"},
		{"a limit out of bounds", s.get("/api/v1/p/small/ends?limit=501"), 422, "limit"},
		{"a cursor that is none", s.get("/api/v1/p/small/ends?after=%21"), 422, "after"},
		{"another's cursor", s.get("/api/v1/p/small/pours?after=YWJj"), 422, "after"},
	} {
		require.Equal(t, c.status, c.answer.Response.StatusCode, "%s: %s", c.name, c.answer.Body)
		require.Equal(t, "application/problem+json", c.answer.Response.Header.Get("Content-Type"), c.name)
		got := of[problem](t, c.answer)
		require.Equal(t, c.status, got.Status, c.name)
		require.NotEmpty(t, got.Title, c.name)
		require.True(t, strings.HasPrefix(got.Type, "urn:endcast:problem:"), c.name)
		if c.status == 422 {
			require.NotEmpty(t, got.Errors, "%s: %s", c.name, c.answer.Body)
			require.NotEmpty(t, got.Errors[0].Limit, c.name)
		}
		if c.field != "" {
			require.Equal(t, c.field, got.Errors[0].Field, c.name)
		}
	}
	r := httptest.NewRequest(http.MethodPost, webtest.Base+"/api/v1/p/small/edits", strings.NewReader("kind=survey.record"))
	r.Header.Set("Authorization", "Bearer "+s.secret)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	p.Anonymous().Do(r).Status(400)
	s.ask("POST", "/api/v1/p/small/edits", `{"kind":"`+strings.Repeat("x", 5<<20)+`"}`).Status(413)
	require.Equal(t, before, p.entries(), "nothing was stored")
}

// Every kind of change as a person of every role with every scope: forbidden exactly
// where the table of rights says so. What the page of a change asks besides, of a step,
// a gate, an inspection, a window, is asked here as well.
func TestEveryKindOfEditAsksRoleAndScope(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	here := uuid.MustParse(p.ID)
	v := p.End("1N-1").End.Version
	before := p.entries()
	for _, role := range authz.Roles() {
		c := p.Role(role)
		before++ // its first token
		whole, bare := p.Token(c, authz.Scopes()...), script{}
		before++
		bare = p.Token(c)
		person := authz.Person{ID: c.User.ID, Roles: map[uuid.UUID]authz.Role{here: role}}
		for _, l := range repair.Catalogue() {
			var ends []any
			if l.Place == repair.AtOneEnd || l.Place == repair.AtAnyEnds {
				ends = append(ends, endAt("1N-1", v+99)) // never taken: the version is wrong
			}
			bare.edit(l.Kind, nil, ends...).Status(403)
			a := whole.edit(l.Kind, nil, ends...)
			if authz.MayAtSomeStep(person, here, l.Action) {
				require.Contains(t, []int{403, 404, 409, 422}, a.Response.StatusCode, "%s as %s: %s", l.Kind, role, a.Body)
				if a.Response.StatusCode == 403 {
					require.True(t, !authz.Can(person, here, l.Action) || l.Named || strings.HasPrefix(l.Kind, "gate.") || l.Kind == "window.set", "%s as %s: %s", l.Kind, role, a.Body)
				}
			} else {
				a.Status(403)
			}
		}
	}
	require.LessOrEqual(t, p.entries(), before+len(authz.Roles()), "nothing was stored but tokens")
}

func TestStepsGatesAndWindowsKeepTheirOwnRules(t *testing.T) {
	t.Parallel()
	p := newBusyProgram(t, "plain words")
	v := p.End("1N-1").End.Version
	var hold string
	for _, st := range p.Scope("1N-1").Sequence() {
		if st.Hold {
			hold = st.ID
			break
		}
	}
	contractor, inspector := p.Token(p.Role(authz.Contractor), authz.Scopes()...), p.Token(p.Role(authz.Inspector), authz.Scopes()...)
	contractor.edit("step.released", map[string]any{"step_id": hold}, endAt("1N-1", v)).Status(403)
	inspector.edit("gate.passed", map[string]any{"gate": "traffic", "decision": "passed"}, endAt("1N-1", v)).Status(403)
	win := p.Scope("1N-1").Windows[1]
	win.State = repair.WindowGranted
	contractor.edit("window.set", map[string]any{"window": win}).Status(403)
	// The same token without decisions may not, whatever the role.
	engineer := p.Token(p.Role(authz.Engineer), authz.ScopeSettings)
	engineer.edit("window.set", map[string]any{"window": win}).Status(403)
	engineer.edit("gate.refused", map[string]any{"gate": "strip", "reasons": "x"}, endAt("1N-1", v)).Status(403)
}

func TestListsPageByCursorToTheEnd(t *testing.T) {
	t.Parallel()
	p := newBusyProgram(t, "plain words")
	s := p.Token(p.Role(authz.Manager))
	for path, key := range map[string]string{"ends": "name", "specimens": "mark", "nonconformances": "number", "journal": "number", "pours": "number"} {
		at := "/api/v1/p/small/" + path
		type page struct {
			Items []map[string]any
			Next  string
		}
		all := of[page](t, s.get(at+"?limit=500").Status(200))
		require.Empty(t, all.Next, path)
		require.NotEmpty(t, all.Items, path)
		var keys []string
		for after := ""; ; {
			pg := of[page](t, s.get(at+"?limit=1&after="+after).Status(200))
			require.Len(t, pg.Items, 1, path)
			keys = append(keys, fmt.Sprint(pg.Items[0][key]))
			if after = pg.Next; after == "" {
				break
			}
		}
		var want []string
		for _, x := range all.Items {
			want = append(want, fmt.Sprint(x[key]))
		}
		require.Equal(t, want, keys, path)
	}
	s.get("/api/v1/p/small/ends?q=1N&show=open").Status(200).Has(`"1N-2"`).Lacks(`"1F-1"`)
	s.get("/api/v1/p/small/journal?end=1F-2").Status(200).Lacks("survey.record")
	s.get("/api/v1/p/small/journal?end=9F-9").Status(422)
	s.get("/api/v1/p/small/ends/9F-9").Status(404)
	s.get("/api/v1/p/small/pours/99").Status(404)
	s.get("/api/v1/p/small/pours/x").Status(404)
	s.get("/api/v1/nothing").Status(404).Has("urn:endcast:problem:not-found")
}

// What is of another program is not there for an edit either, not even its version.
func TestEditCannotReachAnotherProgram(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	s := p.Token(p.Role(authz.Engineer), authz.Scopes()...)
	other := newTestProgramBeside(t, p)
	got := of[problem](t, s.edit("survey.record", asFound(0.5), endAt(other.End.ID, 77)).Status(422))
	require.Equal(t, "ends.0.end", got.Errors[0].Field)
	s.edit("span.demand", map[string]any{"span_id": other.End.SpanID}).Status(404).Lacks(other.End.Name)
	require.Empty(t, slices.DeleteFunc(strings.Split(s.get("/api/v1/programs").Status(200).Body, `"code"`), func(x string) bool { return !strings.Contains(x, "beside") }))
}

// newTestProgramBeside stores a second bridge and returns an end of it.
func newTestProgramBeside(t *testing.T, p *testProgram) *repair.Record {
	t.Helper()
	id := uuid.Must(uuid.NewV7()).String()
	who := p.Actor(authz.Administrator)
	for _, change := range []repair.Change{repair.CreateProgram{Program: repair.Program{ID: id, Code: "beside", Name: "Beside", Units: "si"}}, repair.ImportBridge{Bridge: testBridge()}} {
		_, err := p.Store.Edit(p.ctx, db.Entry{ID: newEntryID(), ProgramID: id, Actor: who, Change: change})
		require.NoError(t, err)
	}
	sc, err := p.Store.End(p.ctx, id, "1N-1")
	require.NoError(t, err)
	return sc.Ends[0]
}
