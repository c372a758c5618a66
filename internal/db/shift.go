package db

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/repair"
)

// inHand are the windows that are not behind: what was chosen and confirmed for the others is history.
const inHand = "window_id in (select id from access_window where program_id = $1::uuid and state in ('planned', 'granted', 'shortened'))"

// queueShifts adds what windows are planned with. Choices and confirmations are those of windows in hand, promises those
// not settled and those of windows in hand.
func queueShifts(b *pgx.Batch, programID string, s *repair.Shifts) {
	windowKinds.queue(b, &s.Kinds, ofProgram, programID)
	crews.queue(b, &s.Crews, ofProgram, programID)
	stepEfforts.queue(b, &s.Efforts, ofProgram, programID)
	shiftStock.queue(b, &s.Stock, ofProgram, programID)
	confirmations.queue(b, &s.Confirmations, inHand, programID)
	windowChoices.queue(b, &s.Choices, "withdrawn_at is null and "+inHand, programID)
	promises.queue(b, &s.Promises, ofProgram+" and (state = 'promised' or "+inHand+")", programID)
	exclusions.queue(b, &s.Exclusions, ofProgram+" and withdrawn_at is null", programID)
}

func loadShifts(ctx context.Context, q querier, programID string, s *repair.Shifts) error {
	b := &pgx.Batch{}
	queueShifts(b, programID, s)
	if err := q.SendBatch(ctx, b).Close(); err != nil {
		return fmt.Errorf("load shifts: %w", err)
	}
	return nil
}

// Shifts reads what windows are planned with.
func (st *Store) Shifts(ctx context.Context, programID string) (repair.Shifts, error) {
	var s repair.Shifts
	return s, loadShifts(ctx, st.Pool, programID, &s)
}

// NightEnds are the open ends of a program that a window of the given kind can serve: those
// whose own access it is and those whose next step is one of codes; the least reserve
// first, at most so many, with how many there are.
func (st *Store) NightEnds(ctx context.Context, programID, kind string, codes []string, most int) (ids []string, total int, err error) {
	rows, err := st.Pool.Query(ctx, `select end_id::text, count(*) over () from end_state
		where program_id = $1::uuid and not closed and (access = $2 or step_code = any ($3))
		order by reserve, sort_key limit $4`, programID, kind, codes, most)
	if err != nil {
		return nil, 0, fmt.Errorf("ends of a night: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		var id string
		if err := rows.Scan(&id, &total); err != nil {
			return nil, 0, fmt.Errorf("ends of a night: %w", err)
		}
		ids = append(ids, id)
	}
	return ids, total, rows.Err()
}

func addShifts(add func([]rowChange, error), b *pgx.Batch, before, after repair.Shifts) {
	add(windowKinds.diff(b, before.Kinds, after.Kinds))
	add(crews.diff(b, before.Crews, after.Crews))
	add(stepEfforts.diff(b, before.Efforts, after.Efforts))
	add(shiftStock.diff(b, before.Stock, after.Stock))
	add(confirmations.diff(b, before.Confirmations, after.Confirmations))
	add(windowChoices.diff(b, before.Choices, after.Choices))
	add(promises.diff(b, before.Promises, after.Promises))
	add(exclusions.diff(b, before.Exclusions, after.Exclusions))
}

// WindowYield is one access window with the steps finished in it.
type WindowYield struct {
	repair.Window
	Steps int
}

// lag is how long after its end a window still takes in what was written up late, in hours.
const lag = 3

// WindowYields counts, for each window of a program, the steps worked in windows that were finished in it, at ends of
// its kind of access, from the records themselves: pages take the counts that edits keep (repair.Board), and this is
// what those are held to. One completion counts once, for the window that had begun last; a step done again after a
// reopening counts again. Outside counts, by kind, the steps that were finished outside every window.
func (st *Store) WindowYields(ctx context.Context, programID string) (list []WindowYield, outside map[string]int, err error) {
	var all []repair.Window
	b := &pgx.Batch{}
	windows.queue(b, &all, ofProgram, programID)
	count := map[string]int{}
	outside = map[string]int{}
	b.Queue(`select coalesce(w.id::text, ''), e.access, count(*) from step_record r
		join step s on s.id = r.step_id and s.window_kind <> '' and s.program_id = $1::uuid
		join girder_end e on e.id = r.end_id
		left join lateral (select id from access_window w where w.program_id = $1::uuid
			and w.kind = case s.window_kind when 'own' then e.access else s.window_kind end and w.state <> 'lost'
			and w.starts_at <= r.captured_at and r.captured_at <= w.ends_at + make_interval(hours => $2) order by w.starts_at desc limit 1) w on true
		where r.kind = 'completed' group by 1, 2`, programID, lag).Query(func(rows pgx.Rows) error {
		var id, access string
		var n int
		_, err := pgx.ForEachRow(rows, []any{&id, &access, &n}, func() error {
			if id == "" {
				outside[access] += n
			} else {
				count[id] += n
			}
			return nil
		})
		return err
	})
	if err := st.Pool.SendBatch(ctx, b).Close(); err != nil {
		return nil, nil, fmt.Errorf("count what windows yielded: %w", err)
	}
	for _, w := range all {
		list = append(list, WindowYield{w, count[w.ID]})
	}
	return list, outside, nil
}

// Remaining counts, by the kind of window, the steps that open ends still have to be worked in windows, with the ends
// that they belong to, from the ends themselves as WindowYields does.
func (st *Store) Remaining(ctx context.Context, programID string) (steps, ends map[string]int, err error) {
	rows, err := st.Pool.Query(ctx, `select case s.window_kind when 'own' then g.access else s.window_kind end, sum(g.n), sum(g.n) filter (where s.first) from (
			select access, step_ord, chosen, count(*) as n from (select x.access, x.step_ord, e.chosen_steps as chosen from end_state x join girder_end e on e.id = x.end_id
				where x.program_id = $1::uuid and not x.closed) o group by 1, 2, 3) g
		join lateral (select s.*, row_number() over (order by s.ord) = 1 as first from step s where s.program_id = $1::uuid and not s.retired and s.window_kind <> '' and s.ord >= g.step_ord
			and (s.applies_to_all or s.code = any(g.chosen))) s on true group by 1`, programID)
	if err != nil {
		return nil, nil, fmt.Errorf("count remaining steps: %w", err)
	}
	steps, ends = map[string]int{}, map[string]int{}
	var kind string
	var n, of *int
	_, err = pgx.ForEachRow(rows, []any{&kind, &n, &of}, func() error {
		if n != nil {
			steps[kind] = *n
		}
		if of != nil {
			ends[kind] = *of
		}
		return nil
	})
	if err != nil {
		return nil, nil, fmt.Errorf("count remaining steps: %w", err)
	}
	return steps, ends, nil
}
