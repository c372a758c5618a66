package web

import (
	"bufio"
	"context"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
)

// pipes hands connections of this process to a server: they obey the clock of the test.
type pipes struct {
	next chan net.Conn
	shut chan struct{}
}

func newPipes() *pipes { return &pipes{make(chan net.Conn), make(chan struct{})} }

func (p *pipes) Accept() (net.Conn, error) {
	select {
	case c := <-p.next:
		return c, nil
	case <-p.shut:
		return nil, net.ErrClosed
	}
}

func (p *pipes) Close() error {
	select {
	case <-p.shut:
	default:
		close(p.shut)
	}
	return nil
}

func (p *pipes) Addr() net.Addr { return &net.TCPAddr{} }

func (p *pipes) dial() net.Conn {
	mine, theirs := net.Pipe()
	p.next <- theirs
	return mine
}

// slowly gives f a server with the limits of the program, and a clock of its own. What f
// waits on must be made in it: a wait on anything older does not let its clock run.
func slowly(t *testing.T, f func(serve func(http.Handler) *pipes)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		done := make(chan error, 1)
		var server *http.Server
		f(func(h http.Handler) *pipes {
			p := newPipes()
			server = NewHTTPServer(context.Background(), ":0", h)
			go func() { done <- server.Serve(p) }()
			return p
		})
		require.NoError(t, server.Close())
		require.ErrorIs(t, <-done, http.ErrServerClosed)
	})
}

// drip sends a byte each second until the other side hangs up, and returns after how long.
func drip(c net.Conn, head, each string) time.Duration {
	start := time.Now()
	go func() { _, _ = io.Copy(io.Discard, c) }() // takes whatever is answered
	if _, err := io.WriteString(c, head); err != nil {
		return time.Since(start)
	}
	for time.Since(start) < time.Hour {
		if _, err := io.WriteString(c, each); err != nil {
			break
		}
		time.Sleep(time.Second) // of the test's own clock: it passes at once
	}
	_ = c.Close()
	return time.Since(start)
}

func TestSlowHeadersAreCutOff(t *testing.T) {
	t.Parallel()
	slowly(t, func(serve func(http.Handler) *pipes) {
		p := serve(http.NotFoundHandler())
		took := drip(p.dial(), "GET / HTTP/1.1\r\nHost: ends.test\r\n", "X-A: b\r\n")
		require.GreaterOrEqual(t, took, 9*time.Second)
		require.LessOrEqual(t, took, 12*time.Second)
	})
}

func TestSlowBodiesAreCutOffAndOthersAreServedMeanwhile(t *testing.T) {
	t.Parallel()
	slowly(t, func(serve func(http.Handler) *pipes) {
		read := make(chan error, 1)
		h := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if r.Method == http.MethodGet {
				return
			}
			_, err := io.Copy(io.Discard, r.Body)
			read <- err
		})
		p := serve(h)
		slow := p.dial()
		took := make(chan time.Duration)
		go func() {
			took <- drip(slow, "POST / HTTP/1.1\r\nHost: ends.test\r\nContent-Length: 1000000\r\n\r\n", "x")
		}()
		quick := p.dial()
		_, err := io.WriteString(quick, "GET / HTTP/1.1\r\nHost: ends.test\r\nConnection: close\r\n\r\n")
		require.NoError(t, err)
		a, err := http.ReadResponse(bufio.NewReader(quick), nil)
		require.NoError(t, err)
		require.Equal(t, http.StatusOK, a.StatusCode)
		_ = quick.Close()
		require.Error(t, <-read, "the handler is told that the body did not come")
		require.LessOrEqual(t, <-took, 70*time.Second)
	})
}

func TestReadersThatDoNotReadAreCutOff(t *testing.T) {
	t.Parallel()
	slowly(t, func(serve func(http.Handler) *pipes) {
		wrote := make(chan error, 1)
		h := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			_, err := io.WriteString(w, strings.Repeat("x", 1<<20))
			wrote <- err
		})
		p := serve(h)
		c := p.dial()
		start := time.Now()
		_, err := io.WriteString(c, "GET / HTTP/1.1\r\nHost: ends.test\r\n\r\n")
		require.NoError(t, err)
		require.Error(t, <-wrote, "what nobody takes is given up")
		require.LessOrEqual(t, time.Since(start), 100*time.Second)
		_ = c.Close()
	})
}

func TestIdleConnectionsAreClosed(t *testing.T) {
	t.Parallel()
	slowly(t, func(serve func(http.Handler) *pipes) {
		p := serve(http.NotFoundHandler())
		c := p.dial()
		_, err := io.WriteString(c, "GET / HTTP/1.1\r\nHost: ends.test\r\n\r\n")
		require.NoError(t, err)
		start := time.Now()
		_, err = io.Copy(io.Discard, c) // until the server hangs up
		require.NoError(t, err)
		require.LessOrEqual(t, time.Since(start), 130*time.Second)
		_ = c.Close()
	})
}
