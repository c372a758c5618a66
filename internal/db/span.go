package db

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
)

// Span loads the program with every end of one span, by the span's number.
func (st *Store) Span(ctx context.Context, programID string, number int) (*repair.Scope, repair.Span, error) {
	none := repair.Span{}
	rows, err := st.Pool.Query(ctx, "select e.id from girder_end e join span s on s.id = e.span_id where s.program_id = $1 and s.number = $2", programID, number)
	if err != nil {
		return nil, none, fmt.Errorf("span: %w", err)
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, none, fmt.Errorf("span: %w", err)
	}
	sc, err := loadScope(ctx, st.Pool, programID, ids)
	if err != nil {
		return nil, none, err
	}
	for _, sp := range sc.Spans {
		if sp.Number == number {
			return sc, sp, nil
		}
	}
	return nil, none, fault.New(fault.NotFound, "the program has no such span")
}
