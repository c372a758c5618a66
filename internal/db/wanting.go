package db

import (
	"context"
	"fmt"
	"reflect"
	"slices"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/repair"
)

// widen adds to an entry the ends that its change wants beyond those it was entered
// for: every end that the castings named served and, for a change that wants tests,
// those of the castings whose tests stand beside theirs in the rule of acceptance. Entries
// that want tests wait for each other, so that none judges the rule without the
// other's test.
func widen(ctx context.Context, tx pgx.Tx, e *Entry, w repair.Want) error {
	if len(w.Marks) == 0 && len(w.Pours) == 0 {
		return nil
	}
	if w.Tests {
		if err := lockTests(ctx, tx, e.ProgramID); err != nil {
			return err
		}
	}
	var own []repair.Pour
	b := &pgx.Batch{}
	pours.queue(b, &own, `program_id = $1::uuid and (number = any($3::int[]) or
		id in (select pour_id from specimen where program_id = $1::uuid and upper(mark) = any(select upper(trim(m)) from unnest($2::text[]) m)))`,
		e.ProgramID, nonNil(w.Marks), nonNil(w.Pours))
	if err := tx.SendBatch(ctx, b).Close(); err != nil {
		return fmt.Errorf("widen: %w", err)
	}
	var ids []string
	for _, p := range own {
		ids = append(ids, p.ID)
	}
	served, err := endsOf(ctx, tx, ids)
	if err != nil {
		return err
	}
	e.add(served)
	if !w.Tests {
		return nil
	}
	tests, err := testsOf(ctx, tx, e.ProgramID)
	if err != nil {
		return err
	}
	rule := &repair.Scope{}
	b = &pgx.Batch{}
	settings.queue(b, &rule.Settings, ofProgram, e.ProgramID)
	if err := tx.SendBatch(ctx, b).Close(); err != nil {
		return fmt.Errorf("widen: %w", err)
	}
	served, err = endsOf(ctx, tx, repair.BesideInOrder(tests, own, rule.Basis()))
	if err != nil {
		return err
	}
	e.beside = e.add(served)
	return nil
}

// add adds ends that an entry does not name, at whatever version, and returns them.
func (e *Entry) add(ids []string) map[string]bool {
	added := map[string]bool{}
	for _, id := range ids {
		if !slices.ContainsFunc(e.Ends, func(r EndRef) bool { return r.ID == id }) {
			e.Ends = append(slices.Clip(e.Ends), EndRef{ID: id})
			added[id] = true
		}
	}
	return added
}

// untouched reports whether an end came along for the rule of acceptance alone and nothing
// was raised at it: it keeps its version, and the entry is no part of its history.
func (e *Entry) untouched(before *repair.Scope, after *repair.Record) bool {
	if !e.beside[after.End.ID] {
		return false
	}
	for _, r := range before.Ends {
		if r.End.ID == after.End.ID {
			return reflect.DeepEqual(r.Nonconformances, after.Nonconformances)
		}
	}
	return false
}

func lockTests(ctx context.Context, tx pgx.Tx, programID string) error {
	if _, err := tx.Exec(ctx, "select pg_advisory_xact_lock(hashtextextended('tests ' || $1::text, 0))", programID); err != nil {
		return fmt.Errorf("widen: %w", err)
	}
	return nil
}

// endsOf returns the ends that castings served, in order.
func endsOf(ctx context.Context, q querier, pourIDs []string) ([]string, error) {
	rows, err := q.Query(ctx, "select distinct end_id::text from pour_end where pour_id = any($1::text[]::uuid[]) order by 1", nonNil(pourIDs))
	if err != nil {
		return nil, fmt.Errorf("ends of castings: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowTo[string])
}

// testsOf returns the strength tests of a program in the order of casting.
func testsOf(ctx context.Context, q querier, programID string) ([]repair.StrengthTest, error) {
	var out []repair.StrengthTest
	b := &pgx.Batch{}
	strengthTests.queue(b, &out, ofProgram, programID)
	if err := q.SendBatch(ctx, b).Close(); err != nil {
		return nil, fmt.Errorf("tests: %w", err)
	}
	repair.OrderTests(out)
	return out, nil
}

// loadWanted adds to a scope what its change reads beyond its ends.
func loadWanted(ctx context.Context, tx pgx.Tx, s *repair.Scope, w repair.Want) error {
	if w.Tests {
		var err error
		if s.Tests, err = testsOf(ctx, tx, s.Program.ID); err != nil {
			return err
		}
	}
	if w.Shifts {
		if err := loadShifts(ctx, tx, s.Program.ID, &s.Shifts); err != nil {
			return err
		}
	}
	if w.HandLog != "" {
		rows, err := tx.Query(ctx, "select r.log_id::text, r.at, r.temp_c from curing_reading r join curing_log l on l.id = r.log_id where r.log_id::text = $1 and l.kind = 'hand' order by r.at", w.HandLog)
		if err != nil {
			return fmt.Errorf("hand readings: %w", err)
		}
		if s.HandReadings, err = pgx.CollectRows(rows, pgx.RowToStructByPos[repair.CuringReading]); err != nil {
			return fmt.Errorf("hand readings: %w", err)
		}
	}
	return loadPapers(ctx, tx, s, w)
}

func nonNil[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
