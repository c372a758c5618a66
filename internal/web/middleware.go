package web

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"runtime/debug"
	"strings"
	"time"

	"github.com/go-chi/chi/v5/middleware"
	"github.com/go-chi/httprate"

	"endcast/internal/domain/fault"
)

// bodyLimit is the largest request body of a route that sets no limit of its own.
const bodyLimit = 1 << 20

// identify numbers a request and makes the place where the rest of the way in
// notes what it learns.
func (s *Server) identify(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v := &visit{request: rand.Text()[:12], nonce: rand.Text()}
		w.Header().Set("X-Request-Id", v.request)
		next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), visitKey{}, v)))
	})
}

// clientAddress finds the address of the client, believing only named proxies.
func (s *Server) clientAddress() func(http.Handler) http.Handler {
	if len(s.cfg.TrustedProxies) > 0 {
		return middleware.ClientIPFromXFF(s.cfg.TrustedProxies...)
	}
	return middleware.ClientIPFromRemoteAddr
}

// logRequest writes one line a request: the pattern, never the address itself,
// which may hold what people typed; never bodies, cookies or passwords.
func (s *Server) logRequest(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		start := time.Now()
		ww := middleware.NewWrapResponseWriter(w, r.ProtoMajor)
		next.ServeHTTP(ww, r)
		v := visitOf(r.Context())
		if strings.HasPrefix(r.URL.Path, "/static/") || r.URL.Path == "/healthz" {
			return
		}
		attrs := []slog.Attr{
			slog.String("request", v.request), slog.String("method", r.Method), slog.String("pattern", v.pattern),
			slog.Int("status", ww.Status()), slog.Int("bytes", ww.BytesWritten()),
			slog.Duration("took", time.Since(start)), slog.String("from", middleware.GetClientIP(r.Context())),
		}
		if v.user != nil {
			attrs = append(attrs, slog.String("user", v.user.ID.String()))
		}
		s.log.LogAttrs(r.Context(), slog.LevelInfo, "request", attrs...)
	})
}

// recoverPanic turns a panic into an error page and a line in the log.
func (s *Server) recoverPanic(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			p := recover()
			if p == nil {
				return
			}
			if e, ok := p.(error); ok && errors.Is(e, http.ErrAbortHandler) {
				panic(p)
			}
			s.log.ErrorContext(r.Context(), "panic", "request", visitOf(r.Context()).request, "value", fmt.Sprint(p), "stack", string(debug.Stack()))
			visitOf(r.Context()).framed = false // the session may be the very thing that broke
			s.fail(w, r, fault.New(fault.Internal, ""))
		}()
		next.ServeHTTP(w, r)
	})
}

// policy is the content security policy, with the nonce of the request in place of
// %s. Styles come from our own files only, and no element carries a style.
const policy = "default-src 'none'; script-src 'nonce-%s'; style-src 'self'; font-src 'self'; img-src 'self' data: blob:; " +
	"connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; manifest-src 'self'; worker-src 'self'"

// securityHeaders sets what a browser is to forbid on our pages.
func (s *Server) securityHeaders(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", fmt.Sprintf(policy, visitOf(r.Context()).nonce))
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(self), geolocation=(), microphone=(), payment=(), usb=()")
		if s.secure {
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		next.ServeHTTP(w, r)
	})
}

// crossOrigin refuses changes that another site asks a browser for. It rests on
// Sec-Fetch-Site and Origin, so a GET must never change anything.
func (s *Server) crossOrigin(base *url.URL) (func(http.Handler) http.Handler, error) {
	c := http.NewCrossOriginProtection()
	if err := c.AddTrustedOrigin(base.Scheme + "://" + base.Host); err != nil {
		return nil, fmt.Errorf("web: base address: %w", err)
	}
	c.SetDenyHandler(s.answer(func(http.ResponseWriter, *http.Request) error {
		return fault.New(fault.Forbidden, "this request came from another site and was not taken")
	}))
	return c.Handler, nil
}

// limitLogins bounds the attempts to sign in from one address. The bound on
// attempts at one account is in the database and holds over restarts.
func (s *Server) limitLogins() func(http.Handler) http.Handler {
	key := func(r *http.Request) (string, error) {
		return httprate.CanonicalizeIP(middleware.GetClientIP(r.Context())), nil
	}
	return httprate.LimitBy(s.cfg.LoginsPerMinute, time.Minute, key, httprate.WithLimitHandler(
		s.answer(func(http.ResponseWriter, *http.Request) error {
			return fault.New(fault.TooMany, "there were too many attempts to sign in from this address")
		})))
}

// localPath returns the path and query of an address on this host, or "" for any
// other: what a page sends us to must not lead away.
func localPath(address, host string) string {
	u, err := url.Parse(address)
	if err != nil || u.Opaque != "" || u.User != nil || (u.Host != "" && u.Host != host) {
		return ""
	}
	if !strings.HasPrefix(u.Path, "/") || strings.HasPrefix(u.Path, "//") || strings.ContainsAny(u.Path, "\\\r\n") {
		return ""
	}
	return (&url.URL{Path: u.Path, RawQuery: u.RawQuery}).String()
}
