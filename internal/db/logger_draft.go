package db

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/fault"
)

// LoggerDraft is a file of a logger that waits until its sender confirms how its
// columns are read. It is kept for a day and is no part of the record.
type LoggerDraft struct {
	ID     string
	Pour   int
	At     time.Time
	Name   string
	SHA256 string
	Size   int64
}

// mostLoggerDrafts bounds what one person has waiting in a program.
const mostLoggerDrafts = 8

// KeepLoggerDraft stores a file as it comes, in constant memory. Drafts older than a
// day go, whoever's they are, and the oldest of this person beyond a few.
func (st *Store) KeepLoggerDraft(ctx context.Context, programID, userID string, pour int, name string, r io.Reader) (LoggerDraft, error) {
	d := LoggerDraft{ID: uuid.Must(uuid.NewV7()).String(), Pour: pour, At: st.Now().UTC(), Name: name}
	err := pgx.BeginFunc(ctx, st.Pool, func(tx pgx.Tx) error {
		b := &pgx.Batch{}
		b.Queue("delete from logger_draft where created_at < $1", d.At.Add(-draftAge))
		b.Queue(`delete from logger_draft where id in (select id from logger_draft where program_id = $1 and user_id = $2
			order by created_at desc, id desc offset $3)`, programID, userID, mostLoggerDrafts-1)
		b.Queue("insert into logger_draft (id, program_id, user_id, pour, created_at, name) values ($1, $2, $3, $4, $5, $6)", d.ID, programID, userID, pour, d.At, name)
		if err := tx.SendBatch(ctx, b).Close(); err != nil {
			return err
		}
		sum := sha256.New()
		buf := make([]byte, rawPiece)
		for piece := 0; ; piece++ {
			n, err := io.ReadFull(r, buf)
			if n > 0 {
				sum.Write(buf[:n])
				d.Size += int64(n)
				if _, err := tx.Exec(ctx, "insert into logger_draft_piece (draft_id, piece, bytes) values ($1, $2, $3)", d.ID, piece, buf[:n]); err != nil {
					return err
				}
			}
			if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
				break
			}
			if err != nil {
				return err
			}
		}
		d.SHA256 = hex.EncodeToString(sum.Sum(nil))
		_, err := tx.Exec(ctx, "update logger_draft set sha256 = $2, size = $3 where id = $1", d.ID, d.SHA256, d.Size)
		return err
	})
	if err != nil {
		return d, fmt.Errorf("keep logger file: %w", err)
	}
	return d, nil
}

const draftColumns = "select id::text, pour, created_at, name, sha256, size from logger_draft where program_id = $1 and user_id = $2 and created_at >= $3 "

// LoggerDraft returns a draft of a person, or fault.NotFound.
func (st *Store) LoggerDraft(ctx context.Context, programID, userID, id string) (LoggerDraft, error) {
	gone := fault.New(fault.NotFound, "this file is no longer here: it is kept for a day; send it again")
	if _, err := uuid.Parse(id); err != nil {
		return LoggerDraft{}, gone
	}
	rows, err := st.Pool.Query(ctx, draftColumns+"and id = $4", programID, userID, st.Now().UTC().Add(-draftAge), id)
	if err != nil {
		return LoggerDraft{}, fmt.Errorf("logger file: %w", err)
	}
	d, err := pgx.CollectExactlyOneRow(rows, pgx.RowToStructByPos[LoggerDraft])
	if errors.Is(err, pgx.ErrNoRows) {
		return d, gone
	}
	return d, err
}

// LoggerDrafts lists what a person has waiting for a casting, newest first.
func (st *Store) LoggerDrafts(ctx context.Context, programID, userID string, pour int) ([]LoggerDraft, error) {
	rows, err := st.Pool.Query(ctx, draftColumns+"and pour = $4 order by created_at desc, id desc", programID, userID, st.Now().UTC().Add(-draftAge), pour)
	if err != nil {
		return nil, fmt.Errorf("logger files: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[LoggerDraft])
}

// CopyLoggerDraft writes the file of a draft as it came.
func (st *Store) CopyLoggerDraft(ctx context.Context, d LoggerDraft, w io.Writer) error {
	for piece := 0; ; piece++ {
		var data []byte
		err := st.Pool.QueryRow(ctx, "select bytes from logger_draft_piece where draft_id = $1 and piece = $2", d.ID, piece).Scan(&data)
		if errors.Is(err, pgx.ErrNoRows) {
			return nil
		}
		if err != nil {
			return fmt.Errorf("logger file: %w", err)
		}
		if _, err := w.Write(data); err != nil {
			return err
		}
	}
}

// DropLoggerDraft lets go of a draft.
func (st *Store) DropLoggerDraft(ctx context.Context, programID, userID, id string) error {
	if _, err := st.Pool.Exec(ctx, "delete from logger_draft where id::text = $1 and program_id = $2 and user_id = $3", id, programID, userID); err != nil {
		return fmt.Errorf("logger file: %w", err)
	}
	return nil
}
