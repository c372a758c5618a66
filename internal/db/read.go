package db

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
)

// Program returns a program by its code or its identifier.
func (st *Store) Program(ctx context.Context, key string) (repair.Program, error) {
	rows, err := st.Pool.Query(ctx, programs.selectWhere("code = $1 or id::text = $1"), key)
	if err != nil {
		return repair.Program{}, fmt.Errorf("program: %w", err)
	}
	p, err := pgx.CollectOneRow(rows, pgx.RowToStructByName[repair.Program])
	if errors.Is(err, pgx.ErrNoRows) {
		return p, fault.New(fault.NotFound, "there is no such program")
	}
	return p, err
}

// Programs returns the programs of the given identifiers, or all for nil.
func (st *Store) Programs(ctx context.Context, ids []string) ([]repair.Program, error) {
	cond := "$1::text[] is null or id = any($1::text[]::uuid[])"
	rows, err := st.Pool.Query(ctx, strings.Replace(programs.selectWhere(cond), "order by id", "order by name", 1), ids)
	if err != nil {
		return nil, fmt.Errorf("programs: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByName[repair.Program])
}

// Frame loads the program without its ends: settings, sequence, supports, spans,
// sections and windows.
func (st *Store) Frame(ctx context.Context, programID string) (*repair.Scope, error) {
	return loadScope(ctx, st.Pool, programID, nil)
}

// End loads one end, by name or identifier, with everything known of it.
func (st *Store) End(ctx context.Context, programID, name string) (*repair.Scope, error) {
	var id string
	err := st.Pool.QueryRow(ctx, "select id from girder_end where program_id = $1 and (name = upper($2) or id::text = $2)", programID, name).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, fault.New(fault.NotFound, "there is no girder end %s in this program", short(name))
	}
	if err != nil {
		return nil, fmt.Errorf("end: %w", err)
	}
	return loadScope(ctx, st.Pool, programID, []string{id})
}

// Ends loads several ends by identifier.
func (st *Store) Ends(ctx context.Context, programID string, ids []string) (*repair.Scope, error) {
	return loadScope(ctx, st.Pool, programID, ids)
}

// Everything loads a program with all its ends, for exports of one bridge.
func (st *Store) Everything(ctx context.Context, programID string) (*repair.Scope, error) {
	rows, err := st.Pool.Query(ctx, "select id from girder_end where program_id = $1", programID)
	if err != nil {
		return nil, fmt.Errorf("ends: %w", err)
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, fmt.Errorf("ends: %w", err)
	}
	return loadScope(ctx, st.Pool, programID, ids)
}

func short(s string) string {
	if len(s) > 40 {
		return s[:40] + "…"
	}
	return s
}

// ListFilter narrows a list of ends. Empty fields do not narrow.
type ListFilter struct {
	Query     string // part of the name, support or section
	Step      string // code of the step that is next
	Track     string
	Reason    string
	Support   string
	Access    string
	Span      int
	Design    string // state of the latest revision
	Open      bool   // not closed
	Closed    bool
	OutOfDate bool
	Short     bool // capacity below demand
	NCR       bool // with an open nonconformance
	// Mark narrows to the ends that add to a count of the program (repair.Marks).
	Mark string
}

// listOrders are the orders a list may be asked for; each is backed by an index
// or sorts one program's rows.
var listOrders = map[string]string{
	"":         "sort_key",
	"name":     "sort_key",
	"step":     "step_ord, sort_key",
	"oldest":   "closed, since nulls last, sort_key",
	"ratio":    "(demand_n / nullif(capacity_n, 0)) desc nulls last, sort_key",
	"loss":     "loss_max desc nulls last, sort_key",
	"capacity": "capacity_n nulls last, sort_key",
	"support":  "support_code, sort_key",
	"blocked":  "track, reason, sort_key",
	"rating":   `coalesce(rating_least, 'infinity'), name collate "C"`,
	"fall":     `coalesce(fall_early, 'infinity'), name collate "C"`,
	"chance":   `(-coalesce(chance, -1)), name collate "C"`,
}

// EndList is one page of ends with the number of all that the filter meets.
type EndList struct {
	Rows  []repair.State
	Total int
}

// where is the condition of the filter on end_state, with its arguments.
func (f ListFilter) where(programID string) (string, []any) {
	cond := []string{"program_id = $1::uuid"}
	args := []any{programID}
	add := func(c string, v any) {
		args = append(args, v)
		cond = append(cond, strings.ReplaceAll(c, "?", fmt.Sprintf("$%d", len(args))))
	}
	if q := strings.TrimSpace(f.Query); q != "" {
		like := strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`).Replace(strings.ToUpper(q))
		add("(upper(name) like ? or upper(support_code) like ? or upper(section_name) like ?)", like+"%")
	}
	for _, c := range []struct{ col, v string }{{"step_code", f.Step}, {"track", f.Track}, {"reason", f.Reason}, {"support_code", f.Support}, {"access", f.Access}, {"design_state", f.Design}} {
		if c.v != "" {
			add(c.col+" = ?", c.v)
		}
	}
	if f.Span > 0 {
		add("sort_key like ? || '%'", fmt.Sprintf("%03d", f.Span))
	}
	if f.Open {
		cond = append(cond, "not closed")
	}
	if f.Closed {
		cond = append(cond, "closed")
	}
	if f.OutOfDate {
		cond = append(cond, "out_of_date")
	}
	if f.Short {
		cond = append(cond, "capacity_n < demand_n")
	}
	if f.NCR {
		cond = append(cond, "open_ncr > 0")
	}
	if f.Mark != "" {
		add("exists (select from end_tally t where t.end_id = end_state.end_id and jsonb_exists(t.marks, ?))", f.Mark)
	}
	return strings.Join(cond, " and "), args
}

// ListEnds returns one page of the ends of a program. Page counts from 1. An
// unknown order is the order by name.
func (st *Store) ListEnds(ctx context.Context, programID string, f ListFilter, order string, page, size int) (EndList, error) {
	where, args := f.where(programID)
	by, ok := listOrders[order]
	if !ok {
		by = "sort_key"
	}
	var out EndList
	b := &pgx.Batch{}
	b.Queue("select count(*) from end_state where "+where, args...).QueryRow(func(row pgx.Row) error { return row.Scan(&out.Total) })
	sql := fmt.Sprintf("select %s from end_state where %s order by %s limit %d offset %d", strings.Join(states.cols, ", "), where, by, size, max(page-1, 0)*size)
	b.Queue(sql, args...).Query(func(rows pgx.Rows) (err error) {
		out.Rows, err = pgx.CollectRows(rows, pgx.RowToStructByName[repair.State])
		return err
	})
	if err := st.Pool.SendBatch(ctx, b).Close(); err != nil {
		return out, fmt.Errorf("list ends: %w", err)
	}
	return out, nil
}

// Tally is a number of ends that share something, with the oldest of them.
type Tally struct {
	Ord    int
	Key    string
	Name   string
	Track  string
	Actor  string
	Count  int
	Oldest *time.Time
	First  string // name of the oldest end
}

// Tallies counts the ends of a program by step and the open ones by what blocks
// them.
func (st *Store) Tallies(ctx context.Context, programID string) (bySteps, byReason []Tally, err error) {
	b := &pgx.Batch{}
	collect := func(into *[]Tally) func(pgx.Rows) error {
		return func(rows pgx.Rows) (err error) {
			*into, err = pgx.CollectRows(rows, pgx.RowToStructByPos[Tally])
			return err
		}
	}
	b.Queue(`select g.*, coalesce((select x.name from end_state x where x.program_id = $1 and x.step_ord = g.step_ord
			order by x.since nulls last, x.sort_key limit 1), '')
		from (select step_ord, step_code, step_name, '', '', count(*), min(since) from end_state
			where program_id = $1 group by step_ord, step_code, step_name) g order by step_ord`, programID).Query(collect(&bySteps))
	b.Queue(`select g.*, coalesce((select x.name from end_state x where x.program_id = $1 and not x.closed and x.track = g.track and x.reason = g.reason
			and x.actor = g.actor order by x.since nulls last, x.sort_key limit 1), '')
		from (select 0, reason, '', track, actor, count(*), min(since) from end_state
			where program_id = $1 and not closed group by track, reason, actor) g order by 6 desc, 7`, programID).Query(collect(&byReason))
	if err := st.Pool.SendBatch(ctx, b).Close(); err != nil {
		return nil, nil, fmt.Errorf("count ends: %w", err)
	}
	return bySteps, byReason, nil
}

// JournalLine is one entry of the history as a page shows it.
type JournalLine struct {
	Seq      int64
	At       time.Time // when it arrived
	Captured time.Time // when it was seen or done
	Actor    string
	Role     string
	Through  string // name of the token by which the actor acted; empty for the person
	Kind     string
	End      string // name of the end, where the entry concerns one
	Ends     int    // how many ends it names
	Reason   string // given with the change; empty where it asks for none
	Hash     []byte
	Changes  []RowChange
	// Told is when it was seen by a tablet's clock that was wrong, and OffS by how many
	// seconds; "" for every other entry.
	Told string
	OffS float64
}

// RowChange is one row as it was and as it became, by column.
type RowChange struct {
	Table    string
	Key      string
	Old, New map[string]any
}

// History returns entries of an end, or of the whole program for an empty end,
// newest first, those before the sequence number given (0: from the newest).
func (st *Store) History(ctx context.Context, programID, endID string, before int64, limit int) ([]JournalLine, error) {
	cond, args := "j.program_id = $1", []any{programID, before, limit}
	if endID != "" {
		cond, args = "(j.end_id = $4::text::uuid or (j.program_id = $1 and j.end_id is null and convert_from(j.body, 'UTF8')::jsonb -> 'ends' ? $4::text))", append(args, endID)
	}
	rows, err := st.Pool.Query(ctx, `select j.seq, j.at, j.actor, j.kind, coalesce(e.name, ''), j.hash, j.body, coalesce(t.captured_text, ''), coalesce(t.clock_s, 0) from journal j
		left join girder_end e on e.id = j.end_id left join tablet_entry t on t.id = j.entry_id and t.clock_marked where `+cond+` and ($2 = 0 or j.seq < $2) order by j.seq desc limit $3`, args...)
	if err != nil {
		return nil, fmt.Errorf("history: %w", err)
	}
	defer rows.Close()
	var out []JournalLine
	for rows.Next() {
		var l JournalLine
		var raw []byte
		if err := rows.Scan(&l.Seq, &l.At, &l.Actor, &l.Kind, &l.End, &l.Hash, &raw, &l.Told, &l.OffS); err != nil {
			return nil, fmt.Errorf("history: %w", err)
		}
		var body journalBody
		if err := json.Unmarshal(raw, &body); err != nil {
			return nil, fmt.Errorf("history: entry %d: %w", l.Seq, err)
		}
		l.Captured, l.Role, l.Through, l.Ends, l.Reason = body.Captured, body.Role, body.Through, len(body.Ends), reasonOf(body.Change)
		for _, r := range body.Rows {
			c := RowChange{Table: r.Table, Key: r.Key}
			_ = json.Unmarshal(r.Old, &c.Old)
			_ = json.Unmarshal(r.New, &c.New)
			l.Changes = append(l.Changes, c)
		}
		out = append(out, l)
	}
	return out, rows.Err()
}

// CastingList is the pours of a program with their batches, ends and specimens.
type CastingList struct {
	Pours     []repair.Pour
	Batches   []repair.Batch
	PourEnds  []repair.PourEnd
	Specimens []repair.Specimen
	EndNames  map[string]string // by end ID

	BatchEnds  []repair.BatchEnd
	SetReviews []repair.SetReview
	CuringLogs []repair.CuringLog
}

// Castings returns the pours of a program.
func (st *Store) Castings(ctx context.Context, programID string) (CastingList, error) {
	out := CastingList{EndNames: map[string]string{}}
	b := &pgx.Batch{}
	mine := "pour_id in (select id from pour where program_id = $1::uuid)"
	pours.queue(b, &out.Pours, ofProgram, programID)
	batches.queue(b, &out.Batches, mine, programID)
	batchEnds.queue(b, &out.BatchEnds, "batch_id in (select id from batch where "+mine+")", programID)
	setReviews.queue(b, &out.SetReviews, mine, programID)
	curingLogs.queue(b, &out.CuringLogs, mine, programID)
	pourEnds.queue(b, &out.PourEnds, mine, programID)
	specimens.queue(b, &out.Specimens, ofProgram, programID)
	b.Queue("select distinct e.id, e.name from girder_end e join pour_end p on p.end_id = e.id where e.program_id = $1", programID).Query(func(rows pgx.Rows) error {
		for rows.Next() {
			var id, name string
			if err := rows.Scan(&id, &name); err != nil {
				return err
			}
			out.EndNames[id] = name
		}
		return rows.Err()
	})
	if err := st.Pool.SendBatch(ctx, b).Close(); err != nil {
		return out, fmt.Errorf("castings: %w", err)
	}
	return out, nil
}

// SpecimenEnds returns the pour of a specimen's mark and the ends that it served.
func (st *Store) SpecimenEnds(ctx context.Context, programID, mark string) ([]EndRef, error) {
	rows, err := st.Pool.Query(ctx, `select pe.end_id::text, 0::bigint from specimen s join pour_end pe on pe.pour_id = s.pour_id
		where s.program_id = $1 and upper(s.mark) = upper(trim($2))`, programID, mark)
	if err != nil {
		return nil, fmt.Errorf("specimen: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[EndRef])
}

// UserNames returns the names of the people of a program by identifier.
func (st *Store) UserNames(ctx context.Context) (map[string]string, error) {
	rows, err := st.Pool.Query(ctx, "select id::text, name from app_user")
	if err != nil {
		return nil, fmt.Errorf("names: %w", err)
	}
	defer rows.Close()
	out := map[string]string{}
	for rows.Next() {
		var id, name string
		if err := rows.Scan(&id, &name); err != nil {
			return nil, fmt.Errorf("names: %w", err)
		}
		out[id] = name
	}
	return out, rows.Err()
}

// Today is the moment that a program's pages count from: the clock, but a
// demonstration's own day.
func (st *Store) Today(p repair.Program) time.Time { return st.clock(Entry{}, p) }
