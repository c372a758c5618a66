package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"endcast/internal/db"
	"endcast/internal/db/pglocal"
	"endcast/migrations"
)

// database is what a command works on: a server elsewhere, one that this run started, or the built-in one of a copy of the
// program that is running now.
type database struct {
	dsn   string
	local *pglocal.Server // nil unless this run started it
}

const databaseStop = 30 * time.Second

// findDatabase picks by the settings. attach allows a command beside a running server; serve itself must be alone.
func findDatabase(ctx context.Context, set settings, log *slog.Logger, attach bool) (*database, error) {
	if set.DatabaseURL != "" {
		log.Debug("using the database of DATABASE_URL")
		return &database{dsn: set.DatabaseURL}, nil
	}
	dir := filepath.Join(set.Data, "postgres")
	server, err := pglocal.Start(ctx, pglocal.Options{Dir: dir, Account: set.Account, Log: log})
	var inUse *pglocal.InUseError
	if attach && errors.As(err, &inUse) {
		if dsn, e := pglocal.Attach(dir); e == nil {
			return &database{dsn: dsn}, nil
		}
	}
	if err != nil {
		return nil, err
	}
	return &database{dsn: server.DSN(), local: server}, nil
}

// close stops the server if this run started it.
func (d *database) close(ctx context.Context) error {
	if d.local == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), databaseStop)
	defer cancel()
	return d.local.Stop(ctx)
}

// ended is closed when a built-in server has ended; it is nil, which blocks for ever, for any other.
func (d *database) ended() <-chan struct{} {
	if d.local == nil {
		return nil
	}
	return d.local.Done()
}

// matchSchema brings a database that this run started to the program's schema version. Any other may have a server of
// another release at work on it, so there the versions must match already.
func (d *database) matchSchema(ctx context.Context) (err error) {
	if d.local != nil {
		return db.Migrate(ctx, d.dsn, migrations.FS)
	}
	s, err := db.OpenSchema(ctx, d.dsn, migrations.FS)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	v, err := s.Check()
	if err == nil && v < s.Latest() {
		return fmt.Errorf("the database has schema version %d and this program needs %d: start the server of this release, or run `endcast migrate up`", v, s.Latest())
	}
	return err
}

// withPool runs a command on a database at this program's schema version.
func withPool(ctx context.Context, c console, set settings, f func(context.Context, *pgxpool.Pool) error) (err error) {
	d, err := findDatabase(ctx, set, set.logger(c), true)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, d.close(ctx)) }()
	if err := d.matchSchema(ctx); err != nil {
		return err
	}
	pool, err := db.Open(ctx, d.dsn)
	if err != nil {
		return err
	}
	defer pool.Close()
	return f(ctx, pool)
}

// withSchema runs a command on the schema as it is.
func withSchema(ctx context.Context, c console, set settings, f func(*db.Schema) error) (err error) {
	d, err := findDatabase(ctx, set, set.logger(c), true)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, d.close(ctx)) }()
	s, err := db.OpenSchema(ctx, d.dsn, migrations.FS)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	return f(s)
}

// unavailable says that this build has no such part.
func unavailable(what string) error { return fmt.Errorf("%s is unavailable in this build", what) }
