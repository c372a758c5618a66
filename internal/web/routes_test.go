package web

import (
	"net/http"
	"strings"
	"testing"

	"github.com/go-chi/chi/v5"
	"github.com/stretchr/testify/require"

	"endcast/internal/db/dbtest"
	"endcast/internal/domain/authz"
)

func newServer(t *testing.T) *Server {
	t.Helper()
	s, err := New(Config{Pool: dbtest.New(t), BaseURL: "http://ends.test"})
	require.NoError(t, err)
	t.Cleanup(s.Close)
	return s
}

// TestEveryRouteIsClassified walks the router itself, so that a route mounted past
// the table is found out.
func TestEveryRouteIsClassified(t *testing.T) {
	t.Parallel()
	s := newServer(t)
	listed := map[string]bool{}
	for _, rt := range s.routes {
		key := rt.method + " " + rt.pattern
		require.False(t, listed[key], "listed twice: %s", key)
		listed[key] = true
		require.True(t, authz.Known(rt.action), "%s asks for the action %q, which the table does not know", key, rt.action)
		inProgram := strings.HasPrefix(strings.TrimPrefix(rt.pattern, "/api/v1")+"/", programPrefix+"/")
		if authz.OfProgram(rt.action) {
			require.True(t, inProgram, "%s asks about a program, and has none in its address", key)
		}
		require.Contains(t, []string{http.MethodGet, http.MethodPost}, rt.method, key)
		require.NotNil(t, rt.handler, key)
	}
	open := map[string]bool{"GET /healthz": true}
	err := chi.Walk(s.router, func(method, pattern string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		if !strings.HasPrefix(pattern, "/static/") && !open[method+" "+pattern] {
			require.True(t, listed[method+" "+pattern], "%s %s is not in the table of routes", method, pattern)
		}
		return nil
	})
	require.NoError(t, err)
}

func TestEveryRouteButThePublicOnesAsksForSignIn(t *testing.T) {
	t.Parallel()
	s := newServer(t)
	for _, rt := range s.routes {
		if rt.action == authz.Public {
			continue
		}
		path := strings.NewReplacer("{", "", "}", "").Replace(rt.pattern)
		w := serve(s, rt.method, path, nil)
		want := http.StatusUnauthorized
		if rt.method == http.MethodGet && !isAPI(rt.pattern) {
			want = http.StatusSeeOther
			require.Contains(t, w.Header().Get("Location"), "/login?next=", path)
		}
		require.Equal(t, want, w.Code, "%s %s", rt.method, path)
	}
}

func TestNewRefusesAHalfConfiguration(t *testing.T) {
	t.Parallel()
	_, err := New(Config{})
	require.ErrorContains(t, err, "database")
	pool := dbtest.New(t)
	for _, base := range []string{"", "ends.test", "ftp://ends.test", "http://"} {
		_, err = New(Config{Pool: pool, BaseURL: base})
		require.ErrorContains(t, err, "base address", base)
	}
}
