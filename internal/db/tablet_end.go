package db

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// TabletOfEnd lists what tablets sent of one end and somebody should look at: kept
// aside, taken with a remark, or made by a clock that was wrong; the latest first.
func (st *Store) TabletOfEnd(ctx context.Context, endID string, limit int) ([]TabletLine, error) {
	rows, err := st.Pool.Query(ctx, `select `+tabletCols+` from tablet_entry
		where end_id = $1::uuid and (state <> 'stored' or differs <> '' or clock_marked) order by arrived_at desc limit $2`, endID, limit)
	if err != nil {
		return nil, fmt.Errorf("entries of tablets at an end: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByName[TabletLine])
}
