package db

import (
	"context"
	"fmt"
)

// LastEntry is the number of the last journal entry of a program, zero where it has
// none: what was worked out from its record holds until it moves.
func (st *Store) LastEntry(ctx context.Context, programID string) (int64, error) {
	var n int64
	err := st.Pool.QueryRow(ctx, "select coalesce((select seq from journal where program_id = $1 order by seq desc limit 1), 0)", programID).Scan(&n)
	if err != nil {
		return 0, fmt.Errorf("last entry: %w", err)
	}
	return n, nil
}
