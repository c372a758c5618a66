package db

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
)

// Snapshot is the record of a program, or of one end of it, at one instant: everything
// read from it belongs together, however long the reading takes and whatever is
// edited meanwhile. It reads a little at a time.
type Snapshot struct {
	Frame *repair.Scope // the program without its ends
	End   string        // name of the one end; "" for the whole program
	Last  int64         // last entry of the journal of this server
	Made  time.Time     // by the clock of the program

	st     *Store
	tx     pgx.Tx
	id     string // of the program
	endID  string
	tables []RecordTable
	left   []LeftTable
}

// Snapshot opens one and calls f with it. An end is named by name or identifier; ""
// takes the whole program.
func (st *Store) Snapshot(ctx context.Context, programID, end string, f func(*Snapshot) error) error {
	return pgx.BeginTxFunc(ctx, st.Pool, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, "set local statement_timeout = 0; set local idle_in_transaction_session_timeout = 0"); err != nil {
			return err
		}
		s := &Snapshot{st: st, tx: tx, id: programID}
		var err error
		if s.Frame, err = loadScope(ctx, tx, programID, nil); err != nil {
			return err
		}
		s.Made = st.clock(Entry{}, s.Frame.Program)
		if end != "" {
			err := tx.QueryRow(ctx, "select id::text, name from girder_end where program_id = $1 and (name = upper($2) or id::text = $2)", programID, end).Scan(&s.endID, &s.End)
			if errors.Is(err, pgx.ErrNoRows) {
				return fault.New(fault.NotFound, "there is no girder end %s in this program", short(end))
			}
			if err != nil {
				return fmt.Errorf("end: %w", err)
			}
		}
		if err := tx.QueryRow(ctx, "select coalesce(max(seq), 0) from journal").Scan(&s.Last); err != nil {
			return fmt.Errorf("last entry: %w", err)
		}
		if s.tables, s.left, err = recordTables(ctx, tx); err != nil {
			return err
		}
		return f(s)
	})
}

// Tables are the tables that hold rows of the program, by name.
func (s *Snapshot) Tables() []RecordTable { return s.tables }

// Left are the tables of the database that a package leaves out.
func (s *Snapshot) Left() []LeftTable { return s.left }

// Rows calls f for each row of a table in the order of its key. The cells are good
// until f returns.
func (s *Snapshot) Rows(ctx context.Context, t RecordTable, f func(cells []*string) error) error {
	args := []any{s.id}
	ofEnd := s.endID != "" && t.end != ""
	if ofEnd {
		args = append(args, s.endID)
	}
	rows, err := s.tx.Query(ctx, t.statement(ofEnd), args...)
	if err != nil {
		return fmt.Errorf("read %s: %w", t.Name, err)
	}
	cells := make([]*string, len(t.Columns))
	into := make([]any, len(t.Columns))
	for i := range cells {
		into[i] = &cells[i]
	}
	_, err = pgx.ForEachRow(rows, into, func() error { return f(cells) })
	if err != nil {
		return fmt.Errorf("read %s: %w", t.Name, err)
	}
	return nil
}

// Person is somebody who has or had a part in a program.
type Person struct{ ID, Name, Role string }

// People are those who have a role in the program, and those whose entries are in its
// journal. Addresses and passwords stay where they are.
func (s *Snapshot) People(ctx context.Context) ([]Person, error) {
	rows, err := s.tx.Query(ctx, `select u.id::text, u.name, coalesce(m.role, '') from app_user u left join membership m on m.user_id = u.id and m.program_id = $1
		where m.role is not null or u.id in (select actor_id from journal where program_id = $1) order by u.id`, s.id)
	if err != nil {
		return nil, fmt.Errorf("people: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[Person])
}

// JournalEntry is one entry of the journal word for word. Its JSON is a line of a
// package.
type JournalEntry struct {
	Seq       int64   `json:"seq"`
	At        string  `json:"at"`
	Micros    int64   `json:"at_us"`
	EntryID   string  `json:"entry_id"`
	ProgramID *string `json:"program_id"`
	EndID     *string `json:"end_id"`
	ActorID   string  `json:"actor_id"`
	Actor     string  `json:"actor"`
	Kind      string  `json:"kind"`
	Body      string  `json:"body"`
	PrevHash  string  `json:"prev_hash"`
	Hash      string  `json:"hash"`
	Partial   bool    `json:"partial"` // of a package that leaves entries of the program out
}

// Journal calls f for each entry of the program in order; of one end, for its entries
// and those of the program or of several ends.
func (s *Snapshot) Journal(ctx context.Context, f func(JournalEntry) error) error {
	cond, args := "program_id = $1", []any{s.id}
	if s.endID != "" {
		cond, args = "program_id = $1 and (end_id = $2 or end_id is null)", append(args, s.endID)
	}
	rows, err := s.tx.Query(ctx, `select seq, at, entry_id, program_id, end_id, actor_id, actor, kind, body, prev_hash, hash from journal where `+cond+` order by seq`, args...)
	if err != nil {
		return fmt.Errorf("read journal: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		e, err := pgx.RowToStructByPos[journalEntry](rows)
		if err != nil {
			return fmt.Errorf("read journal: %w", err)
		}
		err = f(JournalEntry{Seq: e.Seq, At: e.At.UTC().Format("2006-01-02T15:04:05.000000Z"), Micros: e.At.UnixMicro(), EntryID: e.EntryID, ProgramID: e.ProgramID, EndID: e.EndID,
			ActorID: e.ActorID, Actor: e.Actor, Kind: e.Kind, Body: string(e.Body), PrevHash: hex.EncodeToString(e.PrevHash), Hash: hex.EncodeToString(e.Hash), Partial: s.endID != ""})
		if err != nil {
			return err
		}
	}
	return rows.Err()
}

// endsAtOnce is how many ends a snapshot loads together.
const endsAtOnce = 40

// Ends calls f for each end with the scope that it stands in, in the order of the
// bridge.
func (s *Snapshot) Ends(ctx context.Context, f func(*repair.Scope, *repair.Record) error) error {
	rows, err := s.tx.Query(ctx, "select id::text from girder_end where program_id = $1 and ($2 = '' or id::text = $2) order by span_no, side desc, girder_no, id", s.id, s.endID)
	if err != nil {
		return fmt.Errorf("ends: %w", err)
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return fmt.Errorf("ends: %w", err)
	}
	for len(ids) > 0 {
		some := ids[:min(len(ids), endsAtOnce)]
		ids = ids[len(some):]
		sc, err := loadScope(ctx, s.tx, s.id, some)
		if err != nil {
			return err
		}
		at := map[string]*repair.Record{}
		for _, r := range sc.Ends {
			at[r.End.ID] = r
		}
		for _, id := range some {
			if err := f(sc, at[id]); err != nil {
				return err
			}
		}
	}
	return nil
}

// PackedPhoto is a photograph of the record as a package names it. Of one that is
// Sealed only a copy without metadata is shown to most people.
type PackedPhoto struct {
	SHA256, Kind string
	Sealed       bool
}

// Photos are the photographs, each once, by hash.
func (s *Snapshot) Photos(ctx context.Context) ([]PackedPhoto, error) {
	rows, err := s.tx.Query(ctx, `select p.sha256, min(p.media_type), bool_or(p.policy = 'sealed' or g.photo_policy = 'sealed') from photo p
		join girder_end e on e.id = p.end_id join program g on g.id = e.program_id
		where e.program_id = $1 and ($2 = '' or e.id::text = $2) group by p.sha256 order by p.sha256`, s.id, s.endID)
	if err != nil {
		return nil, fmt.Errorf("photographs: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[PackedPhoto])
}

// Photo reads the original of a photograph.
func (s *Snapshot) Photo(ctx context.Context, sha string) ([]byte, error) {
	return s.st.pictureBytes(ctx, s.tx, sha)
}

// RawFiles are the kept files that rows of the record name, each once, by hash: any
// column sha256 of a table with rows of the program or end.
func (s *Snapshot) RawFiles(ctx context.Context) ([]string, error) {
	var out []string
	seen := map[string]bool{}
	for _, t := range s.tables {
		at := -1
		for i, c := range t.Columns {
			if c.Name == "sha256" && t.Name != "photo" {
				at = i
			}
		}
		if at < 0 {
			continue
		}
		err := s.Rows(ctx, t, func(cells []*string) error {
			if c := cells[at]; c != nil && *c != "" && !seen[*c] {
				seen[*c] = true
				out = append(out, *c)
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

// RawFile writes a kept file piece by piece and holds it to its hash. The error is a
// fault.NotFound where there is none.
func (s *Snapshot) RawFile(ctx context.Context, sha string, w io.Writer) error {
	h := sha256.New()
	for piece := 0; ; piece++ {
		var data []byte
		err := s.tx.QueryRow(ctx, "select bytes from raw_file where sha256 = $1 and piece = $2", sha, piece).Scan(&data)
		switch {
		case errors.Is(err, pgx.ErrNoRows) && piece == 0:
			return fault.New(fault.NotFound, "there is no file %.12s", sha)
		case errors.Is(err, pgx.ErrNoRows):
			if hex.EncodeToString(h.Sum(nil)) != sha {
				return fault.New(fault.Internal, "the file %.12s does not have its hash", sha)
			}
			return nil
		case err != nil:
			return fmt.Errorf("read file: %w", err)
		}
		h.Write(data)
		if _, err := w.Write(data); err != nil {
			return err
		}
	}
}

// HasRawFile reports whether a file is kept.
func (s *Snapshot) HasRawFile(ctx context.Context, sha string) (bool, error) {
	var there bool
	err := s.tx.QueryRow(ctx, "select exists (select from raw_file where sha256 = $1)", sha).Scan(&there)
	return there, err
}

// TabletEntries calls f with what tablets sent, word for word, in the order in which
// it arrived.
func (s *Snapshot) TabletEntries(ctx context.Context, f func(json.RawMessage) error) error {
	rows, err := s.tx.Query(ctx, `select raw from tablet_entry where program_id = $1 and ($2 = '' or end_id::text = $2) order by arrived_at, id`, s.id, s.endID)
	if err != nil {
		return fmt.Errorf("entries of tablets: %w", err)
	}
	var raw []byte
	_, err = pgx.ForEachRow(rows, []any{&raw}, func() error { return f(raw) })
	return err
}
