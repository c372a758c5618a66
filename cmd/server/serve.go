package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"strconv"
	"syscall"
	"time"

	"endcast/internal/db"
	"endcast/internal/web"
	"endcast/migrations"
)

var serveCommand = command{
	name: "serve", brief: "run the server (the default)",
	setup: func(fs *flag.FlagSet) action {
		demo := fs.Bool("demo-if-empty", false, "load the demonstration when the database has no program yet")
		return func(ctx context.Context, c console, set settings, args []string) error {
			if err := noArguments(args); err != nil {
				return err
			}
			return serve(ctx, c, set, *demo)
		}
	},
}

// A planned stop gives requests under way the time of requestsStop to finish as if nothing had happened; what is not done
// then is told to give up, and has lastWords to say so.
const (
	requestsStop = 20 * time.Second
	lastWords    = 5 * time.Second
)

// serve runs until the context ends, then stops in the order that loses nothing: take no more requests, end the work in the
// background and the streams, let the rest finish, close the pool, stop the database.
func serve(ctx context.Context, c console, set settings, demo bool) (err error) {
	log := set.logger(c)
	listener, err := listen(ctx, set.Addr)
	if err != nil {
		return err
	}
	defer func() { _ = listener.Close() }()
	if err := os.MkdirAll(set.Data, 0o755); err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	d, err := findDatabase(ctx, set, log, false)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, d.close(ctx)) }()
	if err := db.Migrate(ctx, d.dsn, migrations.FS); err != nil {
		return err
	}
	pool, err := db.Open(ctx, d.dsn)
	if err != nil {
		return err
	}
	defer pool.Close()

	photos, err := set.folder()
	if err != nil {
		return err
	}
	j := job{Pool: pool, Log: log, Out: c.out, Photos: photos}
	if demo {
		if err := demoIfEmpty(ctx, j); err != nil {
			return err
		}
	}
	base := set.baseURL(listener.Addr())
	cfg, err := webConfig(ctx, j, base, set)
	if err != nil {
		return err
	}
	site, err := web.New(cfg)
	if err != nil {
		return err
	}
	defer site.Close()
	if err := j.store().EnsureSigningKey(ctx); err != nil {
		return err
	}
	if err := greet(ctx, j, base); err != nil {
		return err
	}
	background, stop := context.WithCancel(ctx)
	computing := make(chan struct{})
	go func() {
		defer close(computing)
		catchUp(background, j.store(), log)
	}()
	reading := make(chan struct{})
	go func() {
		defer close(reading)
		site.RunStrain(background)
	}()
	writing := make(chan struct{})
	go func() {
		defer close(writing)
		site.RunLetters(background)
	}()
	defer func() { stop(); <-computing; <-reading; <-writing }()
	return answer(ctx, log, listener, site.Handler(), d.ended())
}

// catchUp computes the ends that another version of the method computed last, while people work: an edit computes its own
// ends in any case.
func catchUp(ctx context.Context, store *db.Store, log *slog.Logger) {
	n, err := store.NeedRefresh(ctx)
	if err == nil && n > 0 {
		log.Info("computing ends by this version of the method", "ends", n)
		n, err = store.Refresh(ctx, nil)
		log.Info("computed", "ends", n)
	}
	if err != nil && ctx.Err() == nil {
		log.Error("ends were not computed by this version of the method; the next start goes on", "error", err)
	}
}

func listen(ctx context.Context, addr string) (net.Listener, error) {
	var config net.ListenConfig
	l, err := config.Listen(ctx, "tcp", addr)
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, fmt.Errorf("address %s is taken by another program: stop that one, or choose another address with ENDCAST_ADDR or -addr", addr)
	case errors.Is(err, syscall.EACCES):
		return nil, fmt.Errorf("address %s may not be used by this user: choose a port above 1023 with ENDCAST_ADDR or -addr", addr)
	case err != nil:
		return nil, fmt.Errorf("listen on %s: %w", addr, err)
	}
	return l, nil
}

func demoIfEmpty(ctx context.Context, j job) error {
	if provided.Empty == nil || provided.LoadDemo == nil {
		j.Log.Warn("the demonstration is unavailable in this build")
		return nil
	}
	empty, err := provided.Empty(ctx, j)
	if err != nil || !empty {
		return err
	}
	return provided.LoadDemo(ctx, j)
}

func webConfig(ctx context.Context, j job, base string, set settings) (web.Config, error) {
	cfg := web.Config{Pool: j.Pool, Logger: j.Log, BaseURL: base, Release: release(), Photos: j.Photos, Chromium: set.Chromium, TrustedProxies: set.proxies()}
	var err error
	if cfg.SignOn, err = set.signOn(); err != nil {
		return cfg, err
	}
	cfg.DigestHour, _ = strconv.Atoi(set.DigestHour) // checked with the other settings
	m, err := set.mailServer()
	if err != nil {
		return cfg, err
	}
	if m != nil {
		cfg.Mail = m
	}
	if f := provided.DemoAccounts; f != nil {
		accounts, err := f(ctx, j)
		if err != nil {
			return cfg, err
		}
		cfg.Demo = accounts
	}
	return cfg, nil
}

// greet tells the person at the console where to go and what is missing.
func greet(ctx context.Context, j job, base string) error {
	users, err := db.People{Pool: j.Pool}.List(ctx)
	if err != nil {
		return err
	}
	fmt.Fprintf(j.Out, "Endcast is at %s (Ctrl-C stops it)\n", base)
	if len(users) == 0 {
		fmt.Fprintln(j.Out, "There is no account yet. Make one with: endcast user add -admin EMAIL NAME")
	}
	return nil
}

// answer serves requests until the context or the database ends.
func answer(ctx context.Context, log *slog.Logger, l net.Listener, h http.Handler, databaseEnded <-chan struct{}) error {
	base, endRequests := context.WithCancelCause(context.WithoutCancel(ctx))
	defer endRequests(web.ErrStopping)
	streams, endStreams := context.WithCancel(base)
	defer endStreams()
	server := web.NewHTTPServer(web.WithStreams(base, streams), l.Addr().String(), h)
	server.ErrorLog = slog.NewLogLogger(log.Handler(), slog.LevelWarn)
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(l) }()
	log.Info("serving", "address", l.Addr().String(), "release", release())

	var cause error
	select {
	case <-ctx.Done():
		log.Info("stopping")
	case err := <-failed:
		return fmt.Errorf("serve: %w", err)
	case <-databaseEnded:
		cause = errors.New("the built-in database ended unexpectedly; its log is postgres.log in the data folder")
	}
	endStreams()
	if cause != nil { // without the database no request can finish
		endRequests(web.ErrStopping)
	}
	return errors.Join(cause, finish(ctx, server, endRequests))
}

// finish waits for the requests under way, then for what they say when they are ended, then cuts them off.
func finish(ctx context.Context, server *http.Server, endRequests context.CancelCauseFunc) error {
	ctx = context.WithoutCancel(ctx)
	limit, cancel := context.WithTimeout(ctx, requestsStop)
	defer cancel()
	if server.Shutdown(limit) == nil {
		return nil
	}
	endRequests(web.ErrStopping)
	last, cancel := context.WithTimeout(ctx, lastWords)
	defer cancel()
	if err := server.Shutdown(last); err != nil {
		_ = server.Close()
		return fmt.Errorf("requests did not finish within %s: %w", requestsStop+lastWords, err)
	}
	return nil
}
