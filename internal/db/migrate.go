package db

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"time"

	"github.com/golang-migrate/migrate/v4"
	"github.com/golang-migrate/migrate/v4/source"
	"github.com/golang-migrate/migrate/v4/source/iofs"
)

// NewerSchemaError says that the database was upgraded by a newer program than this one.
type NewerSchemaError struct {
	Database uint // version of the database
	Program  uint // highest version this program knows
}

func (e *NewerSchemaError) Error() string {
	return fmt.Sprintf("the database has schema version %d and this program knows versions up to %d only: "+
		"start the newer program again; nothing was changed", e.Database, e.Program)
}

// DirtySchemaError says that another tool left the schema halfway. This program cannot: it changes schema and version in
// one transaction.
type DirtySchemaError struct{ Version uint }

func (e *DirtySchemaError) Error() string {
	return fmt.Sprintf("schema version %d is marked as halfway done: make a backup, then run `endcast migrate repair`", e.Version)
}

// ErrDownAboveCurrent is returned when a way down is asked for that would lead up.
var ErrDownAboveCurrent = errors.New("the wanted schema version is above the current one")

// Schema moves a database from one schema version to another. Make one with OpenSchema and close it after use. It is not
// for concurrent use; two programs that migrate the same database wait for each other.
type Schema struct {
	driver  *schemaDriver
	source  source.Driver
	migrate *migrate.Migrate
	latest  uint
}

// Long enough for another copy of the program to finish a large migration.
const schemaLockWait = 10 * time.Minute

// OpenSchema connects to the database and reads the migration files. The context also bounds all later calls.
func OpenSchema(ctx context.Context, dsn string, files fs.FS) (*Schema, error) {
	src, err := iofs.New(files, ".")
	if err != nil {
		return nil, fmt.Errorf("read migrations: %w", err)
	}
	latest, err := lastVersion(src)
	if err != nil {
		return nil, fmt.Errorf("read migrations: %w", err)
	}
	drv, err := openSchemaDriver(ctx, dsn)
	if err != nil {
		return nil, err
	}
	m, err := migrate.NewWithInstance("embedded", src, "postgresql", drv)
	if err != nil {
		_ = drv.Close()
		return nil, fmt.Errorf("prepare migrations: %w", err)
	}
	m.LockTimeout = schemaLockWait
	return &Schema{driver: drv, source: src, migrate: m, latest: latest}, nil
}

func lastVersion(src source.Driver) (uint, error) {
	v, err := src.First()
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	for err == nil {
		next, e := src.Next(v)
		if errors.Is(e, fs.ErrNotExist) {
			return v, nil
		}
		v, err = next, e
	}
	return 0, err
}

// Close ends the connection.
func (s *Schema) Close() error {
	a, b := s.migrate.Close()
	return errors.Join(a, b)
}

// Latest is the highest version this program knows.
func (s *Schema) Latest() uint { return s.latest }

// Version is the version of the database, 0 for an empty one.
func (s *Schema) Version() (version uint, dirty bool, err error) {
	v, dirty, err := s.migrate.Version()
	if errors.Is(err, migrate.ErrNilVersion) {
		return 0, false, nil
	}
	if err != nil {
		return 0, false, fmt.Errorf("read schema version: %w", err)
	}
	return v, dirty, nil
}

// Check returns the version, or an error if this program must not work with the database: *NewerSchemaError or
// *DirtySchemaError.
func (s *Schema) Check() (uint, error) {
	v, dirty, err := s.Version()
	switch {
	case err != nil:
		return 0, err
	case v > s.latest:
		return v, &NewerSchemaError{Database: v, Program: s.latest}
	case dirty:
		return v, &DirtySchemaError{Version: v}
	}
	return v, nil
}

// Up brings the database to the latest version. When a step fails the database is as it was before that step.
func (s *Schema) Up(ctx context.Context) error {
	v, err := s.Check()
	if err != nil || v == s.latest {
		return err
	}
	return s.run(ctx, "up", s.migrate.Up)
}

// Down takes the database back to an earlier version; 0 removes everything, records included.
func (s *Schema) Down(ctx context.Context, to uint) error {
	v, err := s.Check()
	switch {
	case err != nil:
		return err
	case to > v:
		return fmt.Errorf("%w: %d > %d", ErrDownAboveCurrent, to, v)
	case to == v:
		return nil
	case to == 0:
		return s.run(ctx, "down", s.migrate.Down)
	}
	return s.run(ctx, "down", func() error { return s.migrate.Migrate(to) })
}

// run stops between two steps when the context ends.
func (s *Schema) run(ctx context.Context, direction string, f func() error) error {
	stop := context.AfterFunc(ctx, func() {
		select {
		case s.migrate.GracefulStop <- true:
		default:
		}
	})
	defer stop()
	if err := f(); err != nil && !errors.Is(err, migrate.ErrNoChange) {
		v, _, _ := s.Version()
		return fmt.Errorf("migrate %s, database left at version %d: %w", direction, v, err)
	}
	return ctx.Err()
}

// Repair mends a version that another tool left marked as halfway. If the step's file runs in one transaction, as ours do,
// PostgreSQL has taken back what the step did, so the version before it is the true one. It then goes up again; if that
// shows that the step had been done after all, the mark is put back and the error tells. Returns false when nothing was to
// be repaired.
func (s *Schema) Repair(ctx context.Context) (bool, error) {
	v, dirty, err := s.Version()
	if err != nil || !dirty {
		return false, err
	}
	if v > s.latest {
		return false, &NewerSchemaError{Database: v, Program: s.latest}
	}
	before := -1
	if p, err := s.source.Prev(v); err == nil {
		before = int(p)
	} else if !errors.Is(err, fs.ErrNotExist) {
		return false, fmt.Errorf("read migrations: %w", err)
	}
	if err := s.migrate.Force(before); err != nil {
		return false, fmt.Errorf("set schema version: %w", err)
	}
	if err := s.Up(ctx); err != nil {
		if now, _, e := s.Version(); e == nil && int(now) <= max(before, 0) {
			err = errors.Join(err, s.driver.SetVersion(int(v), true), s.driver.end(true))
		}
		return false, fmt.Errorf("repair of schema version %d: %w", v, err)
	}
	return true, nil
}

// Migrate brings the database to the latest version of the given files: OpenSchema, Up, Close.
func Migrate(ctx context.Context, dsn string, files fs.FS) (err error) {
	s, err := OpenSchema(ctx, dsn, files)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	return s.Up(ctx)
}
