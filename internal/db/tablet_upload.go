package db

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/fault"
)

// TabletPiece is one piece of a picture that a tablet sends.
type TabletPiece struct {
	EntryID, ProgramID, UserID string
	SHA256                     string // of the whole picture
	Size                       int64  // of the whole picture
	Start                      int64
	Bytes                      []byte
}

// AddTabletPiece keeps a piece and returns how many bytes of the picture are there
// from its beginning. A piece that does not follow on is left out, and one that is
// there already changes nothing: the tablet goes on from what the answer says.
func (st *Store) AddTabletPiece(ctx context.Context, p TabletPiece) (have int64, err error) {
	err = pgx.BeginFunc(ctx, st.Pool, func(tx pgx.Tx) error {
		if err := st.dropForgotten(ctx, tx, p.EntryID); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `insert into tablet_upload (entry_id, program_id, by_user, sha256, size_b, begun_at) values ($1, $2, $3, $4, $5, $6) on conflict do nothing`,
			p.EntryID, p.ProgramID, p.UserID, p.SHA256, p.Size, st.Now().UTC())
		if err != nil {
			return fmt.Errorf("piece: %w", err)
		}
		var user, program, sha string
		var size int64
		if err := tx.QueryRow(ctx, "select by_user::text, program_id::text, sha256, size_b from tablet_upload where entry_id = $1 for update", p.EntryID).Scan(&user, &program, &sha, &size); err != nil {
			return fmt.Errorf("piece: %w", err)
		}
		if user != p.UserID || program != p.ProgramID {
			return fault.New(fault.Duplicate, "this number belongs to a picture of another person; nothing was changed")
		}
		if sha != p.SHA256 || size != p.Size {
			return fault.New(fault.Duplicate, "another picture has this number already; nothing was changed")
		}
		if have, err = uploaded(ctx, tx, p.EntryID); err != nil {
			return err
		}
		if p.Start != have || len(p.Bytes) == 0 {
			return nil
		}
		if have+int64(len(p.Bytes)) > size {
			return fault.New(fault.Refused, "the pieces hold more than the %d bytes that were announced", size)
		}
		if _, err := tx.Exec(ctx, "insert into tablet_piece (entry_id, start_b, bytes) values ($1, $2, $3)", p.EntryID, p.Start, p.Bytes); err != nil {
			return fmt.Errorf("piece: %w", err)
		}
		have += int64(len(p.Bytes))
		return nil
	})
	return have, err
}

// forgottenAfter is when the pieces of a picture that never became whole are dropped.
// The tablet still has it and begins anew.
const forgottenAfter = 30 * 24 * time.Hour

func (st *Store) dropForgotten(ctx context.Context, tx pgx.Tx, but string) error {
	const old = "entry_id in (select entry_id from tablet_upload where begun_at < $1 and entry_id <> $2)"
	for _, table := range []string{"tablet_piece", "tablet_upload"} {
		if _, err := tx.Exec(ctx, "delete from "+table+" where "+old, st.Now().UTC().Add(-forgottenAfter), but); err != nil {
			return fmt.Errorf("forgotten pieces: %w", err)
		}
	}
	return nil
}

func uploaded(ctx context.Context, q querier, entryID string) (int64, error) {
	var have int64
	if err := q.QueryRow(ctx, "select coalesce(sum(octet_length(bytes)), 0) from tablet_piece where entry_id = $1", entryID).Scan(&have); err != nil {
		return 0, fmt.Errorf("pieces: %w", err)
	}
	return have, nil
}

// TabletPicture puts the pieces of a picture together and compares them with the
// hash that was announced. Pieces that make another picture are dropped, so that
// the tablet begins anew.
func (st *Store) TabletPicture(ctx context.Context, programID, userID, entryID, sha string) ([]byte, error) {
	var user, program, want string
	var size int64
	err := st.Pool.QueryRow(ctx, "select by_user::text, program_id::text, sha256, size_b from tablet_upload where entry_id = $1", entryID).Scan(&user, &program, &want, &size)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, fault.New(fault.Conflict, "no piece of this picture has arrived")
	}
	if err != nil {
		return nil, fmt.Errorf("picture: %w", err)
	}
	if user != userID || program != programID || want != sha {
		return nil, fault.New(fault.Duplicate, "this number belongs to another picture; nothing was changed")
	}
	rows, err := st.Pool.Query(ctx, "select bytes from tablet_piece where entry_id = $1 order by start_b", entryID)
	if err != nil {
		return nil, fmt.Errorf("picture: %w", err)
	}
	pieces, err := pgx.CollectRows(rows, pgx.RowTo[[]byte])
	if err != nil {
		return nil, fmt.Errorf("picture: %w", err)
	}
	whole := bytes.Join(pieces, nil)
	if int64(len(whole)) < size {
		return nil, fault.New(fault.Conflict, "%d of %d bytes of this picture have arrived", len(whole), size)
	}
	if sum := sha256.Sum256(whole); hex.EncodeToString(sum[:]) != want {
		if err := st.DropTabletPieces(ctx, entryID); err != nil {
			return nil, err
		}
		return nil, fault.New(fault.Conflict, "the picture that arrived is not the one on the tablet: its hash differs; it is to be sent anew")
	}
	return whole, nil
}

// DropTabletPieces forgets the pieces of a picture: it is on record, or cannot be.
func (st *Store) DropTabletPieces(ctx context.Context, entryID string) error {
	err := pgx.BeginFunc(ctx, st.Pool, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, "delete from tablet_piece where entry_id = $1", entryID); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, "delete from tablet_upload where entry_id = $1", entryID)
		return err
	})
	if err != nil {
		return fmt.Errorf("drop pieces: %w", err)
	}
	return nil
}

// TabletAnswered returns the first answer to an entry of a person, if there is one.
func (st *Store) TabletAnswered(ctx context.Context, entryID, userID string) (bool, error) {
	var yes bool
	err := st.Pool.QueryRow(ctx, "select exists (select from tablet_entry where id = $1 and by_user = $2)", entryID, userID).Scan(&yes)
	if err != nil {
		return false, fmt.Errorf("tablet entry: %w", err)
	}
	return yes, nil
}
