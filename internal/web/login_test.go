package web_test

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/alexedwards/argon2id"
	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/web"
	"endcast/internal/web/webtest"
)

const paused = "sign-in for this account is paused"

func TestSignInAndOut(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	u := s.NewUser("e@ends.test", false)
	c := s.Anonymous()
	c.Get("/account").LeadsTo("/login?next=%2Faccount")
	a := c.Get("/login?next=%2Faccount").Status(200)
	require.Equal(t, "/account", webtest.Attr(a.Select("[name=next]")[0], "value"))

	c.Post("/login", "email", "E@ENDS.TEST", "password", webtest.Password, "next", "/account").LeadsTo("/account")
	c.Get("/account").Status(200).Has(u.Name, "Sign out")
	c.Get("/login").LeadsTo("/")

	c.Post("/logout").LeadsTo("/login")
	c.Get("/account").LeadsTo("/login?next=%2Faccount")
}

func TestTokenIsHashedAndRenewed(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	c := s.SignIn(s.NewUser("e@ends.test", false))
	before := c.Cookies()[0].Value
	var stored int
	require.NoError(t, s.Pool.QueryRow(t.Context(), "SELECT count(*) FROM sessions WHERE token = $1", before).Scan(&stored))
	require.Zero(t, stored, "the table must not hold a token that opens a session")

	c.Post("/account/password", "current", webtest.Password, "password", "another set of words", "again", "another set of words").LeadsTo("/account")
	require.NotEqual(t, before, c.Cookies()[0].Value)
}

func TestSessionCookieFlags(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	s.NewUser("e@ends.test", false)
	a := s.Anonymous().Post("/login", "email", "e@ends.test", "password", webtest.Password)
	cookie := a.Response.Cookies()[0]
	require.True(t, cookie.HttpOnly)
	require.Equal(t, http.SameSiteLaxMode, cookie.SameSite)
	require.Equal(t, "/", cookie.Path)
}

func TestEveryRefusedSignInReadsTheSame(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	s.NewUser("known@ends.test", false)
	gone := s.NewUser("gone@ends.test", false)
	require.NoError(t, s.People.Disable(t.Context(), gone.ID, time.Now()))
	for _, c := range [][2]string{{"known@ends.test", "not the password at all"}, {"unknown@ends.test", webtest.Password}, {"gone@ends.test", webtest.Password}, {"", ""}} {
		a := s.Anonymous().Post("/login", "email", c[0], "password", c[1]).Status(http.StatusUnauthorized).Has(paused)
		require.Equal(t, c[0], webtest.Attr(a.Select("[name=email]")[0], "value"), "what was typed stays")
		require.Empty(t, webtest.Attr(a.Select("[name=password]")[0], "value"))
		require.Empty(t, a.Response.Cookies())
	}
}

func TestLockoutHoldsEvenForTheRightPassword(t *testing.T) {
	t.Parallel()
	now := time.Date(2027, 6, 1, 12, 0, 0, 0, time.UTC)
	s := webtest.New(t, func(c *web.Config) { c.Now = func() time.Time { return now }; c.LoginsPerMinute = 100 })
	u := s.NewUser("e@ends.test", false)
	for range 8 {
		s.Anonymous().Post("/login", "email", u.Email, "password", "wrong").Status(http.StatusUnauthorized)
	}
	s.Anonymous().Post("/login", "email", u.Email, "password", webtest.Password).Status(http.StatusUnauthorized).Has(paused)
	now = now.Add(15 * time.Minute)
	s.SignIn(u)
}

func TestOneAddressMayNotTryWithoutEnd(t *testing.T) {
	t.Parallel()
	s := webtest.New(t, func(c *web.Config) { c.LoginsPerMinute = 3 })
	try := func(from string) int {
		r := httptest.NewRequest(http.MethodPost, webtest.Base+"/login", strings.NewReader("email=a&password=b"))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.RemoteAddr = from + ":5000"
		return s.Anonymous().Do(r).Response.StatusCode
	}
	for range 3 {
		require.Equal(t, http.StatusUnauthorized, try("192.0.2.7"))
	}
	require.Equal(t, http.StatusTooManyRequests, try("192.0.2.7"))
	require.Equal(t, http.StatusUnauthorized, try("192.0.2.8"), "another address is not held up")
}

func TestDisablingEndsOpenSessionsAtOnce(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	c := s.As(authz.Inspector)
	c.Get("/account").Status(200)
	require.NoError(t, s.People.Disable(t.Context(), c.User.ID, time.Now()))
	c.Get("/account").LeadsTo("/login?next=%2Faccount")
	require.NoError(t, s.People.Enable(t.Context(), c.User.ID))
	c.Get("/account").LeadsTo("/login?next=%2Faccount")
}

func TestOlderHashIsMadeAnew(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	u := s.NewUser("e@ends.test", false)
	old, err := argon2id.CreateHash(webtest.Password, &argon2id.Params{Memory: 8 << 10, Iterations: 1, Parallelism: 1, SaltLength: 16, KeyLength: 32})
	require.NoError(t, err)
	require.NoError(t, s.People.Rehash(t.Context(), u.ID, old))
	s.SignIn(u)
	c, err := s.People.CredentialsByID(t.Context(), u.ID)
	require.NoError(t, err)
	require.Contains(t, c.PasswordHash, "m=65536,t=3,p=2")
	s.SignIn(u)
}

func TestOnlyNamedProxiesAreBelieved(t *testing.T) {
	t.Parallel()
	s := webtest.New(t, func(c *web.Config) { c.LoginsPerMinute = 1; c.TrustedProxies = []string{"192.0.2.1/32"} })
	try := func(peer, forwarded string) int {
		r := httptest.NewRequest(http.MethodPost, webtest.Base+"/login", strings.NewReader("email=a&password=b"))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("X-Forwarded-For", forwarded)
		r.RemoteAddr = peer + ":5000"
		return s.Anonymous().Do(r).Response.StatusCode
	}
	require.Equal(t, http.StatusUnauthorized, try("192.0.2.1", "198.51.100.7"))
	require.Equal(t, http.StatusTooManyRequests, try("192.0.2.1", "198.51.100.7"))
	require.Equal(t, http.StatusUnauthorized, try("192.0.2.1", "198.51.100.8"))
	require.Equal(t, http.StatusTooManyRequests, try("192.0.2.1", "203.0.113.9, 198.51.100.8"), "what a client puts before its address is no way out")
}

func TestNextNeverLeadsAway(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	u := s.NewUser("e@ends.test", false)
	for _, next := range []string{"https://evil.test/", "//evil.test", "/\\evil.test", "javascript:alert(1)"} {
		s.Anonymous().Post("/login", "email", u.Email, "password", webtest.Password, "next", next).LeadsTo("/")
	}
}

func TestTypedTextComesBackEscaped(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	const nasty = `"><script>alert(1)</script>`
	s.Anonymous().Post("/login", "email", nasty, "password", "x", "next", "/"+nasty).
		Status(http.StatusUnauthorized).Lacks("<script>alert").Has("&lt;script&gt;alert")
}

func TestScriptWithoutSessionIsToldSo(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	r := httptest.NewRequest(http.MethodGet, webtest.Base+"/account", nil)
	r.Header.Set("Accept", "application/json")
	s.Anonymous().Do(r).Status(http.StatusUnauthorized).Has(`"kind":"sign in"`)
}
