package web_test

import (
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/web"
	"endcast/internal/web/webtest"
)

const tabletAgent = "Mozilla/5.0 (iPad; CPU OS 18_1 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.1 Mobile/15E148 Safari/604.1"

// formBody is a form as a browser sends it.
func formBody(namesAndValues ...string) io.Reader {
	form := url.Values{}
	for i := 0; i+1 < len(namesAndValues); i += 2 {
		form.Add(namesAndValues[i], namesAndValues[i+1])
	}
	return strings.NewReader(form.Encode())
}

// signInFrom signs somebody in with another browser at another address.
func signInFrom(s *webtest.Site, email, agent, address string) *webtest.Client {
	c := s.Anonymous()
	r := httptest.NewRequest(http.MethodPost, webtest.Base+"/login", formBody("email", email, "password", webtest.Password))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("User-Agent", agent)
	r.RemoteAddr = address + ":4000"
	c.Do(r).Status(http.StatusSeeOther)
	return c
}

func TestSessionsAreListedAndEnded(t *testing.T) {
	t.Parallel()
	now := time.Date(2027, 6, 1, 12, 0, 0, 0, time.UTC)
	s := webtest.New(t, func(c *web.Config) { c.Now = func() time.Time { return now } })
	c := s.As(authz.Inspector)
	tablet := signInFrom(s, c.User.Email, tabletAgent, "192.0.2.44")
	stranger := s.As(authz.Inspector)

	c.Get("/account").Status(200).Has("Safari on iPad", "192.0.2.44")
	now = now.Add(5 * time.Minute)
	tablet.Get("/").Status(200)
	a := c.Get("/account").Status(200).Has("Safari on iPad", "2027-06-01 12:00 UTC", "2027-06-01 12:05 UTC", "this one")
	ids := a.Select("input[name=session]")
	require.Len(t, ids, 1, "the session that asks has no button")
	id := webtest.Attr(ids[0], "value")

	stranger.Post("/account/sessions", "session", id).Status(http.StatusNotFound)
	tablet.Get("/account").Status(200)
	c.Post("/account/sessions", "session", "nonsense").Status(http.StatusBadRequest)
	c.Post("/account/sessions", "session", uuid.NewString()).Status(http.StatusNotFound)
	c.Post("/account/sessions", "session", id).LeadsTo("/account").Follow().Has("The session is over").Lacks("Safari on iPad")
	tablet.Get("/account").LeadsTo("/login?next=%2Faccount")
	c.Get("/account").Status(200)

	one, two := s.SignIn(c.User), s.SignIn(c.User)
	c.Post("/account/sessions", "session", "others").LeadsTo("/account").Follow().Has("2 other sessions are over").None("input[name=session]")
	one.Get("/account").LeadsTo("/login?next=%2Faccount")
	two.Get("/account").LeadsTo("/login?next=%2Faccount")
	stranger.Get("/account").Status(200)
}

// A session that was ended stays ended even where its cookie is kept.
func TestCookieOfAnEndedSessionOpensNothing(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	c := s.As(authz.Inspector)
	kept := c.Cookies()
	c.Post("/logout").LeadsTo("/login")
	r := httptest.NewRequest(http.MethodGet, webtest.Base+"/account", nil)
	for _, k := range kept {
		r.AddCookie(k)
	}
	s.Anonymous().Do(r).LeadsTo("/login?next=%2Faccount")
}

func TestSessionIsOverAfterItsTime(t *testing.T) {
	t.Parallel()
	now := time.Date(2027, 6, 1, 12, 0, 0, 0, time.UTC)
	s := webtest.New(t, func(c *web.Config) { c.Now = func() time.Time { return now } })
	c := s.As(authz.Inspector)
	now = now.Add(12*time.Hour - time.Second)
	c.Get("/account").Status(200)
	now = now.Add(time.Second)
	c.Get("/account").LeadsTo("/login?next=%2Faccount")
}

func TestAdministratorSignsAPersonOut(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	admin, inspector := p.Role(authz.Administrator), p.Role(authz.Inspector)
	at := p.member(inspector)
	admin.Get(at).Status(200).Has("1 session, seen last", "Sign out everywhere").Lacks("192.0.2.1")
	p.Role(authz.Engineer).Post(at, "entry", newEntryID(), "do", "sign_out").Status(http.StatusForbidden)
	admin.Post(at, "entry", newEntryID(), "do", "sign_out").LeadsTo(p.Path("people")).Follow().Has("Signed ", " out everywhere.")
	inspector.Get(p.Path("ends")).Status(http.StatusSeeOther)
	admin.Get(at).Status(200).Has("no session is open").Lacks("Sign out everywhere")
	p.SignIn(inspector.User).Get(p.Path("ends")).Status(200)

	admin.Post(p.member(admin), "entry", newEntryID(), "do", "sign_out").LeadsTo("/login")
	admin.Get("/account").LeadsTo("/login?next=%2Faccount")
}

func TestAccountPageInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	signInFrom(p.Site, p.Role(authz.Engineer).User.Email, tabletAgent, "192.0.2.44")
	page := p.Browser(authz.Engineer)
	p.Look(page, "/account", "account")
}
