package db

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// ApprovedDesign is the revision that is approved at an end.
type ApprovedDesign struct {
	EndID    string `db:"end_id"`
	Revision int    `db:"revision"`
	State    string `db:"state"`
}

// ApprovedDesigns are the highest approved revisions of a program, by the identifier of
// their end; an end without one is not among them.
func (st *Store) ApprovedDesigns(ctx context.Context, programID string) (map[string]ApprovedDesign, error) {
	rows, err := st.Pool.Query(ctx, `select distinct on (d.end_id) d.end_id::text, d.revision, d.state from design d join girder_end g on g.id = d.end_id
		where g.program_id = $1::uuid and d.state in ('approved', 'approved_as_noted') order by d.end_id, d.revision desc`, programID)
	if err != nil {
		return nil, fmt.Errorf("approved designs: %w", err)
	}
	list, err := pgx.CollectRows(rows, pgx.RowToStructByName[ApprovedDesign])
	if err != nil {
		return nil, fmt.Errorf("approved designs: %w", err)
	}
	out := make(map[string]ApprovedDesign, len(list))
	for _, d := range list {
		out[d.EndID] = d
	}
	return out, nil
}
