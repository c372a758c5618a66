package db

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/tablet"
)

// States of an entry of a tablet.
const (
	TabletStored   = "stored"   // applied when it arrived
	TabletAside    = "aside"    // waits for the engineer
	TabletApplied  = "applied"  // by the engineer's word
	TabletRecorded = "recorded" // stays without effect, by the engineer's word
)

// TabletSent is one entry as a tablet sent it.
type TabletSent struct {
	ProgramID string
	Actor     repair.Actor
	Raw       []byte
	Entry     tablet.Envelope
	SentAt    time.Time // the tablet's clock when it sent
	Picture   []byte    // of a photograph, whole
}

// TabletAnswer is what a tablet is told about an entry.
type TabletAnswer struct {
	ID         string    `json:"id"`
	State      string    `json:"state"` // stored or aside
	Reason     string    `json:"reason,omitempty"`
	Differs    string    `json:"differs,omitempty"`
	Captured   time.Time `json:"captured_at"`
	Arrived    time.Time `json:"arrived_at"`
	ClockWrong bool      `json:"clock_wrong,omitempty"`
	ClockS     float64   `json:"clock_s,omitempty"`
	Seq        int64     `json:"seq"`
	Repeated   bool      `json:"repeated,omitempty"`
}

// errAside ends a transaction whose entry the rules refuse, so that it can be kept
// aside in one that writes nothing else.
type errAside struct{ reason string }

func (e errAside) Error() string { return e.reason }

// TakeTabletEntry puts one entry of a tablet on record: applied, or kept aside where
// the record has moved. Entry and effect are stored in one transaction. What the
// rules refuse comes back as a fault and nothing is stored, unless the entry asks to
// be handed over.
func (st *Store) TakeTabletEntry(ctx context.Context, in TabletSent) (TabletAnswer, error) {
	var out TabletAnswer
	aside := ""
	for range 4 {
		err := pgx.BeginFunc(ctx, st.Pool, func(tx pgx.Tx) (err error) {
			out, err = st.takeTablet(ctx, tx, in, aside)
			return err
		})
		if over, ok := errors.AsType[errAside](err); ok && aside == "" {
			aside = over.reason
			continue
		}
		if again(err) || raced(err) {
			continue
		}
		return out, err
	}
	return out, fault.New(fault.Unavailable, "the record is busy; the entry was not taken and can be sent again")
}

// raced reports that the same entry arrived twice at once.
func raced(err error) bool {
	var pg *pgconn.PgError
	return errors.As(err, &pg) && pg.Code == "23505" && pg.ConstraintName == "tablet_entry_pkey"
}

func (st *Store) takeTablet(ctx context.Context, tx pgx.Tx, in TabletSent, aside string) (TabletAnswer, error) {
	sum := sha256.Sum256(in.Raw)
	var was, answer []byte
	var by string
	err := tx.QueryRow(ctx, "select by_user::text, request, answer from tablet_entry where id = $1", in.Entry.ID).Scan(&by, &was, &answer)
	if err == nil {
		var out TabletAnswer
		if by != in.Actor.ID {
			return out, fault.New(fault.Duplicate, "this number belongs to an entry of another person; nothing was changed")
		}
		if !bytes.Equal(was, sum[:]) {
			return out, fault.New(fault.Duplicate, "another entry has this number already; nothing was changed")
		}
		if err := json.Unmarshal(answer, &out); err != nil {
			return out, fmt.Errorf("answer of tablet entry: %w", err)
		}
		out.Repeated = true
		return out, nil
	}
	if !errors.Is(err, pgx.ErrNoRows) {
		return TabletAnswer{}, fmt.Errorf("tablet entry: %w", err)
	}
	return st.takeNew(ctx, tx, in, sum[:], aside)
}

func (st *Store) takeNew(ctx context.Context, tx pgx.Tx, in TabletSent, sum []byte, aside string) (TabletAnswer, error) {
	e := in.Entry
	var program repair.Program
	frame, err := loadScope(ctx, tx, in.ProgramID, nil)
	if err != nil {
		return TabletAnswer{}, err
	}
	program = frame.Program
	now := st.Now().UTC().Truncate(time.Microsecond)
	clock := tablet.Read(e.Captured, in.SentAt, now, clockAt(now, Entry{}, program), e.ClockMS)
	concerned, err := knownEnds(ctx, tx, in.ProgramID, e.EndIDs())
	if err != nil {
		return TabletAnswer{}, err
	}
	known := slices.Contains(concerned, e.EndID)
	change, refused := tabletChange(in, clock.At.Sub(e.Captured))
	if refused != nil && aside == "" {
		return TabletAnswer{}, handOver(e, refused)
	}
	entry := Entry{ID: e.ID, ProgramID: in.ProgramID, Actor: in.Actor, Captured: clock.At}
	if known {
		entry.Ends = endRefs(concerned)
	}
	var before *repair.Scope
	j := tablet.Judgment{Aside: aside}
	if known {
		// The end is locked before it is judged, so that what is judged is what is changed.
		if _, err := tx.Exec(ctx, "select 1 from program where id = $1 for key share", in.ProgramID); err != nil {
			return TabletAnswer{}, fmt.Errorf("tablet entry: %w", err)
		}
		if _, err := tx.Exec(ctx, "select 1 from girder_end where id = any($1::text[]::uuid[]) order by id for no key update", concerned); err != nil {
			return TabletAnswer{}, fmt.Errorf("tablet entry: %w", err)
		}
		if before, err = loadScope(ctx, tx, in.ProgramID, concerned); err != nil {
			return TabletAnswer{}, err
		}
	}
	if aside == "" {
		names, err := userNames(ctx, tx)
		if err != nil {
			return TabletAnswer{}, err
		}
		j = tablet.Judge(e, change, clock.At, before, func(id string) string {
			if n := names[id]; n != "" {
				return n
			}
			return "someone no longer listed"
		})
	}
	out := TabletAnswer{ID: e.ID, State: TabletStored, Differs: j.Differs, Captured: clock.At, Arrived: now, ClockWrong: clock.Marked, ClockS: clock.Off.Seconds()}
	if j.Aside != "" {
		out.State, out.Reason = TabletAside, j.Aside
		if known {
			entry.Ends = []EndRef{{ID: e.EndID}}
		}
		entry.Change = repair.KeepAside{Entry: e.ID, End: e.End, Reason: j.Aside, Raw: string(in.Raw)}
		if b, err := e.PhotoOf(); err == nil {
			if err := st.keepPicture(ctx, tx, b.SHA256, in.Picture); err != nil {
				return TabletAnswer{}, err
			}
		}
	} else {
		entry.Change = change
	}
	rec, err := st.editIn(ctx, tx, entry)
	if err != nil {
		if dup, ok := samePicture(e, err); ok {
			entry.Change = repair.KeepAside{Entry: e.ID, End: e.End, Reason: dup, Raw: string(in.Raw)}
			rec, err = st.editIn(ctx, tx, entry)
		} else {
			return TabletAnswer{}, handOver(e, err)
		}
		if err != nil {
			return TabletAnswer{}, err
		}
	}
	out.Seq = rec.Seq
	return out, insertTablet(ctx, tx, in, sum, known, clock, j, out)
}

// knownEnds are those of some ends that the program has, in the order in which they are
// locked.
func knownEnds(ctx context.Context, tx pgx.Tx, programID string, ids []string) ([]string, error) {
	var valid []string
	for _, id := range ids {
		if _, err := uuid.Parse(id); err == nil {
			valid = append(valid, id)
		}
	}
	rows, err := tx.Query(ctx, "select id::text from girder_end where id = any($1::text[]::uuid[]) and program_id = $2 order by id", valid, programID)
	if err != nil {
		return nil, fmt.Errorf("tablet entry: %w", err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, fmt.Errorf("tablet entry: %w", err)
	}
	return out, nil
}

func endRefs(ids []string) []EndRef {
	out := make([]EndRef, len(ids))
	for i, id := range ids {
		out[i] = EndRef{ID: id}
	}
	return out
}

// samePicture reports a photograph that is on record at its end already: it has
// arrived, by whatever way.
func samePicture(e tablet.Envelope, err error) (string, bool) {
	if e.Kind == tablet.Photo && fault.KindOf(err) == fault.Duplicate {
		return fault.Message(err), true
	}
	return "", false
}

// handOver turns a refusal into keeping aside, for an entry that asks for it.
func handOver(e tablet.Envelope, err error) error {
	switch fault.KindOf(err) {
	case fault.Fields, fault.Refused, fault.NotFound, fault.Malformed:
		if e.HandOver {
			return errAside{"the rules do not take it: " + err.Error()}
		}
	}
	return err
}

// tabletChange is what an entry asks for.
func tabletChange(in TabletSent, shift time.Duration) (repair.Change, error) {
	if in.Entry.Kind != tablet.Photo {
		return in.Entry.Change(shift)
	}
	return in.Entry.PhotoChange(in.Picture)
}

// editIn is Edit inside a transaction that is open already.
func (st *Store) editIn(ctx context.Context, tx pgx.Tx, e Entry) (Receipt, error) {
	change, err := json.Marshal(e.Change)
	if err != nil {
		return Receipt{}, fmt.Errorf("edit: %w", err)
	}
	return st.edit(ctx, tx, e, change, requestDigest(e, change))
}

func insertTablet(ctx context.Context, tx pgx.Tx, in TabletSent, sum []byte, known bool, clock tablet.Clock, j tablet.Judgment, out TabletAnswer) error {
	e := in.Entry
	answer, err := json.Marshal(out)
	if err != nil {
		return err
	}
	var end *string
	if known {
		end = &e.EndID
	}
	if j.Changed == nil {
		j.Changed = []string{}
	}
	_, err = tx.Exec(ctx, `insert into tablet_entry (id, program_id, end_id, end_name, kind, state, reason, changed, differs, raw, request, by_user, by_name, by_role,
			captured_text, captured_at, sent_at, arrived_at, clock_s, clock_marked, answer)
		values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21)`,
		e.ID, in.ProgramID, end, e.End, string(e.Kind), out.State, out.Reason, j.Changed, j.Differs, in.Raw, sum, in.Actor.ID, in.Actor.Name, string(in.Actor.Role),
		e.CapturedAt, clock.At, in.SentAt.UTC(), out.Arrived, clock.Off.Seconds(), clock.Marked, answer)
	if err != nil {
		if raced(err) {
			return err
		}
		return fmt.Errorf("tablet entry: %w", err)
	}
	return nil
}

func userNames(ctx context.Context, q querier) (map[string]string, error) {
	rows, err := q.Query(ctx, "select id::text, name from app_user")
	if err != nil {
		return nil, fmt.Errorf("names: %w", err)
	}
	out := map[string]string{}
	var id, name string
	_, err = pgx.ForEachRow(rows, []any{&id, &name}, func() error { out[id] = name; return nil })
	return out, err
}

// TabletEnds returns every end of a program in the order of the bridge, with what
// a shift is chosen by.
func (st *Store) TabletEnds(ctx context.Context, programID, role string) ([]FieldEnd, error) {
	return st.fieldEnds(ctx, "order by t.sort_key", programID, role)
}
