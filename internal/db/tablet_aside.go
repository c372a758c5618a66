package db

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/tablet"
)

// TabletLine is one entry of a tablet as the desk lists it.
type TabletLine struct {
	ID           string     `db:"id"`
	EndID        *string    `db:"end_id"`
	EndName      string     `db:"end_name"`
	Kind         string     `db:"kind"`
	State        string     `db:"state"`
	Reason       string     `db:"reason"`
	Changed      []string   `db:"changed"`
	Differs      string     `db:"differs"`
	Raw          []byte     `db:"raw"`
	ByUser       string     `db:"by_user"`
	ByName       string     `db:"by_name"`
	ByRole       string     `db:"by_role"`
	CapturedText string     `db:"captured_text"`
	CapturedAt   time.Time  `db:"captured_at"`
	ArrivedAt    time.Time  `db:"arrived_at"`
	ClockS       float64    `db:"clock_s"`
	ClockMarked  bool       `db:"clock_marked"`
	DecidedBy    string     `db:"decided_by"`
	DecidedAt    *time.Time `db:"decided_at"`
	DecidedWhy   string     `db:"decided_why"`
}

const tabletCols = `id::text, end_id::text, end_name, kind, state, reason, changed, differs, raw, by_user::text, by_name, by_role, captured_text, captured_at, arrived_at,
	clock_s, clock_marked, decided_by, decided_at, decided_why`

// TabletAsides lists what tablets sent that somebody must look at: first what waits
// for a decision, the oldest first, then what was applied with a remark or decided,
// the latest first.
func (st *Store) TabletAsides(ctx context.Context, programID string, limit int) ([]TabletLine, error) {
	rows, err := st.Pool.Query(ctx, `select `+tabletCols+` from tablet_entry
		where program_id = $1::uuid and (state <> 'stored' or differs <> '' or clock_marked)
		order by state <> 'aside', case when state = 'aside' then arrived_at end, arrived_at desc limit $2`, programID, limit)
	if err != nil {
		return nil, fmt.Errorf("entries kept aside: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByName[TabletLine])
}

// TabletWaiting counts the entries that wait for a decision.
func (st *Store) TabletWaiting(ctx context.Context, programID string) (n int, err error) {
	err = st.Pool.QueryRow(ctx, "select count(*)::int from tablet_entry where program_id = $1::uuid and state = 'aside'", programID).Scan(&n)
	return n, err
}

// DecideTablet carries out the engineer's word on an entry that was kept aside,
// under the decision's own entry id. Applying makes the change against the record as
// it stands now; the rules refuse it as they would refuse anybody's.
func (st *Store) DecideTablet(ctx context.Context, decision string, programID string, actor repair.Actor, id string, apply bool, why string) error {
	for range 4 {
		err := pgx.BeginFunc(ctx, st.Pool, func(tx pgx.Tx) error {
			return st.decideTablet(ctx, tx, decision, programID, actor, id, apply, why)
		})
		if !again(err) {
			return err
		}
	}
	return fault.New(fault.Unavailable, "the record is busy; nothing was changed")
}

func (st *Store) decideTablet(ctx context.Context, tx pgx.Tx, decision, programID string, actor repair.Actor, id string, apply bool, why string) error {
	rows, err := tx.Query(ctx, `select `+tabletCols+` from tablet_entry where id::text = $1 and program_id = $2::uuid for update`, id, programID)
	if err != nil {
		return fmt.Errorf("decide: %w", err)
	}
	line, err := pgx.CollectOneRow(rows, pgx.RowToStructByName[TabletLine])
	if errors.Is(err, pgx.ErrNoRows) {
		return fault.New(fault.NotFound, "no tablet sent an entry of this number")
	}
	if err != nil {
		return fmt.Errorf("decide: %w", err)
	}
	entry := Entry{ID: decision, ProgramID: programID, Actor: actor}
	if line.EndID != nil {
		entry.Ends = []EndRef{{ID: *line.EndID}}
	}
	ch := repair.DecideAside{Entry: id, By: repair.Actor{ID: line.ByUser, Name: line.ByName, Role: sequence.Role(line.ByRole)}, Captured: line.CapturedAt, Reason: why}
	if apply {
		if ch.Change, err = st.asideChange(ctx, tx, programID, line); err != nil {
			return err
		}
		if e, err := tablet.Decode(line.Raw); err == nil && len(e.EndIDs()) > 1 {
			all, err := knownEnds(ctx, tx, programID, e.EndIDs())
			if err != nil {
				return err
			}
			entry.Ends = endRefs(all)
		}
	}
	entry.Change = ch
	if line.State != TabletAside {
		// A second press of the same button is answered as the first; anything else
		// finds that it was decided.
		var decided bool
		if err := tx.QueryRow(ctx, "select exists (select from receipt where entry_id = $1 and actor_id = $2)", decision, actor.ID).Scan(&decided); err != nil {
			return fmt.Errorf("decide: %w", err)
		}
		if decided {
			return nil
		}
		return fault.New(fault.Refused, "this entry is decided already")
	}
	if _, err := st.editIn(ctx, tx, entry); err != nil {
		return err
	}
	state := TabletRecorded
	if apply {
		state = TabletApplied
	}
	_, err = tx.Exec(ctx, "update tablet_entry set state = $2, decided_by = $3, decided_at = $4, decided_why = $5 where id = $1::uuid", id, state, actor.Name, st.Now().UTC(), why)
	if err != nil {
		return fmt.Errorf("decide: %w", err)
	}
	return nil
}

// asideChange is the change of an entry as it would be made now.
func (st *Store) asideChange(ctx context.Context, tx pgx.Tx, programID string, line TabletLine) (repair.Change, error) {
	if line.EndID == nil {
		return nil, fault.New(fault.Refused, "this program has no girder end %s: the entry can only stay on record", line.EndName)
	}
	e, err := tablet.Decode(line.Raw)
	if err != nil {
		return nil, err
	}
	if e.Kind == tablet.Photo {
		b, err := e.PhotoOf()
		if err != nil {
			return nil, err
		}
		data, err := st.pictureBytes(ctx, tx, b.SHA256)
		if err != nil {
			return nil, fmt.Errorf("picture kept aside: %w", err)
		}
		return e.PhotoChange(data)
	}
	ch, err := e.Change(line.CapturedAt.Sub(e.Captured))
	if err != nil {
		return nil, err
	}
	sc, err := loadScope(ctx, tx, programID, []string{*line.EndID})
	if err != nil {
		return nil, err
	}
	return tablet.Now(ch, sc.Ends[0]), nil
}
