package db

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/repair"
)

// queueTally adds what the ends changed to the counts of their program. Whoever
// calls it holds the lock of the journal until the commit: a count is a row that
// every edit of a program may write.
func queueTally(b *pgx.Batch, before, after *repair.Scope) {
	delta := map[string]int64{}
	old := make(map[string]*repair.Record, len(before.Ends))
	for _, r := range before.Ends {
		old[r.End.ID] = r
	}
	for _, r := range after.Ends {
		var was, is repair.Marks
		if o := old[r.End.ID]; o != nil && len(o.Tally) == 1 {
			was = o.Tally[0].Marks
		}
		if len(r.Tally) == 1 {
			is = r.Tally[0].Marks
		}
		if maps.Equal(was, is) {
			continue
		}
		for m, n := range was {
			delta[m] -= n
		}
		for m, n := range is {
			delta[m] += n
		}
	}
	var marks, less []string
	var counts []int64
	for _, m := range slices.Sorted(maps.Keys(delta)) {
		if n := delta[m]; n != 0 {
			marks, counts = append(marks, m), append(counts, n)
			if n < 0 {
				less = append(less, m)
			}
		}
	}
	if len(marks) == 0 {
		return
	}
	b.Queue(`insert into program_tally (program_id, mark, n) select $1::uuid, m, n from unnest($2::text[], $3::bigint[]) as x(m, n)
		on conflict (program_id, mark) do update set n = program_tally.n + excluded.n`, after.Program.ID, marks, counts)
	if len(less) > 0 {
		b.Queue("delete from program_tally where program_id = $1::uuid and mark = any($2::text[]) and n = 0", after.Program.ID, less)
	}
}

// rezone lets an edit of the title facts concern every end when it moves the program
// to another time zone: days are counted in it.
func rezone(ctx context.Context, tx pgx.Tx, e *Entry, p repair.EditProgram) error {
	var zone string
	err := tx.QueryRow(ctx, "select timezone from program where id = $1::uuid for update", e.ProgramID).Scan(&zone)
	if err != nil && !errors.Is(err, pgx.ErrNoRows) {
		return fmt.Errorf("time zone: %w", err)
	}
	e.AllEnds = e.AllEnds || err == nil && zone != p.Program.Timezone
	return nil
}

// Marks reads the counts of a program.
func (st *Store) Marks(ctx context.Context, programID string) (repair.Marks, error) {
	rows, err := st.Pool.Query(ctx, "select mark, n from program_tally where program_id = $1::uuid", programID)
	if err != nil {
		return nil, fmt.Errorf("counts: %w", err)
	}
	out := repair.Marks{}
	var m string
	var n int64
	if _, err := pgx.ForEachRow(rows, []any{&m, &n}, func() error { out[m] = n; return nil }); err != nil {
		return nil, fmt.Errorf("counts: %w", err)
	}
	return out, nil
}

// counts compares the stored counts of each program with the sums over its ends.
func (v *Verified) counts(ctx context.Context, tx pgx.Tx) error {
	rows, err := tx.Query(ctx, `with summed as (select t.program_id, m.key as mark, sum(m.value::bigint) as n from end_tally t, jsonb_each_text(t.marks) m group by 1, 2)
		select coalesce(s.program_id, p.program_id)::text, coalesce(s.mark, p.mark), coalesce(s.n, 0)::bigint, coalesce(p.n, 0)
		from summed s full join program_tally p on p.program_id = s.program_id and p.mark = s.mark where s.n is distinct from p.n order by 1, 2 limit $1`, mostDifferences)
	if err != nil {
		return fmt.Errorf("verify counts: %w", err)
	}
	var program, mark string
	var is, stored int64
	_, err = pgx.ForEachRow(rows, []any{&program, &mark, &is, &stored}, func() error {
		v.say("counts of program "+program, "%s is stored as %d, its ends add up to %d", mark, stored, is)
		return nil
	})
	if err != nil {
		return fmt.Errorf("verify counts: %w", err)
	}
	return nil
}
