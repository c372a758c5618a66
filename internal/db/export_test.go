package db

import (
	"context"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/demo"
	"endcast/internal/domain/repair"
)

// LoadDemoWatched loads the demonstration and looks at the database after each step of
// its story.
func (st *Store) LoadDemoWatched(ctx context.Context, hash func(string) (string, error), look func(pgx.Tx, demo.Step) error) error {
	return st.loadDemo(ctx, hash, look)
}

// ScopeIn reads ends within a transaction.
func ScopeIn(ctx context.Context, tx pgx.Tx, programID string, ids ...string) (*repair.Scope, error) {
	return loadScope(ctx, tx, programID, ids)
}
