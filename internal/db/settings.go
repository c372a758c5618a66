package db

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/repair"
)

// PreviewLimit is the greatest number of ends for which the consequences of a
// change of settings are worked out before it is stored.
const PreviewLimit = 2000

// Preview is what a change of settings would do. Known is false in a program with
// more than PreviewLimit ends: there only the number of ends is told.
type Preview struct {
	Known bool
	repair.Consequences
}

// Preview applies a change to a copy of the program, recomputes the copy and
// tells how it differs. Nothing is stored. It returns the faults of the change,
// as Edit would, in a program of any size.
func (st *Store) Preview(ctx context.Context, programID string, actor repair.Actor, change repair.Change) (Preview, error) {
	reach := repair.Reach{Program: true}
	if c, ok := change.(repair.Reaching); ok {
		reach = c.Reach()
	}
	var ids []string
	if reach.Program || reach.Span != "" {
		var err error
		if ids, err = st.reached(ctx, programID, reach.Span); err != nil {
			return Preview{}, err
		}
	}
	n := len(ids)
	known := n <= PreviewLimit
	if !known {
		ids = nil
	}
	before, err := loadScope(ctx, st.Pool, programID, ids)
	if err != nil {
		return Preview{}, err
	}
	now := st.clock(Entry{}, before.Program)
	after := before.Clone()
	c := repair.Context{Actor: actor, Now: now, Captured: now, NewID: func() string { return uuid.Must(uuid.NewV7()).String() }}
	if err := change.Apply(after, c); err != nil {
		return Preview{}, err
	}
	if !known {
		return Preview{Consequences: repair.Consequences{Ends: n}}, nil
	}
	if err := after.Recompute(); err != nil {
		return Preview{}, err
	}
	return Preview{Known: true, Consequences: before.Consequences(after)}, nil
}

// reached names the ends of a program, or of one of its spans.
func (st *Store) reached(ctx context.Context, programID, spanID string) ([]string, error) {
	rows, err := st.Pool.Query(ctx, "select id::text from girder_end where program_id = $1 and ($2 = '' or span_id::text = $2)", programID, spanID)
	if err != nil {
		return nil, fmt.Errorf("preview: %w", err)
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, fmt.Errorf("preview: %w", err)
	}
	return ids, nil
}

// SettingChange is one entry of the journal that changed settings, with what was
// asked and each row as it was and as it became.
type SettingChange struct {
	Seq     int64
	At      time.Time
	Actor   string
	Role    string
	Through string // name of a token, as in JournalLine
	Kind    string
	Change  json.RawMessage
	Changes []RowChange
}

// SettingChanges returns the latest entries of the given kinds in a program,
// newest first.
func (st *Store) SettingChanges(ctx context.Context, programID string, kinds []string, limit int) ([]SettingChange, error) {
	rows, err := st.Pool.Query(ctx, `select seq, at, actor, kind, body from journal
		where program_id = $1 and kind = any($2) order by seq desc limit $3`, programID, kinds, limit)
	if err != nil {
		return nil, fmt.Errorf("changes of settings: %w", err)
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (SettingChange, error) {
		var c SettingChange
		var raw []byte
		if err := row.Scan(&c.Seq, &c.At, &c.Actor, &c.Kind, &raw); err != nil {
			return c, err
		}
		var body journalBody
		if err := json.Unmarshal(raw, &body); err != nil {
			return c, fmt.Errorf("entry %d: %w", c.Seq, err)
		}
		c.Role, c.Through, c.Change = body.Role, body.Through, body.Change
		for _, r := range body.Rows {
			x := RowChange{Table: r.Table}
			_ = json.Unmarshal(r.Old, &x.Old)
			_ = json.Unmarshal(r.New, &x.New)
			c.Changes = append(c.Changes, x)
		}
		return c, nil
	})
}

// StepUse is how often a step was acted on.
type StepUse struct {
	StepID      string
	Ends        int // with any record of it
	Completed   int // records
	Last        *time.Time
	Photographs int
}

// StepUses counts what was done under each step of a program.
func (st *Store) StepUses(ctx context.Context, programID string) (map[string]StepUse, error) {
	rows, err := st.Pool.Query(ctx, `select s.id::text, count(distinct r.end_id), count(*) filter (where r.kind = 'completed'), max(r.captured_at),
			(select count(*) from photo p join girder_end e on e.id = p.end_id where e.program_id = $1 and p.subject = s.code)
		from step s left join step_record r on r.step_id = s.id where s.program_id = $1 group by s.id`, programID)
	if err != nil {
		return nil, fmt.Errorf("uses of steps: %w", err)
	}
	list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[StepUse])
	if err != nil {
		return nil, fmt.Errorf("uses of steps: %w", err)
	}
	out := make(map[string]StepUse, len(list))
	for _, u := range list {
		out[u.StepID] = u
	}
	return out, nil
}

// AccessUse is how many ends have one kind of access, and how many of them wait
// for a window of it.
type AccessUse struct {
	Kind          string
	Ends, Waiting int
}

// AccessUses counts the open ends of a program by their kind of access.
func (st *Store) AccessUses(ctx context.Context, programID string) ([]AccessUse, error) {
	rows, err := st.Pool.Query(ctx, `select access, count(*), count(*) filter (where track = 'access')
		from end_state where program_id = $1 and not closed group by access order by access`, programID)
	if err != nil {
		return nil, fmt.Errorf("kinds of access: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[AccessUse])
}
