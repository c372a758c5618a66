package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
)

// A client whose request is cut off because the server stops hears that it may send it
// again; one that left gets nothing.
func TestAStoppingServerSaysSo(t *testing.T) {
	t.Parallel()
	waits := func(_ http.ResponseWriter, r *http.Request) error {
		<-r.Context().Done()
		return r.Context().Err()
	}
	s := withRoutes(t, nil, on(get, "/waits", authz.Public, waits))
	for cause, want := range map[error]int{ErrStopping: http.StatusServiceUnavailable, nil: statusGone} {
		ctx, stop := context.WithCancelCause(t.Context())
		inside, leave := context.WithCancel(ctx) // as the server derives that of a connection
		w := httptest.NewRecorder()
		stop(cause)
		s.Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, "http://ends.test/waits", nil).WithContext(inside))
		leave()
		require.Equal(t, want, w.Code)
		if want == http.StatusServiceUnavailable {
			require.Contains(t, w.Body.String(), "send it again")
			require.NotEmpty(t, w.Header().Get("Retry-After"))
		}
	}
}

// A package of hours is told to end when the stop begins; a short request is not.
func TestLastingAnswersEndFirst(t *testing.T) {
	t.Parallel()
	waits := func(_ http.ResponseWriter, r *http.Request) error {
		<-r.Context().Done()
		return r.Context().Err()
	}
	short := func(w http.ResponseWriter, r *http.Request) error {
		return r.Context().Err()
	}
	s := withRoutes(t, nil, on(get, "/lasts", authz.Public, lasting(waits)), on(get, "/short", authz.Public, short))
	streams, begin := context.WithCancel(t.Context())
	begin()
	ask := func(at string) *httptest.ResponseRecorder {
		w := httptest.NewRecorder()
		r := httptest.NewRequest(http.MethodGet, "http://ends.test"+at, nil)
		s.Handler().ServeHTTP(w, r.WithContext(WithStreams(t.Context(), streams)))
		return w
	}
	w := ask("/lasts")
	require.Equal(t, http.StatusServiceUnavailable, w.Code)
	require.Contains(t, w.Body.String(), "send it again")
	require.NotEmpty(t, w.Header().Get("Retry-After"))
	require.Equal(t, http.StatusOK, ask("/short").Code)
}
