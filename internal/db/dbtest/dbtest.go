// Package dbtest gives every test a PostgreSQL database of its own.
//
// The first call in a test binary starts one short-lived server for that binary, in memory where there is room. Each test
// then gets a clone of a template that already has the whole schema, which takes some hundredths of a second, so tests run
// in parallel without seeing each other and may commit, lock and listen as they please. The server and its folder disappear
// with the process, however it ends.
//
// Where PostgreSQL is missing, tests fail and say what to install. They never skip: a skipped database test looks like a
// passed one.
package dbtest

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"endcast/internal/db"
	"endcast/internal/db/pglocal"
)

const template = "endcast_template"

var (
	shared   = sync.OnceValues(startCluster)
	sequence atomic.Int64
)

// New returns a pool on a fresh database with the latest schema and no rows. It is closed and dropped when the test ends.
func New(t testing.TB) *pgxpool.Pool {
	t.Helper()
	return open(t, DSN(t))
}

// NewEmpty returns a pool on a fresh database without any schema.
func NewEmpty(t testing.TB) *pgxpool.Pool {
	t.Helper()
	return open(t, EmptyDSN(t))
}

// DSN makes a fresh database with the latest schema and returns how to connect to it as its owner, who is no superuser.
// The address of a pool from New is pool.Config().ConnString().
func DSN(t testing.TB) string {
	t.Helper()
	return create(t, template)
}

// EmptyDSN makes a fresh database without any schema and returns how to connect to it.
func EmptyDSN(t testing.TB) string {
	t.Helper()
	return create(t, "template1")
}

// Install is the PostgreSQL installation the tests run on, for tests that call pg_dump or pg_restore.
func Install(t testing.TB) pglocal.Install {
	t.Helper()
	return started(t).server.Install()
}

func started(t testing.TB) *cluster {
	t.Helper()
	c, err := shared()
	if err != nil {
		t.Fatalf("test database: %v", err)
	}
	return c
}

func create(t testing.TB, from string) string {
	t.Helper()
	c := started(t)
	name := fmt.Sprintf("test_%d", sequence.Add(1))
	ctx, cancel := context.WithTimeout(context.WithoutCancel(t.Context()), time.Minute)
	defer cancel()
	if err := c.clone(ctx, name, from); err != nil {
		t.Fatalf("test database: %v", err)
	}
	t.Cleanup(func() { c.discard(name) })
	return c.server.DSNFor(pglocal.Role, name)
}

func open(t testing.TB, dsn string) *pgxpool.Pool {
	t.Helper()
	pool, err := db.Open(context.WithoutCancel(t.Context()), dsn)
	if err != nil {
		t.Fatalf("test database: %v", err)
	}
	t.Cleanup(func() {
		closed := make(chan struct{})
		go func() { pool.Close(); close(closed) }()
		select {
		case <-closed:
		case <-time.After(20 * time.Second):
			t.Errorf("test database: %d connections were not given back", pool.Stat().AcquiredConns())
		}
	})
	return pool
}
