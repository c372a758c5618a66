package db

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/repair"
)

// CastingFacts are what pours still need beyond their own rows: the state of the ends
// that they filled, the last decision at each gate, what is open, and their strength
// tests.
type CastingFacts struct {
	Closed map[string]bool // ends, by ID, with every step done
	Undo   map[string]bool // ends that wait for a gate to be decided, by what is stored of them
	Gates  map[[2]string]GateLast
	Open   map[string][]int // numbers of open nonconformances, by end ID
	Tests  map[string][]repair.StrengthTest
}

// GateLast is the last decision at a gate of an end.
type GateLast struct {
	Decision string
	At       time.Time
}

// CastingFacts reads what the pours of a list still need, in one round trip however
// many they are.
func (st *Store) CastingFacts(ctx context.Context, list CastingList) (CastingFacts, error) {
	out := CastingFacts{Closed: map[string]bool{}, Undo: map[string]bool{}, Gates: map[[2]string]GateLast{}, Open: map[string][]int{}, Tests: map[string][]repair.StrengthTest{}}
	var ends, ids []string
	for id := range list.EndNames {
		ends = append(ends, id)
	}
	for _, p := range list.Pours {
		ids = append(ids, p.ID)
	}
	if len(ids) == 0 {
		return out, nil
	}
	b := &pgx.Batch{}
	b.Queue("select end_id::text, closed, reason = 'gate_undecided' from end_state where end_id = any($1::text[]::uuid[])", nonNil(ends)).Query(func(rows pgx.Rows) error {
		var id string
		var closed, undecided bool
		_, err := pgx.ForEachRow(rows, []any{&id, &closed, &undecided}, func() error {
			out.Closed[id], out.Undo[id] = closed, undecided
			return nil
		})
		return err
	})
	b.Queue("select distinct on (end_id, gate) end_id::text, gate, decision, at from gate_decision where end_id = any($1::text[]::uuid[]) order by end_id, gate, at desc", nonNil(ends)).Query(func(rows pgx.Rows) error {
		var id, gate string
		var last GateLast
		_, err := pgx.ForEachRow(rows, []any{&id, &gate, &last.Decision, &last.At}, func() error {
			out.Gates[[2]string{id, gate}] = last
			return nil
		})
		return err
	})
	b.Queue("select end_id::text, number from nonconformance where end_id = any($1::text[]::uuid[]) and closed_at is null order by number", nonNil(ends)).Query(func(rows pgx.Rows) error {
		var id string
		var number int
		_, err := pgx.ForEachRow(rows, []any{&id, &number}, func() error {
			out.Open[id] = append(out.Open[id], number)
			return nil
		})
		return err
	})
	var tests []repair.StrengthTest
	strengthTests.queue(b, &tests, "pour_id = any($1::text[]::uuid[])", ids)
	if err := st.Pool.SendBatch(ctx, b).Close(); err != nil {
		return out, fmt.Errorf("what castings need: %w", err)
	}
	repair.OrderTests(tests)
	for _, t := range tests {
		out.Tests[t.PourID] = append(out.Tests[t.PourID], t)
	}
	return out, nil
}

// unfinished is true of a pour that may still need something: it is open, an end that
// it filled is not closed or has something open, a specimen waits, or a strength test
// does not count or falls short. What it needs is for the caller to say.
const unfinished = `(p.open
	or exists (select 1 from pour_end pe join end_state s on s.end_id = pe.end_id where pe.pour_id = p.id and (not s.closed or s.open_ncr > 0))
	or exists (select 1 from specimen s where s.pour_id = p.id and s.broken_at is null and s.lost_at is null and s.purpose <> 'spare')
	or exists (select 1 from strength_test t where t.pour_id = p.id and (t.low <> '' or t.state <> 'sound')))`

// UnfinishedCastings returns the pours of a program that may still need something,
// the newest first, at most as many as given, and whether there are more.
func (st *Store) UnfinishedCastings(ctx context.Context, programID string, most int) (CastingList, bool, error) {
	rows, err := st.Pool.Query(ctx, "select p.id::text from pour p where p.program_id = $1 and "+unfinished+" order by p.started_at desc, p.number desc limit $2", programID, most+1)
	if err != nil {
		return CastingList{}, false, fmt.Errorf("unfinished castings: %w", err)
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return CastingList{}, false, fmt.Errorf("unfinished castings: %w", err)
	}
	more := len(ids) > most
	ids = ids[:min(len(ids), most)]
	list, err := st.castingsOf(ctx, ids, "pour_id = any($1::text[]::uuid[])", ids)
	return list, more, err
}
