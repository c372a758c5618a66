// Package db is the only room that speaks SQL. It turns rows into values of the
// domain and back, and driver errors into faults.
package db

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
)

// Limits of the pool and of each connection. They bound what one slow or stuck
// statement can hold up; they are not tuning for speed.
const (
	maxConns         = 10
	connLifetime     = time.Hour
	connJitter       = 6 * time.Minute
	statementTimeout = "30s"
	lockTimeout      = "10s"
	idleInTxTimeout  = "60s"
)

// Open connects to a PostgreSQL database and returns a pool of connections that
// work in UTC and give up on statements, locks and idle transactions that last too
// long. It returns an error if the address cannot be read or nothing answers there.
func Open(ctx context.Context, dsn string) (*pgxpool.Pool, error) {
	cfg, err := pgxpool.ParseConfig(dsn)
	if err != nil {
		return nil, fmt.Errorf("database address: %w", err)
	}
	cfg.MaxConns = maxConns
	cfg.MaxConnLifetime = connLifetime
	cfg.MaxConnLifetimeJitter = connJitter
	params := cfg.ConnConfig.RuntimeParams
	params["timezone"] = "UTC"
	params["statement_timeout"] = statementTimeout
	params["lock_timeout"] = lockTimeout
	params["idle_in_transaction_session_timeout"] = idleInTxTimeout
	if _, ok := params["application_name"]; !ok {
		params["application_name"] = "endcast"
	}
	cfg.AfterConnect = inUTC
	pool, err := pgxpool.NewWithConfig(ctx, cfg)
	if err != nil {
		return nil, fmt.Errorf("open database: %w", err)
	}
	if err := pool.Ping(ctx); err != nil {
		pool.Close()
		return nil, fmt.Errorf("reach database: %w", err)
	}
	return pool, nil
}
