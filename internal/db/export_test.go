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

// WriteSamples stores the rows that fill gives to add, as an import does.
func WriteSamples(ctx context.Context, to sampleStore, id string, channels int, fill func(add func(t int64, values []float64) error) error) error {
	w, err := newSampleWriter(to, id, channels, 100)
	if err != nil {
		return err
	}
	first, last := int64(-1), int64(0)
	if err := fill(func(t int64, v []float64) error {
		if first < 0 {
			first = t
		}
		last = t
		return w.add(ctx, t, v)
	}); err != nil {
		return err
	}
	return w.end(ctx, first, last)
}

// StoreBlocksAtOnce makes readings of strain store their blocks, with a mark, every so
// many rows of blocks.
func (st *Store) StoreBlocksAtOnce(n int) { st.atOnce = n }
