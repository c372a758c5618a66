package db

import (
	"context"
	"fmt"
)

// EndCount is the number of girder ends of a program.
func (st *Store) EndCount(ctx context.Context, programID string) (int, error) {
	var n int
	if err := st.Pool.QueryRow(ctx, "select count(*) from girder_end where program_id = $1", programID).Scan(&n); err != nil {
		return 0, fmt.Errorf("count ends: %w", err)
	}
	return n, nil
}
