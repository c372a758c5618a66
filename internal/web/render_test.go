package web

import (
	"context"
	"errors"
	"io"
	"net/http"
	"strings"
	"testing"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
)

func TestPageThatFailsHalfWayIsAWholeErrorPage(t *testing.T) {
	t.Parallel()
	broken := templ.ComponentFunc(func(_ context.Context, w io.Writer) error {
		_, _ = io.WriteString(w, "half a page")
		return errors.New("broke")
	})
	var s *Server
	s = withRoutes(t, nil, on(get, "/try", authz.Public, func(w http.ResponseWriter, r *http.Request) error {
		return s.render(w, r, http.StatusOK, broken)
	}))
	w := serve(s, get, "/try", nil)
	require.Equal(t, http.StatusInternalServerError, w.Code)
	require.NotContains(t, w.Body.String(), "half a page")
	require.Contains(t, w.Body.String(), "This did not work")
}

func TestSparePageIsWhole(t *testing.T) {
	t.Parallel()
	b, err := spareProblem()
	require.NoError(t, err)
	require.Contains(t, string(b), "</html>")
}

func TestEntryNumberOfAForm(t *testing.T) {
	t.Parallel()
	var got uuid.UUID
	s := withRoutes(t, nil, on(post, "/try", authz.Public, func(w http.ResponseWriter, r *http.Request) (err error) {
		got, err = entry(r)
		return err
	}))
	id := uuid.Must(uuid.NewV7())
	form := []string{"Content-Type", "application/x-www-form-urlencoded"}
	require.Equal(t, 200, serve(s, post, "/try", strings.NewReader("entry="+id.String()), form...).Code)
	require.Equal(t, id, got)
	require.Equal(t, 200, serve(s, post, "/try", nil, "Idempotency-Key", id.String()).Code)
	for _, bad := range []string{"", "entry=", "entry=7", "entry=" + uuid.Nil.String()} {
		require.Equal(t, 400, serve(s, post, "/try", strings.NewReader(bad), form...).Code, bad)
	}
}
