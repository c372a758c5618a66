package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"
)

func TestHTTPServerHasLimits(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(t.Context())
	h := NewHTTPServer(ctx, ":0", http.NotFoundHandler())
	require.NotZero(t, h.ReadHeaderTimeout)
	require.NotZero(t, h.ReadTimeout)
	require.NotZero(t, h.WriteTimeout)
	require.NotZero(t, h.IdleTimeout)
	require.LessOrEqual(t, h.MaxHeaderBytes, 64<<10)
	base := h.BaseContext(nil)
	cancel()
	require.Error(t, base.Err(), "ending the base ends long streams")
}

func TestPathOfAProgram(t *testing.T) {
	t.Parallel()
	id := uuid.New()
	require.Equal(t, "/p/"+id.String(), ProgramHead{ID: id}.Path())
	require.Equal(t, "/p/lower-river/ends/2F%2F3", ProgramHead{ID: id, Code: "lower-river"}.Path("ends", "2F/3"))
}

func TestBackFromAnErrorPage(t *testing.T) {
	t.Parallel()
	head := &ProgramHead{Code: "a"}
	cases := []struct {
		method, path, referer string
		program               *ProgramHead
		want                  string
	}{
		{get, "/p/a/ends/9", "", head, "/p/a"},
		{get, "/p/a", "", head, "/"},
		{get, "/x", "http://ends.test/account", nil, "/"},
		{post, "/p/a/ends/9", "http://ends.test/p/a/ends/9?face=left", head, "/p/a/ends/9?face=left"},
		{post, "/p/a/ends/9", "http://evil.test/", head, "/p/a"},
	}
	for _, c := range cases {
		r := httptest.NewRequest(c.method, "http://ends.test"+c.path, nil)
		r.Header.Set("Referer", c.referer)
		require.Equal(t, c.want, back(r, &visit{program: c.program}), "%+v", c)
	}
}
