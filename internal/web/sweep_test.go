package web_test

import (
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/web"
	"endcast/internal/web/webtest"
)

// parts are values for the parts of addresses in newBusyProgram that lead to
// something. A route with a part that is not named here fails the sweep: give the
// part a value here, or list the route in unfilled with the reason.
func (p *testProgram) parts() map[string]string {
	p.t.Helper()
	s := p.Scope("1N-1")
	out := map[string]string{"program": programCode, "end": "1N-1", "n": "2", "rev": "2", "number": "1", "batch": "1", "mark": "L1-1", "specimen": "P001-01", "sha": s.Ends[0].Photos[0].SHA256, "check": "form", "mockup": "1", "gate": "strip",
		"key": string(basis.SurveyReach), "user": p.Role(authz.Designer).User.ID.String(), "window": s.Windows[0].ID, "procedure": "shipped", "a": "1", "b": "2",
		"document": "1", "question": "1", "vehicle": "P-1", "span": "1", "part": s.PartsOf(s.Ends[0].End.SpanID)[0].ID}
	for _, st := range s.Steps {
		if st.Code == "CLN" {
			out["step"] = st.ID
		}
	}
	return out
}

// unfilled are routes that need more than newBusyProgram holds before they show a
// page; there the sweep asks only that nobody gets further than the table allows.
var unfilled = map[string]bool{
	"GET /p/{program}/files/import/{draft}":                          true, // a draft is made by an upload
	"POST /p/{program}/files/import/{draft}":                         true,
	"GET /p/{program}/pours/{number}/curing/file/{draft}":            true, // as above
	"POST /p/{program}/pours/{number}/curing/file/{draft}":           true,
	"GET /p/{program}/ends/{end}/strain/recordings/file/{draft}":     true,
	"POST /p/{program}/ends/{end}/strain/recordings/file/{draft}":    true,
	"GET /p/{program}/ends/{end}/strain/recordings/job/{job}":        true,
	"POST /p/{program}/ends/{end}/strain/recordings/job/{job}":       true,
	"GET /p/{program}/ends/{end}/strain/recordings/{recording}":      true,
	"GET /p/{program}/ends/{end}/strain/recordings/{recording}/file": true,
	"GET /p/{program}/pours/{number}/curing/log/{log}":               true,
}

// fill puts values into the parts of a pattern.
func fill(t testing.TB, pattern string, parts map[string]string) string {
	t.Helper()
	out := strings.Split(pattern, "/")
	for i, part := range out {
		if name, ok := strings.CutPrefix(part, "{"); ok {
			name = strings.TrimSuffix(name, "}")
			v, known := parts[name]
			if !known && unfilled["GET "+pattern] {
				v, known = uuid.NewString(), true
			}
			require.True(t, known, "no value for {%s} of %s: name one in parts", name, pattern)
			out[i] = url.PathEscape(v)
		}
	}
	return strings.Join(out, "/")
}

// asker is somebody who asks, as the table of rights knows them.
type asker struct {
	name   string
	client *webtest.Client
	person authz.Person
}

func (p *testProgram) askers() []asker {
	p.t.Helper()
	here := uuid.MustParse(p.ID)
	var out []asker
	for _, role := range authz.Roles() {
		c := p.Role(role)
		out = append(out, asker{string(role), c, authz.Person{ID: c.User.ID, Roles: map[uuid.UUID]authz.Role{here: role}}})
	}
	site := p.AsSiteAdmin()
	return append(out, asker{"site administrator", site, authz.Person{ID: site.User.ID, SiteAdmin: true}}, asker{"nobody", p.Anonymous(), authz.Person{}})
}

// request sends an empty form or asks for a page.
func (a asker) request(method, path string) *webtest.Answer {
	if method == http.MethodPost {
		return a.client.Post(path)
	}
	return a.client.Get(path)
}

// TestEveryRouteAnswersEveryRoleAsTheTableSays asks every address of the program as
// every kind of person, in a program of theirs and in another.
func TestEveryRouteAnswersEveryRoleAsTheTableSays(t *testing.T) {
	t.Parallel()
	p := newBusyProgram(t, "plain words")
	here, other := uuid.MustParse(p.ID), p.NewProgram("elsewhere")
	parts := p.parts()
	elsewhere := maps.Clone(parts)
	elsewhere["program"] = "elsewhere"
	before := p.entries()
	for _, a := range p.askers() {
		for _, rt := range p.Server.Addresses() {
			if rt.Action == authz.Public || rt.Pattern == "/logout" {
				continue
			}
			if strings.HasPrefix(rt.Pattern, "/api/") { // asked with tokens, in token_test.go; a cookie opens nothing there
				require.Equal(t, http.StatusUnauthorized, a.request(rt.Method, fill(t, rt.Pattern, parts)).Response.StatusCode, "%s %s", rt.Method, rt.Pattern)
				continue
			}
			inProgram := strings.HasPrefix(rt.Pattern, "/p/{program}")
			for _, place := range []struct {
				id    uuid.UUID
				parts map[string]string
			}{{here, parts}, {other, elsewhere}} {
				if !inProgram && place.id == other {
					continue
				}
				path := fill(t, rt.Pattern, place.parts)
				got := a.request(rt.Method, path).Response.StatusCode
				name := fmt.Sprintf("%s %s as %s", rt.Method, path, a.name)
				signedIn := a.person.ID != uuid.Nil
				switch {
				case !signedIn && rt.Method == http.MethodGet:
					require.Equal(t, http.StatusSeeOther, got, name)
				case !signedIn:
					require.Equal(t, http.StatusUnauthorized, got, name)
				case inProgram && !authz.Can(a.person, place.id, authz.SeeProgram):
					require.Equal(t, http.StatusNotFound, got, name)
				case !authz.MayAtSomeStep(a.person, place.id, rt.Action):
					require.Equal(t, http.StatusForbidden, got, name)
				case unfilled[rt.Method+" "+rt.Pattern], place.id == other:
					require.Less(t, got, 500, name)
				case rt.Method == http.MethodGet:
					require.Contains(t, []int{http.StatusOK, http.StatusSeeOther}, got, name)
				case authz.Can(a.person, place.id, rt.Action):
					require.Contains(t, []int{200, 303, 400, 403, 404, 409, 422}, got, name)
				default: // only where a step names the role
					require.Contains(t, []int{400, 403, 404, 409, 422}, got, name)
				}
			}
		}
	}
	require.Equal(t, before, p.entries(), "empty forms store nothing")
}

// TestUnknownIdentifiersAreNotFound asks every page for things that there are not.
func TestUnknownIdentifiersAreNotFound(t *testing.T) {
	t.Parallel()
	p := newBusyProgram(t, "plain words")
	parts := p.parts()
	engineer := p.Role(authz.Engineer)
	everyone := p.askers()
	reads := p.Token(engineer)
	var found []string
	for _, rt := range p.Server.Addresses() {
		if rt.Method != http.MethodGet || !strings.Contains(rt.Pattern, "{") {
			continue
		}
		who := engineer
		for _, a := range everyone {
			if authz.Can(a.person, uuid.MustParse(p.ID), rt.Action) && !authz.Can(everyone[1].person, uuid.MustParse(p.ID), rt.Action) {
				who = a.client
				break
			}
		}
		for name := range parts {
			if !strings.Contains(rt.Pattern, "{"+name+"}") {
				continue
			}
			for _, unknown := range []string{"nonsense", "9N-9", "0", "-1", "77", "99999999999999999999", uuid.NewString(), "'; drop table journal", "a/../b", "\x00", "\xff", strings.Repeat("z", 3000)} {
				wrong := maps.Clone(parts)
				wrong[name] = unknown
				path := fill(t, rt.Pattern, wrong)
				got := 0
				if strings.HasPrefix(rt.Pattern, "/api/") {
					got = reads.get(path).Response.StatusCode
				} else {
					got = who.Get(path).Response.StatusCode
				}
				if got != http.StatusNotFound {
					found = append(found, fmt.Sprintf("%d %.100s", got, path))
				}
			}
		}
	}
	require.Empty(t, found)
}

// unfinished finds what no page may hold: of unfinished work, of a value that was not there, of
// a format that did not fit. Whole words, since a
// nonce is made of any letters.
var unfinished = regexp.MustCompile(`\bTODO\b|\bFIXME\b|\bundefined\b|%!|&lt;nil&gt;|<nil>|\bNaN\b|(?i)lorem ipsum`)

// comingPages are pages that others link to before they answer, by a part of their
// address; a page counts as coming only until its route is in the table.
var comingPages = map[string]string{
	"/history": "/p/{program}/ends/{end}/history",
	"/design":  "/p/{program}/ends/{end}/designs/{rev}",
}

// crawl follows every link from a page on, within the site, and returns the answers
// by address. Every one must be a page or a file.
func (p *testProgram) crawl(t *testing.T, c *webtest.Client, from string) map[string]*webtest.Answer {
	t.Helper()
	const most = 150
	seen := map[string]*webtest.Answer{}
	why := map[string]string{}
	queue := []string{from}
	var dead []string
	coming := func(path string) bool {
		for part, pattern := range comingPages {
			if strings.Contains(path, part) && !slices.ContainsFunc(p.Server.Addresses(), func(a web.Address) bool { return a.Pattern == pattern }) {
				return true
			}
		}
		return false
	}
	for len(queue) > 0 && len(seen) < most {
		path := queue[0]
		queue = queue[1:]
		if _, done := seen[path]; done {
			continue
		}
		a := c.Get(path)
		for a.Response.StatusCode == http.StatusSeeOther {
			a = a.Follow()
		}
		seen[path] = a
		if a.Response.StatusCode == http.StatusNotFound && coming(path) {
			continue
		}
		if a.Response.StatusCode != http.StatusOK {
			dead = append(dead, fmt.Sprintf("%d %s, linked from %s", a.Response.StatusCode, path, why[path]))
			continue
		}
		if !strings.HasPrefix(a.Response.Header.Get("Content-Type"), "text/html") {
			continue
		}
		base, err := url.Parse(webtest.Base + path)
		require.NoError(t, err)
		for _, n := range a.Select("a[href]") {
			u, err := base.Parse(webtest.Attr(n, "href"))
			require.NoError(t, err, "link on %s", path)
			require.Contains(t, []string{"http", "https", "mailto"}, u.Scheme, "link on %s: %s", path, u)
			next := u.RequestURI()
			if u.Host != base.Host || strings.HasPrefix(next, "/static/") {
				continue
			}
			if _, known := why[next]; !known {
				why[next] = path
				queue = append(queue, next)
			}
		}
	}
	require.Empty(t, dead, "links that lead nowhere")
	return seen
}

// TestEveryLinkedPageAnswersAndEscapesWhatPeopleTyped walks the program as each
// role, after hostile texts were stored wherever a person may type.
func TestEveryLinkedPageAnswersAndEscapesWhatPeopleTyped(t *testing.T) {
	t.Parallel()
	p := newBusyProgram(t, hostile)
	for _, a := range p.askers() {
		if a.person.ID == uuid.Nil {
			continue
		}
		t.Run(a.name, func(t *testing.T) {
			t.Parallel()
			pages := p.crawl(t, a.client, p.Path())
			shown := 0
			for _, path := range slices.Sorted(maps.Keys(pages)) {
				page := pages[path]
				if !strings.HasPrefix(page.Response.Header.Get("Content-Type"), "text/html") {
					continue
				}
				require.Empty(t, unfinished.FindString(page.Body), path)
				require.NotContains(t, page.Body, `<script>alert`, path)
				require.Empty(t, append(page.Select("img[src=x]"), page.Select("[onerror]")...), path)
				if strings.Contains(page.Body, "&lt;script&gt;alert") {
					shown++
				}
			}
			require.Greater(t, shown, 5, "pages show what was typed, as text")
		})
	}
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}
