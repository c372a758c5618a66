package main

import (
	"context"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db/dbtest"
)

// running is a server under test.
type running struct {
	base     string
	out, err *screen
	stop     context.CancelFunc
	ended    chan int // receives the exit status once
}

var greeting = regexp.MustCompile(`Endcast is at (\S+) `)

// start runs the server until it says where it is.
func start(t *testing.T, env []string, words ...string) *running {
	t.Helper()
	ctx, stop := context.WithCancel(context.WithoutCancel(t.Context()))
	r := &running{out: &screen{}, err: &screen{}, stop: stop, ended: make(chan int, 1)}
	go func() {
		r.ended <- run(ctx, words, console{in: strings.NewReader(""), out: r.out, err: r.err, env: env})
	}()
	t.Cleanup(stop)
	require.Eventually(t, func() bool {
		m := greeting.FindStringSubmatch(r.out.String())
		if m != nil {
			r.base = m[1]
		}
		return m != nil || len(r.ended) > 0
	}, 15*time.Minute, 10*time.Millisecond) // the demonstration is loaded first, slowly under the race detector
	require.NotEmpty(t, r.base, r.err.String())
	return r
}

func (r *running) requireStops(t *testing.T) {
	t.Helper()
	r.stop()
	select {
	case status := <-r.ended:
		require.Equal(t, exitOK, status, r.err.String())
	case <-time.After(5 * time.Minute):
		require.Fail(t, "the server did not stop", r.err.String())
	}
}

func get(t *testing.T, url string) (int, string) {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, url, nil)
	require.NoError(t, err)
	res, err := http.DefaultClient.Do(req)
	require.NoError(t, err)
	defer func() { _ = res.Body.Close() }()
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	return res.StatusCode, string(body)
}

func TestServeOnAGivenDatabase(t *testing.T) {
	t.Parallel()
	env := []string{"DATABASE_URL=" + dbtest.EmptyDSN(t), "ENDCAST_DATA=" + t.TempDir(), "ENDCAST_ADDR=127.0.0.1:0", "ENDCAST_LOG=json"}
	r := start(t, env, "serve", "-demo-if-empty")
	status, body := get(t, r.base+"/healthz")
	require.Equal(t, http.StatusOK, status)
	require.Equal(t, "ok\n", body)
	require.Contains(t, r.err.String(), `"msg":"serving"`)

	_, _, errs := typed(t.Context(), env, "", "serve", "-addr", strings.TrimPrefix(r.base, "http://"))
	require.Contains(t, errs, "is taken by another program: stop that one, or choose another address with ENDCAST_ADDR or -addr")
	r.requireStops(t)
	require.Contains(t, r.err.String(), `"msg":"stopping"`)
}

func TestServeWithTheBuiltInDatabase(t *testing.T) {
	t.Parallel()
	data, err := os.MkdirTemp("", "endcast-serve-")
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, os.RemoveAll(data)) })
	require.NoError(t, os.Chmod(data, 0o755))
	env := []string{"ENDCAST_DATA=" + data, "ENDCAST_ADDR=127.0.0.1:0"}
	r := start(t, env)
	status, _ := get(t, r.base+"/healthz")
	require.Equal(t, http.StatusOK, status)
	require.Contains(t, r.out.String(), "There is no account yet")

	// A command beside the running server uses its database; a second server is refused.
	code, _, errs := typed(t.Context(), env, "", "user", "add", "ada@ends.example", "Ada")
	require.Equal(t, exitOK, code, errs)
	code, out, _ := typed(t.Context(), env, "", "database-address")
	require.Equal(t, exitOK, code)
	require.Contains(t, out, "postgres:///endcast?")
	file := filepath.Join(t.TempDir(), "all.backup")
	code, _, errs = typed(t.Context(), env, "", "backup", file)
	require.Equal(t, exitOK, code, errs)
	code, _, errs = typed(t.Context(), env, "", "restore", file)
	require.Equal(t, exitFailed, code)
	require.Contains(t, errs, "is in use by another copy of this program")
	code, _, errs = typed(t.Context(), env, "")
	require.Equal(t, exitFailed, code)
	require.Contains(t, errs, "is in use by another copy of this program")
	r.requireStops(t)

	// What was saved is there after a restart, and for a command on its own.
	code, out, errs = typed(t.Context(), env, "", "user", "list", "-log-level", "error")
	require.Equal(t, exitOK, code, errs)
	require.Contains(t, out, "ada@ends.example")
	code, _, errs = typed(t.Context(), env, "", "restore", file)
	require.Equal(t, exitFailed, code)
	require.Contains(t, errs, "the database holds records")
	env2 := []string{"DATABASE_URL=" + dbtest.EmptyDSN(t)}
	code, out, errs = typed(t.Context(), env2, "", "restore", file)
	require.Equal(t, exitOK, code, errs)
	require.Contains(t, out, "no difference")
	code, out, errs = typed(t.Context(), env2, "", "verify")
	require.Equal(t, exitOK, code, errs)
	require.Contains(t, out, "looked at")
	_, out, _ = typed(t.Context(), env2, "", "user", "list")
	require.Contains(t, out, "ada@ends.example")
	require.NotContains(t, start(t, env).out.String(), "There is no account yet")
}

func TestBaseURLFollowsTheListener(t *testing.T) {
	t.Parallel()
	at := func(ip string) net.Addr { return &net.TCPAddr{IP: net.ParseIP(ip), Port: 8080} }
	var s settings
	require.Equal(t, "http://127.0.0.1:8080", s.baseURL(at("127.0.0.1")))
	require.Equal(t, "http://localhost:8080", s.baseURL(at("0.0.0.0")))
	require.Equal(t, "http://localhost:8080", s.baseURL(at("::")))
	s.BaseURL = "https://ends.example.org/"
	require.Equal(t, "https://ends.example.org", s.baseURL(at("0.0.0.0")))
}

// held is a request of a server that answers with answer, asked and not answered.
type held struct {
	stop  context.CancelFunc
	ended chan error  // what answer returned
	said  chan string // the body, once
	shut  func() bool // whether nobody new is let in
}

func hold(t *testing.T, h http.Handler, entered <-chan struct{}) held {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.WithoutCancel(t.Context()))
	t.Cleanup(stop)
	x := held{stop: stop, ended: make(chan error, 1), said: make(chan string, 1)}
	go func() { x.ended <- answer(ctx, (&settings{}).logger(console{err: io.Discard}), l, h, nil) }()
	go func() {
		res, err := http.Get("http://" + l.Addr().String())
		if err != nil {
			x.said <- err.Error()
			return
		}
		defer func() { _ = res.Body.Close() }()
		b, _ := io.ReadAll(res.Body)
		x.said <- res.Status + " " + string(b)
	}()
	x.shut = func() bool {
		c, err := net.Dial("tcp", l.Addr().String())
		if err == nil {
			_ = c.Close()
		}
		return err != nil
	}
	<-entered
	return x
}

func TestAPlannedStopLetsRequestsUnderWayFinish(t *testing.T) {
	t.Parallel()
	entered, release := make(chan struct{}), make(chan struct{})
	x := hold(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		close(entered)
		<-release
		if err := r.Context().Err(); err != nil {
			w.WriteHeader(http.StatusServiceUnavailable)
			return
		}
		_, _ = io.WriteString(w, "stored")
	}), entered)
	x.stop()
	require.Eventually(t, x.shut, 10*time.Second, time.Millisecond, "the stop has begun")
	close(release)
	require.NoError(t, <-x.ended)
	require.Equal(t, "200 OK stored", <-x.said)
}

func TestAnswerNoticesTheEndOfTheDatabase(t *testing.T) {
	t.Parallel()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	gone := make(chan struct{})
	close(gone)
	err = answer(t.Context(), (&settings{}).logger(console{err: io.Discard}), l, http.NotFoundHandler(), gone)
	require.ErrorContains(t, err, "the built-in database ended unexpectedly")
}
