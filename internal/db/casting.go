package db

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/fault"
)

// CastingPage returns one page of the pours of a program, the newest or the oldest
// first, with what belongs to them, and the number of all its pours. Page counts
// from 1.
func (st *Store) CastingPage(ctx context.Context, programID string, page, size int, oldest bool) (CastingList, int, error) {
	var ids []string
	order := "started_at desc, number desc"
	if oldest {
		order = "started_at, number"
	}
	total := 0
	b := &pgx.Batch{}
	b.Queue("select count(*) from pour where program_id = $1", programID).QueryRow(func(row pgx.Row) error { return row.Scan(&total) })
	b.Queue("select id::text from pour where program_id = $1 order by "+order+" limit $2 offset $3", programID, size, max(page-1, 0)*size).
		Query(func(rows pgx.Rows) (err error) {
			ids, err = pgx.CollectRows(rows, pgx.RowTo[string])
			return err
		})
	if err := st.Pool.SendBatch(ctx, b).Close(); err != nil {
		return CastingList{}, 0, fmt.Errorf("castings: %w", err)
	}
	list, err := st.castingsOf(ctx, ids, "pour_id = any($1::text[]::uuid[])", ids)
	return list, total, err
}

// Casting returns the pour of a number with what belongs to it.
func (st *Store) Casting(ctx context.Context, programID string, number int) (CastingList, error) {
	rows, err := st.Pool.Query(ctx, "select id::text from pour where program_id = $1 and number = $2", programID, number)
	if err != nil {
		return CastingList{}, fmt.Errorf("casting: %w", err)
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return CastingList{}, fmt.Errorf("casting: %w", err)
	}
	if len(ids) == 0 {
		return CastingList{}, fault.New(fault.NotFound, "there is no pour %d in this program", number)
	}
	return st.castingsOf(ctx, ids, "pour_id = any($1::text[]::uuid[])", ids)
}

// Laboratory returns the specimens of a program that wait to be broken and those
// broken since a moment, with their pours.
func (st *Store) Laboratory(ctx context.Context, programID string, brokenSince time.Time) (CastingList, error) {
	cond := "program_id = $1::uuid and (broken_at is null and lost_at is null or broken_at >= $2)"
	rows, err := st.Pool.Query(ctx, "select distinct pour_id::text from specimen where "+cond, programID, brokenSince)
	if err != nil {
		return CastingList{}, fmt.Errorf("laboratory: %w", err)
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return CastingList{}, fmt.Errorf("laboratory: %w", err)
	}
	return st.castingsOf(ctx, ids, cond, programID, brokenSince)
}

// castingsOf loads pours with their ends and batches, and the specimens that meet
// a condition.
func (st *Store) castingsOf(ctx context.Context, ids []string, cond string, args ...any) (CastingList, error) {
	out := CastingList{EndNames: map[string]string{}}
	if len(ids) == 0 {
		return out, nil
	}
	b := &pgx.Batch{}
	pours.queue(b, &out.Pours, "id = any($1::text[]::uuid[])", ids)
	batches.queue(b, &out.Batches, "pour_id = any($1::text[]::uuid[])", ids)
	pourEnds.queue(b, &out.PourEnds, "pour_id = any($1::text[]::uuid[])", ids)
	specimens.queue(b, &out.Specimens, cond, args...)
	batchEnds.queue(b, &out.BatchEnds, "batch_id in (select id from batch where pour_id = any($1::text[]::uuid[]))", ids)
	setReviews.queue(b, &out.SetReviews, "pour_id = any($1::text[]::uuid[])", ids)
	curingLogs.queue(b, &out.CuringLogs, "pour_id = any($1::text[]::uuid[])", ids)
	b.Queue("select distinct e.id::text, e.name from girder_end e join pour_end p on p.end_id = e.id where p.pour_id = any($1::text[]::uuid[])", ids).
		Query(func(rows pgx.Rows) error {
			var id, name string
			_, err := pgx.ForEachRow(rows, []any{&id, &name}, func() error {
				out.EndNames[id] = name
				return nil
			})
			return err
		})
	if err := st.Pool.SendBatch(ctx, b).Close(); err != nil {
		return out, fmt.Errorf("castings: %w", err)
	}
	return out, nil
}

// EndsOfSpecimens returns the ends that the pours of these marks served, each once
// and without a version: a break is a new observation and conflicts with nothing.
// Marks that no specimen has are passed over.
func (st *Store) EndsOfSpecimens(ctx context.Context, programID string, marks []string) ([]EndRef, error) {
	rows, err := st.Pool.Query(ctx, `select distinct pe.end_id::text, 0::bigint from specimen s join pour_end pe on pe.pour_id = s.pour_id
		where s.program_id = $1 and upper(s.mark) = any(select upper(trim(m)) from unnest($2::text[]) m) order by 1`, programID, marks)
	if err != nil {
		return nil, fmt.Errorf("specimens: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[EndRef])
}

// SpecimenMarks returns the marks of a program's specimens in order, those that
// wait to be broken or all of them.
func (st *Store) SpecimenMarks(ctx context.Context, programID string, waiting bool) ([]string, error) {
	rows, err := st.Pool.Query(ctx, "select mark from specimen where program_id = $1 and (broken_at is null and lost_at is null or not $2) order by mark", programID, waiting)
	if err != nil {
		return nil, fmt.Errorf("marks: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowTo[string])
}

// PourOfEntry returns the number of the pour that an entry recorded.
func (st *Store) PourOfEntry(ctx context.Context, entryID string) (int, error) {
	var raw []byte
	if err := st.Pool.QueryRow(ctx, "select body from journal where entry_id = $1", entryID).Scan(&raw); err != nil {
		return 0, fmt.Errorf("pour of entry: %w", err)
	}
	var body journalBody
	if err := json.Unmarshal(raw, &body); err != nil {
		return 0, fmt.Errorf("pour of entry: %w", err)
	}
	for _, row := range body.Rows {
		var p struct{ Number int }
		if row.Table == pours.name && json.Unmarshal(row.New, &p) == nil && p.Number > 0 {
			return p.Number, nil
		}
	}
	return 0, fault.New(fault.NotFound, "this entry recorded no pour")
}
