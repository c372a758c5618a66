package db

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/golang-migrate/migrate/v4/database"
	"github.com/jackc/pgx/v5"
)

// schemaDriver connects the migration library to PostgreSQL so that a step and its version number are one transaction.
// The library's own driver writes them apart, and a program killed in between leaves a schema nobody can judge.
//
// The library announces a step with SetVersion(v, true), runs it with Run and ends it with SetVersion(v, false): the
// transaction opens at the first, commits at the last, and rolls back when Run fails.
type schemaDriver struct {
	ctx  context.Context // the library's interface has no room for one
	conn *pgx.Conn
	tx   pgx.Tx
}

var _ database.Driver = (*schemaDriver)(nil)

const schemaLockKey = 0x656e6463 // any constant: it keeps two migrating programs apart

func openSchemaDriver(ctx context.Context, dsn string) (*schemaDriver, error) {
	cfg, err := pgx.ParseConfig(dsn)
	if err != nil {
		return nil, fmt.Errorf("database address: %w", err)
	}
	// Notices such as "already exists, skipping" are of no use to anyone here, and a step may take its time.
	cfg.RuntimeParams["client_min_messages"] = "warning"
	cfg.RuntimeParams["statement_timeout"] = "0"
	conn, err := pgx.ConnectConfig(ctx, cfg)
	if err != nil {
		return nil, fmt.Errorf("connect to the database: %w", err)
	}
	d := &schemaDriver{ctx: ctx, conn: conn}
	if err := d.prepare(); err != nil {
		_ = conn.Close(context.WithoutCancel(ctx))
		return nil, err
	}
	return d, nil
}

// prepare makes the version table. Two programs starting at once would trip over each other without the lock.
func (d *schemaDriver) prepare() (err error) {
	if err := d.Lock(); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, d.Unlock()) }()
	_, err = d.conn.Exec(d.ctx, `CREATE TABLE IF NOT EXISTS schema_migrations (version bigint PRIMARY KEY, dirty boolean NOT NULL)`)
	if err != nil {
		return fmt.Errorf("make version table: %w", err)
	}
	return nil
}

// Open is the library's way of connecting by URL, which is not used.
func (d *schemaDriver) Open(string) (database.Driver, error) {
	return nil, errors.New("open by address is not supported")
}

// Close ends the connection.
func (d *schemaDriver) Close() error { return d.conn.Close(context.WithoutCancel(d.ctx)) }

// Lock waits until no other program migrates this database.
func (d *schemaDriver) Lock() error {
	if _, err := d.conn.Exec(d.ctx, `SELECT pg_advisory_lock($1)`, schemaLockKey); err != nil {
		return fmt.Errorf("lock schema: %w", err)
	}
	return nil
}

// Unlock takes back an unfinished step, if there is one, and lets the next program in.
func (d *schemaDriver) Unlock() error {
	if err := d.end(false); err != nil {
		return err
	}
	if d.conn.IsClosed() {
		return nil // the lock went with the connection
	}
	if _, err := d.conn.Exec(d.ctx, `SELECT pg_advisory_unlock($1)`, schemaLockKey); err != nil {
		return fmt.Errorf("unlock schema: %w", err)
	}
	return nil
}

// Run executes one file inside the step's transaction.
func (d *schemaDriver) Run(migration io.Reader) error {
	text, err := io.ReadAll(migration)
	if err != nil {
		return fmt.Errorf("read migration: %w", err)
	}
	if d.tx == nil {
		return errors.New("migration outside a step")
	}
	if _, err := d.tx.Exec(d.ctx, string(text)); err != nil {
		return errors.Join(err, d.end(false))
	}
	return nil
}

// SetVersion opens a step when dirty, and otherwise writes the version and commits.
func (d *schemaDriver) SetVersion(version int, dirty bool) error {
	if d.tx == nil {
		tx, err := d.conn.Begin(d.ctx)
		if err != nil {
			return fmt.Errorf("begin step to version %d: %w", version, err)
		}
		d.tx = tx
	}
	_, err := d.tx.Exec(d.ctx, `DELETE FROM schema_migrations`)
	// The library's "no version" is -1. A dirty one is kept, so that the mark survives the first step's number too.
	if err == nil && (version >= 0 || dirty) {
		_, err = d.tx.Exec(d.ctx, `INSERT INTO schema_migrations (version, dirty) VALUES ($1, $2)`, version, dirty)
	}
	if err != nil {
		return errors.Join(fmt.Errorf("set schema version %d: %w", version, err), d.end(false))
	}
	if dirty {
		return nil
	}
	return d.end(true)
}

// end closes the open step, if any.
func (d *schemaDriver) end(commit bool) error {
	tx := d.tx
	if tx == nil {
		return nil
	}
	d.tx = nil
	if commit {
		if err := tx.Commit(d.ctx); err != nil {
			return fmt.Errorf("commit step: %w", err)
		}
		return nil
	}
	if err := tx.Rollback(context.WithoutCancel(d.ctx)); err != nil && !errors.Is(err, pgx.ErrTxClosed) && !d.conn.IsClosed() {
		return fmt.Errorf("roll back step: %w", err)
	}
	return nil
}

// Version reads the version; -1 means none.
func (d *schemaDriver) Version() (version int, dirty bool, err error) {
	err = d.conn.QueryRow(d.ctx, `SELECT version, dirty FROM schema_migrations LIMIT 1`).Scan(&version, &dirty)
	if errors.Is(err, pgx.ErrNoRows) {
		return database.NilVersion, false, nil
	}
	if err != nil {
		return 0, false, fmt.Errorf("read schema version: %w", err)
	}
	return version, dirty, nil
}

// Drop is never wanted: nothing in this program empties a database.
func (d *schemaDriver) Drop() error { return errors.New("dropping everything is not supported") }
