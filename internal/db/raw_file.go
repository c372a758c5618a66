package db

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
)

// rawPiece is how much of a kept file one row holds.
const rawPiece = 1 << 20

// storeRaw keeps files as they came, piece by piece. A file that is not what its
// digest says is refused.
func storeRaw(ctx context.Context, tx pgx.Tx, files []repair.RawFile) error {
	for _, f := range files {
		var have bool
		if err := tx.QueryRow(ctx, "select exists (select from raw_file where sha256 = $1)", f.SHA256).Scan(&have); err != nil {
			return fmt.Errorf("keep file: %w", err)
		}
		if have {
			continue
		}
		if err := storeOne(ctx, tx, f); err != nil {
			return err
		}
	}
	return nil
}

func storeOne(ctx context.Context, tx pgx.Tx, f repair.RawFile) error {
	r, err := f.Open()
	if err != nil {
		return fmt.Errorf("keep file: %w", err)
	}
	defer r.Close()
	sum := sha256.New()
	buf := make([]byte, rawPiece)
	for piece := 0; ; piece++ {
		n, err := io.ReadFull(r, buf)
		if n > 0 || piece == 0 {
			sum.Write(buf[:n])
			if _, err := tx.Exec(ctx, "insert into raw_file (sha256, piece, bytes) values ($1, $2, $3)", f.SHA256, piece, buf[:n]); err != nil {
				return writeFault(err)
			}
		}
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			break
		}
		if err != nil {
			return fmt.Errorf("keep file: %w", err)
		}
	}
	if hex.EncodeToString(sum.Sum(nil)) != f.SHA256 {
		return fault.New(fault.Malformed, "the file is not the one that was read; nothing was stored")
	}
	return nil
}

// RawFile writes a kept file as it came.
func (st *Store) RawFile(ctx context.Context, sha string, w io.Writer) error {
	for piece := 0; ; piece++ {
		var data []byte
		err := st.Pool.QueryRow(ctx, "select bytes from raw_file where sha256 = $1 and piece = $2", sha, piece).Scan(&data)
		switch {
		case errors.Is(err, pgx.ErrNoRows) && piece == 0:
			return fault.New(fault.NotFound, "there is no such file")
		case errors.Is(err, pgx.ErrNoRows):
			return nil
		case err != nil:
			return fmt.Errorf("read file: %w", err)
		}
		if _, err := w.Write(data); err != nil {
			return err
		}
	}
}
