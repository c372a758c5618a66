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
	"github.com/jackc/pgx/v5/pgxpool"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
)

// Store is the one door to the record: Edit for every write, and the queries of
// the other files for reads.
type Store struct {
	Pool *pgxpool.Pool
	Now  func() time.Time
	// Folder keeps the originals of new pictures; nil keeps them in the database.
	Folder *Folder

	atOnce int // rows of sample blocks that a reading stores at once; 0: blocksAtOnce
}

// NewStore returns a store over a pool made by Open.
func NewStore(pool *pgxpool.Pool) *Store { return &Store{Pool: pool, Now: time.Now} }

// EndRef names an end and the version of it that the person saw. A zero version
// is for entries that never conflict, such as new observations from the field.
type EndRef struct {
	ID      string
	Version int64
}

// Entry is one edit as it comes to the door.
type Entry struct {
	ID        string // made by the client; a repeat of it is answered with the first answer
	ProgramID string
	Actor     repair.Actor
	Captured  time.Time // zero: now
	At        time.Time // zero: the clock; set only by the loader of the demonstration
	Ends      []EndRef
	AllEnds   bool // the change concerns every end of the program: settings, sequence
	Change    repair.Change

	span  string // the change concerns every end of this span
	alone bool   // it concerns no end, and waits for all other edits of the program
	// beside are ends that are in the scope only because the running rule of strengths
	// may reach them.
	beside map[string]bool
}

// reaching is the entry with the ends that its change says it concerns; for a
// change that does not say, as it came.
func (e Entry) reaching() Entry {
	if c, ok := e.Change.(repair.Reaching); ok {
		r := c.Reach()
		e.Ends, e.AllEnds, e.span, e.alone = nil, r.Program, r.Span, r.Alone
	}
	return e
}

// wide reports whether the ends are not those that a person had open: their
// versions stay, so that nobody's open form goes stale by it.
func (e Entry) wide() bool { return e.AllEnds || e.span != "" }

// Receipt is the answer to an entry.
type Receipt struct {
	EntryID  string           `json:"entry_id"`
	Seq      int64            `json:"seq"`
	Versions map[string]int64 `json:"versions"` // by end ID
	Repeated bool             `json:"-"`
}

// Stale is the refusal of an edit that was made against an older version.
type Stale struct {
	EndID    string
	Name     string
	Saw, Now int64
	By       string // who edited last
	At       time.Time
}

// Error implements error.
func (e *Stale) Error() string {
	return fmt.Sprintf("%s was changed by %s since you opened it (you saw version %d, it is now %d)", e.Name, e.By, e.Saw, e.Now)
}

// Is makes a stale edit a conflict.
func (e *Stale) Is(target error) bool { return target == fault.Conflict }

// Edit carries one entry through: decide, recompute, write, journal, in one
// transaction. It returns the faults of the change, *Stale for an edit against an
// older version, and the first answer for a repeated entry.
func (st *Store) Edit(ctx context.Context, e Entry) (Receipt, error) {
	if _, err := uuid.Parse(e.ID); err != nil {
		return Receipt{}, fault.New(fault.Malformed, "the entry has no identifier; open the page again")
	}
	e = e.reaching()
	if _, err := uuid.Parse(e.span); err != nil && e.span != "" {
		return Receipt{}, fault.New(fault.NotFound, "there is no such span in this program")
	}
	change, err := json.Marshal(e.Change)
	if err != nil {
		return Receipt{}, fmt.Errorf("edit: %w", err)
	}
	request := requestDigest(e, change)
	for range 3 {
		var rec Receipt
		err = pgx.BeginFunc(ctx, st.Pool, func(tx pgx.Tx) error {
			var err error
			rec, err = st.edit(ctx, tx, e, change, request)
			return err
		})
		if !again(err) {
			return rec, err
		}
	}
	return Receipt{}, err
}

// again reports whether a transaction lost a race that it can win when repeated:
// a serialisation failure, a deadlock, or the same entry sent twice at once.
func again(err error) bool {
	var pg *pgconn.PgError
	if !errors.As(err, &pg) {
		return false
	}
	switch pg.Code {
	case "40001", "40P01":
		return true
	case "23505":
		return pg.ConstraintName == "receipt_pkey" || pg.ConstraintName == "journal_entry_id_key" || pg.ConstraintName == "journal_pkey" ||
			pg.ConstraintName == "pour_program_id_number_key" || pg.ConstraintName == "nonconformance_program_id_number_key" ||
			pg.ConstraintName == "document_program_id_number_key"
	}
	return false
}

func requestDigest(e Entry, change []byte) []byte {
	h := sha256.New()
	fmt.Fprintf(h, "%s\n%s\n%s\n", e.ProgramID, e.Actor.ID, e.Change.Kind())
	for _, r := range e.Ends {
		fmt.Fprintf(h, "%s %d\n", r.ID, r.Version)
	}
	h.Write(change)
	return h.Sum(nil)
}

func (st *Store) edit(ctx context.Context, tx pgx.Tx, e Entry, change, request []byte) (Receipt, error) {
	_, creates := e.Change.(repair.CreateProgram)
	var want repair.Want
	if w, ok := e.Change.(repair.Wanting); ok {
		want = w.Want()
		if err := widen(ctx, tx, &e, want); err != nil {
			return Receipt{}, err
		}
	}
	if p, ok := e.Change.(repair.EditProgram); ok {
		if err := rezone(ctx, tx, &e, p); err != nil {
			return Receipt{}, err
		}
	}
	// What concerns no end and yet changes rows that others may change waits for them.
	e.alone = e.alone || len(e.Ends) == 0 && !e.wide()
	endIDs, rec, answered, err := begin(ctx, tx, e, request)
	if err != nil || answered {
		return rec, err
	}
	before := &repair.Scope{NextPour: 1, NextNonconformance: 1}
	if !creates {
		if before, err = loadScope(ctx, tx, e.ProgramID, endIDs); err != nil {
			return Receipt{}, err
		}
		if err := loadWanted(ctx, tx, before, want); err != nil {
			return Receipt{}, err
		}
	}
	rec, _, err = st.carry(ctx, tx, e, endIDs, before, change, request)
	return rec, err
}

// carry takes an entry from the record before it to the record after it: decide,
// recompute, write, journal. It returns the record after it.
func (st *Store) carry(ctx context.Context, tx pgx.Tx, e Entry, endIDs []string, before *repair.Scope, change, request []byte) (Receipt, *repair.Scope, error) {
	now := st.clock(e, before.Program)
	c := repair.Context{Actor: e.Actor, Now: now, Captured: e.Captured.UTC().Truncate(time.Microsecond),
		NewID: func() string { return uuid.Must(uuid.NewV7()).String() }}
	if e.Captured.IsZero() {
		c.Captured = now
	}
	after := before.Clone()
	if err := e.Change.Apply(after, c); err != nil {
		return Receipt{}, nil, err
	}
	inStoredForm(after)
	if err := after.Recompute(); err != nil {
		return Receipt{}, nil, err
	}
	b := &pgx.Batch{}
	for _, blob := range after.Blobs {
		if err := st.queuePicture(b, blob); err != nil {
			return Receipt{}, nil, err
		}
	}
	rows, err := diffScope(b, before, after)
	if err != nil {
		return Receipt{}, nil, err
	}
	if err := diffDerived(b, before, after); err != nil {
		return Receipt{}, nil, err
	}
	_, apart := e.Change.(repair.Apart)
	rec := Receipt{EntryID: e.ID, Versions: map[string]int64{}}
	for _, r := range after.Ends {
		if e.untouched(before, r) {
			endIDs = slices.DeleteFunc(slices.Clone(endIDs), func(id string) bool { return id == r.End.ID })
			continue
		}
		rec.Versions[r.End.ID] = r.End.Version
		if len(rows) > 0 && !e.wide() && !apart && len(before.Ends) > 0 {
			rec.Versions[r.End.ID]++
			b.Queue("update girder_end set version = version + 1, updated_at = $2 where id = $1", r.End.ID, now)
		}
	}
	var entry journalEntry
	follows := queueJournalTip(b, &entry, after.Program.ID)
	queueTally(b, before, after) // behind the lock of the journal: no two edits meet at a count
	if err := tx.SendBatch(ctx, b).Close(); err != nil {
		return Receipt{}, nil, writeFault(err)
	}
	if err := storeRaw(ctx, tx, after.RawFiles); err != nil {
		return Receipt{}, nil, err
	}
	if err := storeReadings(ctx, tx, after.Readings); err != nil {
		return Receipt{}, nil, err
	}
	if err := requireSamples(ctx, tx, after.Stored); err != nil {
		return Receipt{}, nil, err
	}
	body := journalBody{Follows: follows, Captured: c.Captured, Role: string(e.Actor.Role), Through: e.Actor.Through, Ends: endIDs, Change: change, Rows: rows}
	if e.AllEnds {
		body.Ends = nil
	}
	if entry.Body, err = json.Marshal(body); err != nil {
		return Receipt{}, nil, fmt.Errorf("journal: %w", err)
	}
	programID := after.Program.ID
	entry.At, entry.EntryID, entry.ActorID, entry.Actor, entry.Kind = now, e.ID, e.Actor.ID, e.Actor.Name, e.Change.Kind()
	entry.ProgramID = &programID
	if len(endIDs) == 1 && !e.wide() {
		entry.EndID = &endIDs[0]
	}
	last := &pgx.Batch{}
	rec.Seq = queueJournal(last, &entry)
	answer, err := json.Marshal(rec)
	if err != nil {
		return Receipt{}, nil, err
	}
	last.Queue("insert into receipt (entry_id, actor_id, request, answer, at) values ($1, $2, $3, $4, $5)", e.ID, e.Actor.ID, request, answer, now)
	last.Queue("select pg_notify('endcast', $1)", programID)
	if err := tx.SendBatch(ctx, last).Close(); err != nil {
		return Receipt{}, nil, err
	}
	return rec, after, nil
}

// clock is the time of an entry. A demonstration program lives on a day of its
// own, so that its story does not age.
func (st *Store) clock(e Entry, p repair.Program) time.Time { return clockAt(st.Now(), e, p) }

// clockAt is clock at an instant that the caller has read already: two readings of
// the clock would shift what happened at one moment by the time between them.
func clockAt(now time.Time, e Entry, p repair.Program) time.Time {
	now = now.UTC()
	if p.Today != nil {
		now = p.Today.UTC().Truncate(24 * time.Hour).Add(now.Sub(now.Truncate(24 * time.Hour)))
	}
	if !e.At.IsZero() {
		now = e.At.UTC()
	}
	return now.Truncate(time.Microsecond)
}

// begin looks whether the entry was answered before, locks its ends in a fixed
// order and compares versions, in one round trip. An entry that was answered gets
// its first answer; the same identifier with other content, or from another
// person, is refused.
func begin(ctx context.Context, tx pgx.Tx, e Entry, request []byte) (endIDs []string, rec Receipt, answered bool, err error) {
	ids := make([]string, 0, len(e.Ends))
	want := map[string]int64{}
	for _, r := range e.Ends {
		ids = append(ids, r.ID)
		want[r.ID] = r.Version
	}
	type locked struct {
		ID      string
		Name    string
		Version int64
	}
	var got []locked
	var was, answer []byte
	var actor string
	b := &pgx.Batch{}
	b.Queue("select actor_id::text, request, answer from receipt where entry_id = $1", e.ID).QueryRow(func(row pgx.Row) error {
		if err := row.Scan(&actor, &was, &answer); !errors.Is(err, pgx.ErrNoRows) {
			return err
		}
		return nil
	})
	// What concerns every end waits for all other edits of the program and they for
	// it, also where an end is being added or there is none yet.
	// Of another program nothing is told, not even that it moved.
	lock, cond, arg := "key share", "id = any($1::text[]::uuid[])", any(ids)
	switch {
	case e.AllEnds:
		lock, cond, arg = "update", "program_id = $1::uuid", any(e.ProgramID)
	case e.span != "":
		lock, cond, arg = "update", "span_id = $1::uuid", any(e.span)
	case e.alone:
		lock = "update"
	}
	b.Queue("select 1 from program where id = $1 for "+lock, e.ProgramID)
	b.Queue("select id, name, version from girder_end where "+cond+" and program_id = $2::uuid order by id for no key update", arg, e.ProgramID).Query(func(rows pgx.Rows) (err error) {
		got, err = pgx.CollectRows(rows, pgx.RowToStructByPos[locked])
		return err
	})
	if err := tx.SendBatch(ctx, b).Close(); err != nil {
		return nil, rec, false, fmt.Errorf("begin edit: %w", err)
	}
	if was != nil {
		if actor != e.Actor.ID || !bytes.Equal(was, request) {
			return nil, rec, false, fault.New(fault.Duplicate, "another entry has this identifier; nothing was changed")
		}
		if err := json.Unmarshal(answer, &rec); err != nil {
			return nil, rec, false, fmt.Errorf("receipt: %w", err)
		}
		rec.Repeated = true
		return nil, rec, true, nil
	}
	out := make([]string, 0, len(got))
	for _, g := range got {
		out = append(out, g.ID)
		if w := want[g.ID]; w != 0 && w != g.Version {
			s := &Stale{EndID: g.ID, Name: g.Name, Saw: w, Now: g.Version, By: "someone"}
			err := tx.QueryRow(ctx, "select actor, at from journal where end_id = $1 order by seq desc limit 1", g.ID).Scan(&s.By, &s.At)
			if err != nil && !errors.Is(err, pgx.ErrNoRows) {
				return nil, rec, false, fmt.Errorf("stale: %w", err)
			}
			return nil, rec, false, s
		}
	}
	if !e.wide() && len(got) != len(e.Ends) {
		return nil, rec, false, fault.New(fault.NotFound, "there is no such girder end in this program")
	}
	return out, rec, false, nil
}

// writeFault turns what the database refuses into a fault for the person.
func writeFault(err error) error {
	var pg *pgconn.PgError
	if !errors.As(err, &pg) {
		return fmt.Errorf("write: %w", err)
	}
	if again(err) {
		return err
	}
	switch pg.Code {
	case "23505":
		return fault.Wrap(fault.Duplicate, err, "the same thing is on record already (%s)", pg.ConstraintName)
	case "23514", "23502", "22003":
		return fault.Wrap(fault.Refused, err, "the record does not take this value (%s)", pg.ConstraintName)
	case "23503":
		return fault.Wrap(fault.Refused, err, "something that this refers to does not exist (%s)", pg.ConstraintName)
	}
	return fmt.Errorf("write: %w", err)
}
