package db

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
)

// StrengthList is the strength tests of a program in the order of casting, with the
// numbers of their castings by identifier.
type StrengthList struct {
	Tests []repair.StrengthTest
	Pours map[string]int
}

// Strengths returns the strength tests of a program.
func (st *Store) Strengths(ctx context.Context, programID string) (StrengthList, error) {
	out := StrengthList{Pours: map[string]int{}}
	var err error
	if out.Tests, err = testsOf(ctx, st.Pool, programID); err != nil {
		return out, err
	}
	rows, err := st.Pool.Query(ctx, "select id::text, number from pour where program_id = $1 and id in (select pour_id from strength_test where program_id = $1)", programID)
	if err != nil {
		return out, fmt.Errorf("strengths: %w", err)
	}
	var id string
	var number int
	if _, err := pgx.ForEachRow(rows, []any{&id, &number}, func() error {
		out.Pours[id] = number
		return nil
	}); err != nil {
		return out, fmt.Errorf("strengths: %w", err)
	}
	return out, nil
}

// CastingOfSpecimen returns the casting of the specimen with a mark, with all its
// specimens.
func (st *Store) CastingOfSpecimen(ctx context.Context, programID, mark string) (CastingList, error) {
	rows, err := st.Pool.Query(ctx, "select pour_id::text from specimen where program_id = $1 and upper(mark) = upper(trim($2))", programID, mark)
	if err != nil {
		return CastingList{}, fmt.Errorf("specimen: %w", err)
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return CastingList{}, fmt.Errorf("specimen: %w", err)
	}
	if len(ids) == 0 {
		return CastingList{}, fault.New(fault.NotFound, "no specimen of this program has the mark %.20s", mark)
	}
	return st.castingsOf(ctx, ids, "pour_id = any($1::text[]::uuid[])", ids)
}
