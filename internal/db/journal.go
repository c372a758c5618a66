package db

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"
)

// journalLock serialises appends to the journal, so that the chain never forks.
const journalLock = 727_001

// A journalEntry is one row of the journal.
type journalEntry struct {
	Seq       int64
	At        time.Time
	EntryID   string
	ProgramID *string
	EndID     *string
	ActorID   string
	Actor     string
	Kind      string
	Body      []byte
	PrevHash  []byte
	Hash      []byte
}

// journalBody is the JSON of an entry: what was asked, and each row as it was
// and as it became.
type journalBody struct {
	Follows  *chainLink      `json:"follows,omitempty"` // none in entries of before this was kept
	Captured time.Time       `json:"captured"`
	Role     string          `json:"role"`
	Through  string          `json:"through,omitempty"` // name of the token by which the person acted
	Ends     []string        `json:"ends,omitempty"`
	Change   json.RawMessage `json:"change"`
	Rows     []rowChange     `json:"rows"`
}

// A chainLink names an entry by number and hash. The chain of hashes runs through all
// programs of a server; this one closes the gaps between the entries of one program,
// so that they can be checked without those of the others. A first entry follows 0.
type chainLink struct {
	Seq  int64  `json:"seq"`
	Hash string `json:"hash"`
}

// sum is the SHA-256 over the fields of the entry, each with its length before
// it, the hash of the entry before first. The times are microseconds since 1970.
func (e journalEntry) sum() []byte {
	h := sha256.New()
	part := func(b []byte) {
		var n [8]byte
		binary.BigEndian.PutUint64(n[:], uint64(len(b)))
		h.Write(n[:])
		h.Write(b)
	}
	num := func(v int64) []byte {
		var n [8]byte
		binary.BigEndian.PutUint64(n[:], uint64(v))
		return n[:]
	}
	opt := func(s *string) []byte {
		if s == nil {
			return nil
		}
		return []byte(*s)
	}
	part(e.PrevHash)
	part(num(e.Seq))
	part(num(e.At.UnixMicro()))
	part([]byte(e.EntryID))
	part(opt(e.ProgramID))
	part(opt(e.EndID))
	part([]byte(e.ActorID))
	part([]byte(e.Actor))
	part([]byte(e.Kind))
	part(e.Body)
	return h.Sum(nil)
}

// queueJournalTip takes the journal's lock, to be held until the commit, and
// reads the entry that e will follow. It goes last in the batch of an edit's
// writes, so that the lock is held as short as can be. It also reads the entry before
// in the program.
func queueJournalTip(b *pgx.Batch, e *journalEntry, programID string) *chainLink {
	link := &chainLink{}
	b.Queue("select pg_advisory_xact_lock($1)", journalLock)
	b.Queue("select seq, hash from journal order by seq desc limit 1").QueryRow(func(row pgx.Row) error {
		err := row.Scan(&e.Seq, &e.PrevHash)
		if errors.Is(err, pgx.ErrNoRows) {
			e.Seq, e.PrevHash = 0, make([]byte, sha256.Size)
			return nil
		}
		return err
	})
	b.Queue("select seq, encode(hash, 'hex') from journal where program_id = $1 order by seq desc limit 1", programID).QueryRow(func(row pgx.Row) error {
		if err := row.Scan(&link.Seq, &link.Hash); !errors.Is(err, pgx.ErrNoRows) {
			return err
		}
		return nil
	})
	return link
}

// queueJournal queues the entry as the one after the tip and returns its number.
func queueJournal(b *pgx.Batch, e *journalEntry) int64 {
	e.Seq++
	e.Hash = e.sum()
	b.Queue(`insert into journal (seq, at, entry_id, program_id, end_id, actor_id, actor, kind, body, prev_hash, hash)
		values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)`,
		e.Seq, e.At, e.EntryID, e.ProgramID, e.EndID, e.ActorID, e.Actor, e.Kind, e.Body, e.PrevHash, e.Hash)
	return e.Seq
}
