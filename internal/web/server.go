// Package web is the door for browsers: it reads requests, knows who asks, asks the
// authorisation table, calls the store and renders a view. It holds no rule of the
// work and no SQL.
//
// Every address is listed in routes.go. A handler is a method of Server that
// returns an error; errors.go turns an error into a status and a page.
package web

import (
	"context"
	"errors"
	"log/slog"
	"net/http"
	"net/url"
	"sync"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5/pgxpool"

	"endcast/internal/db"
	"endcast/internal/domain/units"
	"endcast/internal/web/paper"
	"endcast/views/login"
)

// Config is what a server is made from.
type Config struct {
	Pool    *pgxpool.Pool
	Logger  *slog.Logger     // nil: nothing is logged
	BaseURL string           // as people type it, such as "https://ends.example.org"; decides whether cookies are for TLS only
	Now     func() time.Time // nil: time.Now
	Release string           // version of the program, shown in the title block
	Photos  *db.Folder       // where originals of new photographs go; nil: the database

	// TrustedProxies are the address ranges of proxies in front of the server, whose
	// X-Forwarded-For is believed. Empty: the peer itself is the client.
	TrustedProxies []string
	// LoginsPerMinute bounds the attempts to sign in from one address; 0 means 20.
	LoginsPerMinute int
	// AsksPerMinute bounds how often one token asks; 0 means 600.
	AsksPerMinute int
	// Demo lists accounts to offer on the sign-in page of a demonstration.
	Demo []login.DemoAccount

	// SignOn is a sign-on service beside the accounts with passwords; nil for none.
	SignOn *SignOn

	// Chromium is the browser that makes PDFs: a path, "" to look for one, "none" for none.
	Chromium string

	// Mail hands in letters; nil sends none. A digest goes out after DigestHour, by the
	// clock where the reader's first program is.
	Mail       Mail
	DigestHour int

	// FindProgram returns the program of an address, by its code or its id, or
	// fault.NotFound. Nil takes an id and knows no name, which serves tests of pages
	// that need no stored program.
	FindProgram func(ctx context.Context, key string) (ProgramHead, error)
	// ListPrograms returns the programs with the given ids; all of them for nil.
	ListPrograms func(ctx context.Context, ids []uuid.UUID) ([]ProgramHead, error)
}

// Mail hands in one letter. A letter handed in twice carries the same id.
type Mail interface {
	Send(ctx context.Context, id, to, subject, body string) error
}

// ProgramHead is what every page of a program shows of it.
type ProgramHead struct {
	ID     uuid.UUID
	Code   string // its part of the address; "" uses the id
	Name   string
	Bridge string
	Units  units.System
}

// Path returns the address of a page of the program: Path("ends", end).
func (h ProgramHead) Path(parts ...string) string {
	key := h.Code
	if key == "" {
		key = h.ID.String()
	}
	out := "/p/" + url.PathEscape(key)
	for _, p := range parts {
		out += "/" + url.PathEscape(p)
	}
	return out
}

// Server answers requests. Make one with New and release it with Close.
type Server struct {
	cfg      Config
	log      *slog.Logger
	now      func() time.Time
	people   db.People
	store    *db.Store
	sessions *scs.SessionManager
	base     *url.URL
	secure   bool   // the base address is https
	spare    []byte // error page for when rendering fails
	routes   []route
	router   chi.Router
	handler  http.Handler
	stop     func()
	printer  *paper.Printer

	sums       curingSums
	strainWork chan struct{} // wakes RunStrain
	verdicts   verdictSums
	packing    chan struct{} // a place for each package that is being written

	signOnce sync.Mutex
	signOn   *service // once it has answered

	background sync.WaitGroup
}

// New returns a server for the configuration, or an error that says what is
// missing from it.
func New(cfg Config) (*Server, error) {
	if cfg.Pool == nil {
		return nil, errors.New("web: a database is needed")
	}
	base, err := url.Parse(cfg.BaseURL)
	if err != nil || base.Host == "" || (base.Scheme != "http" && base.Scheme != "https") {
		return nil, errors.New("web: the base address must be a whole http or https address, got " + cfg.BaseURL)
	}
	store := db.NewStore(cfg.Pool)
	store.Folder = cfg.Photos
	s := &Server{cfg: cfg, log: cfg.Logger, now: cfg.Now, people: db.People{Pool: cfg.Pool}, store: store, base: base, secure: base.Scheme == "https", packing: make(chan struct{}, packagesAtOnce)}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	s.printer = paper.New(cfg.Chromium, paper.Usual, s.log)
	if s.now == nil {
		s.now = time.Now
	}
	if s.cfg.LoginsPerMinute <= 0 {
		s.cfg.LoginsPerMinute = 20
	}
	if s.cfg.AsksPerMinute <= 0 {
		s.cfg.AsksPerMinute = 600
	}
	if s.cfg.FindProgram == nil {
		s.cfg.FindProgram = s.findProgram
	}
	if s.cfg.ListPrograms == nil {
		s.cfg.ListPrograms = s.listPrograms
	}
	s.sessions = newSessions(cfg.Pool, s.secure)
	s.sessions.ErrorFunc = func(w http.ResponseWriter, r *http.Request, err error) { s.fail(w, r, err) }
	if s.spare, err = spareProblem(); err != nil {
		return nil, err
	}
	s.strainWork = make(chan struct{}, 1)
	s.routes = s.table()
	if err = s.build(); err != nil {
		return nil, err
	}
	ctx, stop := context.WithCancel(context.Background())
	s.background.Go(func() { s.sweepSessions(ctx) })
	s.stop = func() { stop(); s.background.Wait() }
	return s, nil
}

// Handler returns the handler for every address of the program.
func (s *Server) Handler() http.Handler { return s.handler }

// Close stops what runs in the background and waits until it has ended. The pool stays open: it is the caller's.
func (s *Server) Close() { s.stop() }

// NewHTTPServer returns an http.Server for the handler with limits on how long and
// how large a request may be. Every request ends with base: give it ErrStopping as the cause.
// What lasts long ends earlier with the context of WithStreams, if base has one.
func NewHTTPServer(base context.Context, addr string, h http.Handler) *http.Server {
	return &http.Server{
		Addr: addr, Handler: h,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       60 * time.Second,
		WriteTimeout:      90 * time.Second,
		IdleTimeout:       120 * time.Second,
		MaxHeaderBytes:    64 << 10,
		BaseContext:       baseContext(base),
	}
}
