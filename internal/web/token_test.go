package web_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/web"
	"endcast/internal/web/webtest"
)

// script is a program that asks with a token.
type script struct {
	p      *testProgram
	secret string
}

// Token makes a token on the account page, as the person of a role, with scopes.
func (p *testProgram) Token(c *webtest.Client, scopes ...authz.Scope) script {
	p.t.Helper()
	form := []string{"entry", newEntryID(), "token", "nightly script", "program", p.ID, "days", "30"}
	for _, s := range scopes {
		form = append(form, "scope", string(s))
	}
	return script{p, c.Post("/account/tokens", form...).Status(http.StatusOK).One("code.password")}
}

// ask sends a request; body is sent as JSON, nil sends none.
func (s script) ask(method, path string, body any) *webtest.Answer {
	s.p.t.Helper()
	var r *http.Request
	if body == nil {
		r = httptest.NewRequest(method, webtest.Base+path, nil)
	} else {
		raw, ok := body.(string)
		if !ok {
			b, err := json.Marshal(body)
			require.NoError(s.p.t, err)
			raw = string(b)
		}
		r = httptest.NewRequest(method, webtest.Base+path, strings.NewReader(raw))
		r.Header.Set("Content-Type", "application/json")
	}
	if s.secret != "" {
		r.Header.Set("Authorization", "Bearer "+s.secret)
	}
	return s.p.Anonymous().Do(r)
}

func (s script) get(path string) *webtest.Answer { return s.ask(http.MethodGet, path, nil) }

// of reads the answer into a value.
func of[T any](t testing.TB, a *webtest.Answer) T {
	t.Helper()
	var v T
	require.NoError(t, json.Unmarshal([]byte(a.Body), &v), a.Body)
	return v
}

func TestTokenIsMadeShownOnceUsedAndRevoked(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	c := p.Role(authz.Inspector)
	id := newEntryID()
	form := []string{"entry", id, "token", "gauge upload", "program", p.ID, "days", "7", "scope", "surveys"}
	made := c.Post("/account/tokens", form...).Status(200)
	secret := made.One("code.password")
	require.Equal(t, "no-store", made.Response.Header.Get("Cache-Control"))
	require.Regexp(t, `^endcast_[A-Z2-7]{26,}$`, secret)
	c.Post("/account/tokens", form...).LeadsTo("/account").Follow().Has("made already", "gauge upload", "read, surveys", "never").Lacks(secret)

	var kept int
	require.NoError(t, p.Pool.QueryRow(p.ctx, `select count(*) from api_token where encode(hash, 'escape') like '%endcast%' or name like '%' || $1 || '%'`, secret).Scan(&kept))
	require.Zero(t, kept)
	require.NoError(t, p.Pool.QueryRow(p.ctx, `select count(*) from journal where convert_from(body, 'UTF8') like '%' || $1 || '%'`, secret).Scan(&kept))
	require.Zero(t, kept, "the journal must not hold what opens something")

	s := script{p, secret}
	s.get("/api/v1/me").Status(200).Has(`"role":"inspector"`, `"token":"gauge upload"`, `"scopes":["read","surveys"]`)
	c.Get("/account").Has("from 192.0.2.1")
	admin := p.Role(authz.Administrator)
	admin.Get(p.member(c)).Status(200).Has("gauge upload", "read, surveys").Lacks(secret)
	admin.Get(p.Path("people")).Has("made the token “gauge upload”")

	row := c.Get("/account").Select("button[name=revoke]")
	require.Len(t, row, 1)
	token := webtest.Attr(row[0], "value")
	p.Role(authz.Engineer).Post("/account/tokens", "entry", newEntryID(), "program", p.ID, "revoke", token).Status(404)
	s.get("/api/v1/me").Status(200)
	c.Post("/account/tokens", "entry", newEntryID(), "program", p.ID, "revoke", token).LeadsTo("/account").Follow().Has("The token is revoked", "revoked")
	a := s.get("/api/v1/me").Status(401)
	require.Contains(t, a.Response.Header.Get("WWW-Authenticate"), "invalid_token")

	// Whoever keeps the people may revoke one as well.
	s = p.Token(c)
	tokens, err := p.People.Tokens(p.ctx, c.User.ID, uuid.MustParse(p.ID))
	require.NoError(t, err)
	admin.Post(p.member(c), "entry", newEntryID(), "do", "revoke", "token", tokens[0].ID.String()).LeadsTo(p.Path("people")).Follow().Has("Revoked the token “nightly script”")
	s.get("/api/v1/me").Status(401)
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

func TestTokenFormsThatCannotBe(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	c, other := p.Role(authz.Inspector), p.NewProgram("elsewhere")
	good := map[string]string{"token": "x", "program": p.ID, "days": "30", "scope": "field"}
	for name, value := range map[string]string{"token": "", "program": other.String(), "days": "367", "scope": "everything"} {
		form := []string{"entry", newEntryID()}
		for k, v := range good {
			if k == name {
				v = value
			}
			form = append(form, k, v)
		}
		a := c.Post("/account/tokens", form...).Status(422)
		require.NotEmpty(t, a.Select("#errors li"), name)
		a.None("code.password")
	}
	c.Post("/account/tokens", "entry", newEntryID(), "token", strings.Repeat("long", 21), "program", p.ID, "days", "30").Status(422).Has("from 1 to 80 characters, got 84")
	for range db.MostTokens {
		p.Token(c)
	}
	c.Post("/account/tokens", "entry", newEntryID(), "token", "one more", "program", p.ID, "days", "30").Status(422).Has("at most 20")
}

func TestTokenEndsWithItsTimeItsAccountAndItsRole(t *testing.T) {
	t.Parallel()
	now := time.Date(2027, 6, 1, 12, 0, 0, 0, time.UTC)
	p := newTestProgram(t, func(c *web.Config) { c.Now = func() time.Time { return now } })
	p.Store.Now = func() time.Time { return now }
	c := p.Role(authz.Inspector)
	s := p.Token(c)
	s.get("/api/v1/p/small").Status(200)
	require.NoError(t, p.People.RemoveRole(p.ctx, c.User.ID, uuid.MustParse(p.ID)))
	s.get("/api/v1/p/small").Status(404)
	s.get("/api/v1/programs").Status(200).Has(`"items":[]`)
	require.NoError(t, p.People.SetRole(p.ctx, c.User.ID, uuid.MustParse(p.ID), authz.Manager))
	s.get("/api/v1/p/small").Status(200)
	require.NoError(t, p.People.Disable(p.ctx, c.User.ID, now))
	s.get("/api/v1/p/small").Status(401)
	require.NoError(t, p.People.Enable(p.ctx, c.User.ID))
	s.get("/api/v1/p/small").Status(401)

	e := p.Role(authz.Engineer)
	s = p.Token(e)
	_, err := p.Pool.Exec(p.ctx, "update api_token set created_at = created_at - interval '40 days', expires_at = now() - interval '1 second' where user_id = $1", e.User.ID)
	require.NoError(t, err)
	now = time.Now()
	s.get("/api/v1/p/small").Status(401)
}

func TestTokenAsksSoOftenAndNoMore(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t, func(c *web.Config) { c.AsksPerMinute = 5 })
	one, two := p.Token(p.Role(authz.Manager)), p.Token(p.Role(authz.Engineer))
	for range 5 {
		one.get("/api/v1/me").Status(200)
	}
	a := one.get("/api/v1/me").Status(http.StatusTooManyRequests).Has("5 times a minute")
	require.Equal(t, "application/problem+json", a.Response.Header.Get("Content-Type"))
	require.NotEmpty(t, a.Response.Header.Get("Retry-After"))
	two.get("/api/v1/me").Status(200)
}

// Neither does a cookie open what programs ask, nor a token what people see.
func TestCookiesAndTokensDoNotMix(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	c := p.Role(authz.Administrator)
	s := p.Token(c, authz.Scopes()...)
	c.Get("/api/v1/me").Status(401)
	c.Get("/api/v1/p/small").Status(401)
	r := httptest.NewRequest(http.MethodPost, webtest.Base+"/api/v1/p/small/edits", strings.NewReader(`{}`))
	r.Header.Set("Content-Type", "application/json")
	c.Do(r).Status(401)
	s.get("/account").LeadsTo("/login?next=%2Faccount")
	s.get(p.Path("people")).Status(303)
	s.get("/api/v1/me?access_token=" + s.secret).Status(422)
	script{p, ""}.get("/api/v1/me?access_token=" + s.secret).Status(401)
	for _, header := range []string{"", "Bearer", "Bearer ", "Basic " + s.secret, "Bearer " + s.secret + "x", "Bearer " + strings.ToLower(s.secret), "Bearer " + strings.Repeat("A", 5000)} {
		r := httptest.NewRequest(http.MethodGet, webtest.Base+"/api/v1/me", nil)
		r.Header.Set("Authorization", header)
		p.Anonymous().Do(r).Status(401)
	}
}

// Every address for programs, with a token of every role and every scope, here and in
// another program: what the table of rights says, and nothing more.
func TestEveryAskAnswersEveryRoleAndScopeAsTheTableSays(t *testing.T) {
	t.Parallel()
	p := newBusyProgram(t, "plain words")
	here, other := uuid.MustParse(p.ID), p.NewProgram("elsewhere")
	parts := p.parts()
	asked := 0
	for _, role := range authz.Roles() {
		c := p.Role(role)
		require.NoError(t, p.People.SetRole(p.ctx, c.User.ID, other, authz.Administrator), "a role elsewhere opens nothing through a token of here")
		for _, scope := range authz.Scopes() {
			s := p.Token(c, scope)
			person := authz.Person{ID: c.User.ID, Roles: map[uuid.UUID]authz.Role{here: role, other: authz.Administrator}, Token: &authz.Token{Program: here, Scopes: []authz.Scope{authz.ScopeRead, scope}}}
			for _, rt := range p.Server.Addresses() {
				if !strings.HasPrefix(rt.Pattern, "/api/") {
					continue
				}
				for _, place := range []struct {
					id   uuid.UUID
					code string
				}{{here, "small"}, {other, "elsewhere"}} {
					parts["program"] = place.code
					inProgram := strings.Contains(rt.Pattern, "{program}")
					if !inProgram && place.id == other {
						continue
					}
					path := fill(t, rt.Pattern, parts)
					var body any
					if rt.Method == http.MethodPost {
						body = map[string]any{}
					}
					got := s.ask(rt.Method, path, body).Response.StatusCode
					name := fmt.Sprintf("%s %s as %s with %s", rt.Method, path, role, scope)
					asked++
					switch {
					case inProgram && place.id == other:
						require.Equal(t, 404, got, name)
					case !authz.MayAtSomeStep(person, place.id, rt.Action):
						require.Equal(t, 403, got, name)
					case rt.Method == http.MethodPost:
						require.Equal(t, 422, got, name) // an empty entry
					default:
						require.Equal(t, 200, got, name)
					}
				}
			}
		}
	}
	require.Greater(t, asked, 7*8*15)
	parts["program"] = "small"
	for _, rt := range p.Server.Addresses() {
		if strings.HasPrefix(rt.Pattern, "/api/") && rt.Action != authz.Public {
			a := script{p, ""}.ask(rt.Method, fill(t, rt.Pattern, parts), nil).Status(401)
			require.Equal(t, "application/problem+json", a.Response.Header.Get("Content-Type"))
			require.Equal(t, "Bearer", a.Response.Header.Get("WWW-Authenticate"))
		}
	}
}
