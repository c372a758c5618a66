package web

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/db/dbtest"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
)

// serve asks the server, with headers as name, value, name, value.
func serve(s *Server, method, path string, body io.Reader, headers ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, "http://ends.test"+path, body)
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	s.Handler().ServeHTTP(w, r)
	return w
}

// withRoutes returns a server that answers further public routes.
func withRoutes(t *testing.T, log *slog.Logger, more ...route) *Server {
	t.Helper()
	s := newServer(t)
	s.routes = append(s.routes, more...)
	if log != nil {
		s.log = log
	}
	require.NoError(t, s.build())
	return s
}

func returns(err error) handlerFunc {
	return func(http.ResponseWriter, *http.Request) error { return err }
}

func TestErrorsBecomeStatusAndPage(t *testing.T) {
	t.Parallel()
	var bad fault.Invalid
	bad.Add("depth", "<b>-3</b>", "depth must be more than 0")
	cases := []struct {
		err    error
		status int
		shows  string
	}{
		{fault.New(fault.NotFound, "there is no end 9F-9"), 404, "There is no end 9F-9."},
		{fault.New(fault.Forbidden, "x"), 403, "Not allowed"},
		{fault.New(fault.SignIn, "x"), 401, "Sign in first"},
		{fault.New(fault.Malformed, "x"), 400, "could not be read"},
		{bad.Err(), 422, "&lt;b&gt;-3&lt;/b&gt;"},
		{fault.New(fault.Refused, "the hold at step 9 is not released"), 422, "The hold at step 9 is not released."},
		{fault.New(fault.Conflict, "x"), 409, "Somebody changed this meanwhile"},
		{fault.New(fault.Duplicate, "x"), 409, "exists already"},
		{fault.New(fault.TooMany, "x"), 429, "Too many"},
		{fault.New(fault.Unavailable, "x"), 503, "Not available"},
		{errors.New("password=secret in row 7"), 500, "This did not work"},
		{&http.MaxBytesError{Limit: 42}, 413, "42 bytes"},
	}
	for i, c := range cases {
		s := withRoutes(t, nil, on(get, "/try", authz.Public, returns(c.err)))
		w := serve(s, get, "/try", nil)
		require.Equal(t, c.status, w.Code, i)
		require.Contains(t, w.Body.String(), c.shows, i)
		require.NotContains(t, w.Body.String(), "secret", i)
		require.NotContains(t, w.Body.String(), "<b>-3", i)
		require.Equal(t, "no-store", w.Header().Get("Cache-Control"))

		w = serve(s, get, "/try", nil, "Accept", "application/json")
		require.Equal(t, c.status, w.Code)
		require.Equal(t, "application/json", w.Header().Get("Content-Type"))
		require.NotContains(t, w.Body.String(), "secret")
	}
}

func TestEveryKindOfFaultHasAnAnswer(t *testing.T) {
	t.Parallel()
	for k := fault.Internal; k.String() != "unknown"; k++ {
		require.Contains(t, answers, k, k)
	}
}

func TestPanicBecomesAPageAndALineInTheLog(t *testing.T) {
	t.Parallel()
	var log bytes.Buffer
	s := withRoutes(t, slog.New(slog.NewJSONHandler(&log, nil)), on(get, "/try", authz.Public, func(http.ResponseWriter, *http.Request) error { panic("beam me up") }))
	w := serve(s, get, "/try", nil)
	require.Equal(t, http.StatusInternalServerError, w.Code)
	require.Contains(t, w.Body.String(), w.Header().Get("X-Request-Id"))
	require.NotContains(t, w.Body.String(), "beam me up")
	require.Contains(t, log.String(), "beam me up")
	require.Contains(t, log.String(), w.Header().Get("X-Request-Id"))
}

func TestLogLineHoldsThePatternAndNotTheAddress(t *testing.T) {
	t.Parallel()
	var log bytes.Buffer
	s := withRoutes(t, slog.New(slog.NewJSONHandler(&log, nil)), on(get, "/try/{what}", authz.Public, returns(nil)))
	serve(s, get, "/try/pier-two?note=private", nil, "Cookie", "session=topsecret")
	line := log.String()
	require.Contains(t, line, `"pattern":"/try/{what}"`)
	for _, private := range []string{"pier-two", "private", "topsecret"} {
		require.NotContains(t, line, private)
	}
}

func TestClientThatLeftIsNoFault(t *testing.T) {
	t.Parallel()
	var log bytes.Buffer
	s := withRoutes(t, slog.New(slog.NewJSONHandler(&log, nil)), on(get, "/try", authz.Public, func(w http.ResponseWriter, r *http.Request) error { return r.Context().Err() }))
	ctx, leave := context.WithCancel(t.Context())
	leave()
	r := httptest.NewRequestWithContext(ctx, get, "http://ends.test/try", nil)
	s.Handler().ServeHTTP(httptest.NewRecorder(), r)
	require.NotContains(t, log.String(), `"level":"ERROR"`)
}

func TestBodyLimit(t *testing.T) {
	t.Parallel()
	read := func(w http.ResponseWriter, r *http.Request) error { return parseForm(r) }
	s := withRoutes(t, nil, on(post, "/small", authz.Public, read), on(post, "/large", authz.Public, read).upTo(4<<20))
	body := "note=" + strings.Repeat("x", bodyLimit)
	form := []string{"Content-Type", "application/x-www-form-urlencoded"}
	require.Equal(t, http.StatusRequestEntityTooLarge, serve(s, post, "/small", strings.NewReader(body), form...).Code)
	require.Equal(t, http.StatusOK, serve(s, post, "/large", strings.NewReader(body), form...).Code)
	require.Equal(t, http.StatusBadRequest, serve(s, post, "/small", strings.NewReader("a=%zz"), form...).Code)
	require.Equal(t, http.StatusBadRequest, serve(s, post, "/small", strings.NewReader("x"), "Content-Type", "multipart/form-data").Code)
}

func TestOtherSitesCannotChangeAnything(t *testing.T) {
	t.Parallel()
	s := withRoutes(t, nil, on(post, "/try", authz.Public, returns(nil)), on(get, "/try", authz.Public, returns(nil)))
	cases := []struct {
		method  string
		headers []string
		status  int
	}{
		{post, nil, 200},
		{post, []string{"Sec-Fetch-Site", "same-origin"}, 200},
		{post, []string{"Sec-Fetch-Site", "cross-site"}, 403},
		{post, []string{"Sec-Fetch-Site", "same-site"}, 403},
		{post, []string{"Origin", "http://evil.test"}, 403},
		{post, []string{"Origin", "null"}, 403},
		{post, []string{"Origin", "http://ends.test"}, 200},
		{get, []string{"Sec-Fetch-Site", "cross-site"}, 200},
	}
	for _, c := range cases {
		w := serve(s, c.method, "/try", nil, c.headers...)
		require.Equal(t, c.status, w.Code, "%s %v", c.method, c.headers)
		if c.status == 403 {
			require.Contains(t, w.Body.String(), "another site", "our own page answers")
		}
	}
}

func TestSecurityHeaders(t *testing.T) {
	t.Parallel()
	s := newServer(t)
	seen := map[string]bool{}
	for range 3 {
		w := serve(s, get, "/login", nil)
		h := w.Header()
		csp := h.Get("Content-Security-Policy")
		require.Contains(t, csp, "default-src 'none'")
		require.NotContains(t, csp, "unsafe")
		_, rest, _ := strings.Cut(csp, "script-src 'nonce-")
		nonce, _, ok := strings.Cut(rest, "'")
		require.True(t, ok)
		require.Contains(t, w.Body.String(), `nonce="`+nonce+`"`)
		require.False(t, seen[nonce], "a nonce is used once")
		seen[nonce] = true
		require.Equal(t, "nosniff", h.Get("X-Content-Type-Options"))
		require.Empty(t, h.Get("Strict-Transport-Security"), "not over plain http")
		require.NotContains(t, w.Body.String(), "style=")
	}
}

func TestUnderTLSCookiesAreForTLSOnly(t *testing.T) {
	t.Parallel()
	s, err := New(Config{Pool: dbtest.New(t), BaseURL: "https://ends.test"})
	require.NoError(t, err)
	t.Cleanup(s.Close)
	require.True(t, s.sessions.Cookie.Secure)
	require.True(t, s.sessions.Cookie.HttpOnly)
	require.Equal(t, "__Host-session", s.sessions.Cookie.Name)
	require.NotEmpty(t, serve(s, get, "/login", nil).Header().Get("Strict-Transport-Security"))
}

func TestHealth(t *testing.T) {
	t.Parallel()
	s := newServer(t)
	w := serve(s, get, "/healthz", nil)
	require.Equal(t, "ok\n", w.Body.String())
	require.Empty(t, w.Result().Cookies())
	s.cfg.Pool.Close()
	require.Equal(t, http.StatusServiceUnavailable, serve(s, get, "/healthz", nil).Code)
}

func TestUnknownAddressAndMethod(t *testing.T) {
	t.Parallel()
	s := newServer(t)
	w := serve(s, get, "/nowhere", nil)
	require.Equal(t, http.StatusNotFound, w.Code)
	require.Contains(t, w.Body.String(), "There is no page at this address.")
	require.Equal(t, http.StatusMethodNotAllowed, serve(s, http.MethodDelete, "/login", nil).Code)
	require.Equal(t, http.StatusOK, serve(s, http.MethodHead, "/login", nil).Code)
}

func TestLocalPath(t *testing.T) {
	t.Parallel()
	for address, want := range map[string]string{
		"/p/x/ends?sort=a&b=c":   "/p/x/ends?sort=a&b=c",
		"http://ends.test/a":     "/a",
		"":                       "",
		"ends":                   "",
		"//evil.test/a":          "",
		"/\\evil.test":           "",
		"https://evil.test/a":    "",
		"http://a@ends.test/":    "",
		"javascript:alert(1)":    "",
		"http://ends.test//evil": "",
		"/%5Cevil.test":          "",
		"/a\r\nSet-Cookie: b=c":  "",
		"http://ends.test@e.x/a": "",
	} {
		require.Equal(t, want, localPath(address, "ends.test"), address)
	}
}

func FuzzLocalPathNeverLeadsAway(f *testing.F) {
	for _, seed := range []string{"/a", "//e", "/\\e", "http://e/", "/%2f/e", "/..//e", "\t//e", "/%09/e"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, address string) {
		got := localPath(address, "ends.test")
		if got == "" {
			return
		}
		path, _, _ := strings.Cut(got, "?")
		require.True(t, strings.HasPrefix(path, "/"), got)
		require.False(t, strings.HasPrefix(path, "//") || strings.ContainsRune(path, '\\'), got)
		require.False(t, strings.ContainsAny(got, "\r\n\t"), got)
	})
}
