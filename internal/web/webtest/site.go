// Package webtest asks the whole program questions over HTTP, without a network and
// without a browser: sign in as somebody, ask for a page, send a form, and say what
// the answer must and must not hold. The database behind it is a real one.
package webtest

import (
	"context"
	"fmt"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"

	"github.com/andybalholm/cascadia"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"endcast/internal/db"
	"endcast/internal/db/dbtest"
	"endcast/internal/domain/authz"
	"endcast/internal/password"
	"endcast/internal/web"
)

// Password is that of every account made here.
const Password = "studs in two rows, please"

// Base is the address that the site believes to have.
const Base = "http://ends.test"

var hash = sync.OnceValues(func() (string, error) { return password.Hash(Password) })

// Site is a running program with a database of its own and one program in it.
type Site struct {
	Pool    *pgxpool.Pool
	Server  *web.Server
	Handler http.Handler
	People  db.People
	Program uuid.UUID // every role made by As is in this one

	t testing.TB
}

// New starts a site. Each change is applied to its configuration before it starts.
func New(t testing.TB, changes ...func(*web.Config)) *Site {
	t.Helper()
	pool := dbtest.New(t)
	cfg := web.Config{Pool: pool, BaseURL: Base, Release: "test"}
	for _, change := range changes {
		change(&cfg)
	}
	server, err := web.New(cfg)
	require.NoError(t, err)
	t.Cleanup(server.Close)
	s := &Site{Pool: pool, Server: server, Handler: server.Handler(), People: db.People{Pool: pool}, t: t}
	s.Program = s.NewProgram("first")
	return s
}

// NewProgram stores a program with hardly anything in it.
func (s *Site) NewProgram(code string) uuid.UUID {
	s.t.Helper()
	id := uuid.Must(uuid.NewV7())
	_, err := s.Pool.Exec(context.Background(), `INSERT INTO program (id, code, name, units, created_at) VALUES ($1, $2, $3, 'us', now())`,
		id, code, "Program "+code)
	require.NoError(s.t, err)
	return id
}

// NewUser makes an account with the password Password. A site administrator if
// admin is true.
func (s *Site) NewUser(email string, admin bool) db.User {
	s.t.Helper()
	h, err := hash()
	require.NoError(s.t, err)
	u, err := s.People.Create(context.Background(), db.NewUser{Email: email, Name: "User " + email, PasswordHash: h, SiteAdmin: admin})
	require.NoError(s.t, err)
	return u
}

// Anonymous returns somebody who has not signed in.
func (s *Site) Anonymous() *Client {
	jar, err := cookiejar.New(nil)
	require.NoError(s.t, err)
	return &Client{site: s, jar: jar}
}

// As returns a new person with a role in the site's program, signed in.
func (s *Site) As(role authz.Role) *Client {
	s.t.Helper()
	return s.AsIn(s.Program, role)
}

// AsIn is As for another program.
func (s *Site) AsIn(program uuid.UUID, role authz.Role) *Client {
	s.t.Helper()
	u := s.NewUser(fmt.Sprintf("%s.%s@ends.test", role, strings.ToLower(uuid.NewString()[:8])), false)
	require.NoError(s.t, s.People.SetRole(context.Background(), u.ID, program, role))
	return s.SignIn(u)
}

// AsSiteAdmin returns an administrator of the installation, signed in.
func (s *Site) AsSiteAdmin() *Client {
	s.t.Helper()
	return s.SignIn(s.NewUser("site."+uuid.NewString()[:8]+"@ends.test", true))
}

// SignIn signs an account of NewUser in through the form.
func (s *Site) SignIn(u db.User) *Client {
	s.t.Helper()
	c := s.Anonymous()
	c.User = u
	c.Post("/login", "email", u.Email, "password", Password).Status(http.StatusSeeOther)
	return c
}

// Client is one person's browser.
type Client struct {
	User db.User
	site *Site
	jar  *cookiejar.Jar
}

// Cookies returns what the site gave this person, for a real browser to carry on.
func (c *Client) Cookies() []*http.Cookie {
	u, _ := url.Parse(Base)
	return c.jar.Cookies(u)
}

// Get asks for a page.
func (c *Client) Get(path string) *Answer {
	c.site.t.Helper()
	return c.Do(httptest.NewRequest(http.MethodGet, Base+path, nil))
}

// Post sends a form of names and values in turn.
func (c *Client) Post(path string, namesAndValues ...string) *Answer {
	c.site.t.Helper()
	require.Zero(c.site.t, len(namesAndValues)%2, "names and values come in pairs")
	form := url.Values{}
	for i := 0; i < len(namesAndValues); i += 2 {
		form.Add(namesAndValues[i], namesAndValues[i+1])
	}
	r := httptest.NewRequest(http.MethodPost, Base+path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return c.Do(r)
}

// Do sends any request with this person's cookies.
func (c *Client) Do(r *http.Request) *Answer {
	c.site.t.Helper()
	for _, k := range c.jar.Cookies(r.URL) {
		r.AddCookie(k)
	}
	w := httptest.NewRecorder()
	c.site.Handler.ServeHTTP(w, r)
	res := w.Result()
	c.jar.SetCookies(r.URL, res.Cookies())
	return &Answer{Response: res, Body: w.Body.String(), t: c.site.t, client: c, asked: r.Method + " " + r.URL.Path}
}

// Answer is what came back.
type Answer struct {
	Response *http.Response
	Body     string

	t      testing.TB
	client *Client
	asked  string
}

// Status fails the test unless the answer has this status.
func (a *Answer) Status(want int) *Answer {
	a.t.Helper()
	require.Equal(a.t, want, a.Response.StatusCode, "%s\n%.1500s", a.asked, a.Body)
	return a
}

// Has fails the test unless the answer holds every text.
func (a *Answer) Has(texts ...string) *Answer {
	a.t.Helper()
	for _, text := range texts {
		require.Contains(a.t, a.Body, text, a.asked)
	}
	return a
}

// Lacks fails the test if the answer holds any of the texts.
func (a *Answer) Lacks(texts ...string) *Answer {
	a.t.Helper()
	for _, text := range texts {
		require.NotContains(a.t, a.Body, text, a.asked)
	}
	return a
}

// LeadsTo fails the test unless the answer sends the browser on to path.
func (a *Answer) LeadsTo(path string) *Answer {
	a.t.Helper()
	require.Equal(a.t, http.StatusSeeOther, a.Response.StatusCode, "%s\n%.1500s", a.asked, a.Body)
	require.Equal(a.t, path, a.Response.Header.Get("Location"), a.asked)
	return a
}

// Follow asks for the page that the answer sends the browser on to.
func (a *Answer) Follow() *Answer {
	a.t.Helper()
	require.Equal(a.t, http.StatusSeeOther, a.Response.StatusCode, "%s\n%.1500s", a.asked, a.Body)
	path, _, _ := strings.Cut(a.Response.Header.Get("Location"), "#") // a browser keeps the fragment to itself
	return a.client.Get(path)
}

// Select returns the elements that a CSS selector matches.
func (a *Answer) Select(selector string) []*html.Node {
	a.t.Helper()
	doc, err := html.Parse(strings.NewReader(a.Body))
	require.NoError(a.t, err)
	sel, err := cascadia.Parse(selector)
	require.NoError(a.t, err)
	return cascadia.QueryAll(doc, sel)
}

// One fails the test unless a CSS selector matches exactly one element, and returns
// its text with runs of white space made one.
func (a *Answer) One(selector string) string {
	a.t.Helper()
	found := a.Select(selector)
	require.Len(a.t, found, 1, "%s: %s\n%.1500s", a.asked, selector, a.Body)
	return Text(found[0])
}

// None fails the test if a CSS selector matches anything.
func (a *Answer) None(selector string) *Answer {
	a.t.Helper()
	require.Empty(a.t, a.Select(selector), "%s: %s", a.asked, selector)
	return a
}

// Attr returns an attribute of an element, or "".
func Attr(n *html.Node, name string) string {
	for _, at := range n.Attr {
		if at.Key == name {
			return at.Val
		}
	}
	return ""
}

// Text returns the text of an element with runs of white space made one.
func Text(n *html.Node) string {
	var b strings.Builder
	for c := range n.Descendants() {
		if c.Type == html.TextNode {
			b.WriteString(c.Data)
			b.WriteByte(' ')
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}
