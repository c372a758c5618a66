package db

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/calc"
)

// refreshSize is how many ends one transaction of Refresh computes and locks.
const refreshSize = 50

// Refresh computes anew what is derived of every end that another version of the
// method computed last, or none: after an upgrade. Nothing of the record itself
// changes, so nothing is journaled, and an approval that stands on the method says of
// itself that it is out of date. Some ends at a time are locked, so that people can
// work meanwhile. It returns how many ends it computed and calls each after every
// transaction, unless it is nil.
func (st *Store) Refresh(ctx context.Context, each func(done int)) (int, error) {
	done := 0
	after := "00000000-0000-0000-0000-000000000000"
	for {
		n, last, err := st.refreshSome(ctx, after)
		if err != nil {
			return done, fmt.Errorf("refresh: %w", err)
		}
		if n == 0 {
			return done, nil
		}
		done, after = done+n, last
		if each != nil {
			each(done)
		}
	}
}

// refreshSome computes the next ends of one program after an identifier, and returns
// how many there were and the last.
func (st *Store) refreshSome(ctx context.Context, after string) (n int, last string, err error) {
	type ref struct{ End, Program string }
	rows, err := st.Pool.Query(ctx, `select e.id::text, e.program_id::text from girder_end e
		left join end_state s on s.end_id = e.id left join outlook o on o.end_id = e.id left join end_tally t on t.end_id = e.id
		where e.id > $1::uuid and (t.end_id is null or s.method_version is distinct from $2 or o.method_version is distinct from $2)
		order by e.id limit $3`, after, string(calc.MethodVersion), refreshSize)
	if err != nil {
		return 0, "", err
	}
	refs, err := pgx.CollectRows(rows, pgx.RowToStructByPos[ref])
	if err != nil || len(refs) == 0 {
		return 0, "", err
	}
	of := map[string][]string{}
	for _, r := range refs {
		of[r.Program] = append(of[r.Program], r.End)
	}
	for program, ids := range of {
		if err := st.refreshEnds(ctx, program, ids); err != nil {
			return 0, "", err
		}
	}
	return len(refs), refs[len(refs)-1].End, nil
}

func (st *Store) refreshEnds(ctx context.Context, program string, ids []string) error {
	return pgx.BeginFunc(ctx, st.Pool, func(tx pgx.Tx) error {
		// In the order of an edit: what ends share stays as it is until the commit.
		lock := &pgx.Batch{}
		lock.Queue("select 1 from program where id = $1 for key share", program)
		lock.Queue("select 1 from girder_end where id = any($1::text[]::uuid[]) order by id for no key update", ids)
		if err := tx.SendBatch(ctx, lock).Close(); err != nil {
			return err
		}
		before, err := loadScope(ctx, tx, program, ids)
		if err != nil {
			return err
		}
		now := before.Clone()
		if err := now.Recompute(); err != nil {
			return err
		}
		b := &pgx.Batch{}
		if err := diffDerived(b, before, now); err != nil {
			return err
		}
		b.Queue("select pg_advisory_xact_lock($1)", journalLock)
		queueTally(b, before, now)
		return tx.SendBatch(ctx, b).Close()
	})
}

// NeedRefresh is how many ends Refresh would compute.
func (st *Store) NeedRefresh(ctx context.Context) (int, error) {
	var n int
	err := st.Pool.QueryRow(ctx, `select count(*) from girder_end e left join end_state s on s.end_id = e.id left join outlook o on o.end_id = e.id
		left join end_tally t on t.end_id = e.id where t.end_id is null or s.method_version is distinct from $1 or o.method_version is distinct from $1`, string(calc.MethodVersion)).Scan(&n)
	if err != nil {
		return 0, fmt.Errorf("look for ends to compute: %w", err)
	}
	return n, nil
}
