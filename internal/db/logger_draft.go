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
	EndID  string // that a file of strain was sent for; empty for a casting's
}

// mostLoggerDrafts bounds what one person has waiting in a program.
const mostLoggerDrafts = 8

// KeepLoggerDraft stores a file as it comes, in constant memory. Drafts older than a
// day go, whoever's they are, and the oldest of this person beyond a few.
func (st *Store) KeepLoggerDraft(ctx context.Context, programID, userID string, pour int, name string, r io.Reader) (LoggerDraft, error) {
	return st.keepDraft(ctx, programID, userID, LoggerDraft{Pour: pour, Name: name}, r)
}

// KeepStrainDraft is KeepLoggerDraft for a file of strain of an end.
func (st *Store) KeepStrainDraft(ctx context.Context, programID, userID, endID, name string, r io.Reader) (LoggerDraft, error) {
	return st.keepDraft(ctx, programID, userID, LoggerDraft{EndID: endID, Name: name}, r)
}

func (st *Store) keepDraft(ctx context.Context, programID, userID string, d LoggerDraft, r io.Reader) (LoggerDraft, error) {
	d = LoggerDraft{ID: uuid.Must(uuid.NewV7()).String(), Pour: d.Pour, At: st.Now().UTC(), Name: d.Name, EndID: d.EndID}
	err := pgx.BeginFunc(ctx, st.Pool, func(tx pgx.Tx) error {
		b := &pgx.Batch{}
		const idle = " and not exists (select from strain_job j where j.draft_id = logger_draft.id and j.state in ('waiting', 'running'))"
		b.Queue("delete from logger_draft where created_at < $1"+idle, d.At.Add(-draftAge))
		b.Queue(`delete from logger_draft where id in (select id from logger_draft where program_id = $1 and user_id = $2`+idle+`
			order by created_at desc, id desc offset $3)`, programID, userID, mostLoggerDrafts-1)
		b.Queue("insert into logger_draft (id, program_id, user_id, pour, created_at, name, end_id) values ($1, $2, $3, $4, $5, $6, nullif($7, '')::uuid)", d.ID, programID, userID, d.Pour, d.At, d.Name, d.EndID)
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

const draftColumns = "select id::text, pour, created_at, name, sha256, size, coalesce(end_id::text, '') from logger_draft where program_id = $1 and user_id = $2 and created_at >= $3 "

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
	rows, err := st.Pool.Query(ctx, draftColumns+"and end_id is null and pour = $4 order by created_at desc, id desc", programID, userID, st.Now().UTC().Add(-draftAge), pour)
	if err != nil {
		return nil, fmt.Errorf("logger files: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[LoggerDraft])
}

// StrainDrafts lists what a person has waiting for an end, newest first.
func (st *Store) StrainDrafts(ctx context.Context, programID, userID, endID string) ([]LoggerDraft, error) {
	rows, err := st.Pool.Query(ctx, draftColumns+"and end_id = $4 order by created_at desc, id desc", programID, userID, st.Now().UTC().Add(-draftAge), endID)
	if err != nil {
		return nil, fmt.Errorf("logger files: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[LoggerDraft])
}

// draftBytes reads the pieces of a draft where they lie, so that a large file is never
// copied whole. It keeps the last piece that it read.
type draftBytes struct {
	ctx   context.Context // of the one request or job that reads
	st    *Store
	id    string
	size  int64
	piece int
	data  []byte
	read  int64 // farthest byte read so far
}

// OpenLoggerDraft opens the file of a draft for reading anywhere. One goroutine at a
// time may read.
func (st *Store) OpenLoggerDraft(ctx context.Context, d LoggerDraft) io.ReaderAt {
	return &draftBytes{ctx: ctx, st: st, id: d.ID, size: d.Size, piece: -1}
}

// ReadAt implements io.ReaderAt.
func (d *draftBytes) ReadAt(p []byte, off int64) (int, error) {
	n := 0
	for n < len(p) && off+int64(n) < d.size {
		at := off + int64(n)
		if piece := int(at / rawPiece); piece != d.piece {
			err := d.st.Pool.QueryRow(d.ctx, "select bytes from logger_draft_piece where draft_id = $1 and piece = $2", d.id, piece).Scan(&d.data)
			if errors.Is(err, pgx.ErrNoRows) {
				return n, fault.New(fault.NotFound, "this file is no longer here: it is kept for a day; send it again")
			}
			if err != nil {
				return n, fmt.Errorf("logger file: %w", err)
			}
			d.piece = piece
		}
		n += copy(p[n:], d.data[at%rawPiece:])
		d.read = max(d.read, off+int64(n))
	}
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
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
