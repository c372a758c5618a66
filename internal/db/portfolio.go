package db

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/repair"
)

// Outline is a program without its ends: what it is, its plan, and its counts.
type Outline struct {
	// Frame holds the program, its steps, windows and settings, and no more.
	Frame *repair.Scope
	// Shifts holds kinds of window and what is left out of the forecast, and no more.
	Shifts repair.Shifts
	Marks  repair.Marks
	LastAt time.Time // of the last entry; zero without any
	LastBy string
	Last   string // kind of the last entry
}

// Outlines reads the outlines of programs, in one round trip however many there are,
// and no row of an end. They come in the order of the identifiers; one that is not there
// is left out.
func (st *Store) Outlines(ctx context.Context, ids []string) ([]Outline, error) {
	if len(ids) == 0 {
		return nil, nil
	}
	const theirs = "program_id = any($1::text[]::uuid[])"
	var progs []repair.Program
	var set []repair.BasisSetting
	var stepRows []repair.StepRow
	var wins []repair.Window
	var kinds []repair.WindowKind
	var out []repair.WindowExclusion
	of := map[string]*Outline{}
	b := &pgx.Batch{}
	programs.queue(b, &progs, "id = any($1::text[]::uuid[])", ids)
	settings.queue(b, &set, theirs, ids)
	steps.queue(b, &stepRows, theirs, ids)
	windows.queue(b, &wins, theirs, ids)
	windowKinds.queue(b, &kinds, theirs, ids)
	exclusions.queue(b, &out, theirs+" and withdrawn_at is null", ids)
	b.Queue("select program_id::text, mark, n from program_tally where "+theirs, ids).Query(func(rows pgx.Rows) error {
		for _, p := range progs {
			of[p.ID] = &Outline{Frame: &repair.Scope{Program: p}, Marks: repair.Marks{}}
		}
		var id, mark string
		var n int64
		_, err := pgx.ForEachRow(rows, []any{&id, &mark, &n}, func() error {
			if x := of[id]; x != nil {
				x.Marks[mark] = n
			}
			return nil
		})
		return err
	})
	b.Queue(`select p.id, j.at, j.actor, j.kind from unnest($1::text[]) as p(id)
		cross join lateral (select at, actor, kind from journal where program_id = p.id::uuid order by seq desc limit 1) j`, ids).Query(func(rows pgx.Rows) error {
		var id, by, kind string
		var at time.Time
		_, err := pgx.ForEachRow(rows, []any{&id, &at, &by, &kind}, func() error {
			if x := of[id]; x != nil {
				x.LastAt, x.LastBy, x.Last = at, by, kind
			}
			return nil
		})
		return err
	})
	if err := st.Pool.SendBatch(ctx, b).Close(); err != nil {
		return nil, fmt.Errorf("outlines of programs: %w", err)
	}
	for _, x := range set {
		of[x.ProgramID].Frame.Settings = append(of[x.ProgramID].Frame.Settings, x)
	}
	for _, x := range stepRows {
		of[x.ProgramID].Frame.Steps = append(of[x.ProgramID].Frame.Steps, x)
	}
	for _, x := range wins {
		of[x.ProgramID].Frame.Windows = append(of[x.ProgramID].Frame.Windows, x)
	}
	for _, x := range kinds {
		of[x.ProgramID].Shifts.Kinds = append(of[x.ProgramID].Shifts.Kinds, x)
	}
	for _, x := range out {
		of[x.ProgramID].Shifts.Exclusions = append(of[x.ProgramID].Shifts.Exclusions, x)
	}
	list := make([]Outline, 0, len(ids))
	for _, id := range ids {
		if x := of[id]; x != nil {
			list = append(list, *x)
			delete(of, id) // asked for twice, told once
		}
	}
	return list, nil
}
