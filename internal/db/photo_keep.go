package db

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// photoLock is held while originals move and while a backup copies them, so that a
// file is not taken away between the two.
const photoLock = 0x656e6463 // "endc"

// eachPicture calls f with the hash of every original, in order, and whether its bytes
// are in the database. It holds no row open between calls.
func eachPicture(ctx context.Context, q querier, f func(sha string, inRow bool) error) error {
	last := ""
	for {
		rows, err := q.Query(ctx, "select sha256, bytes is not null from photo_blob where sha256 > $1 order by sha256 limit 500", last)
		if err != nil {
			return fmt.Errorf("list photographs: %w", err)
		}
		type line struct {
			SHA256 string
			InRow  bool
		}
		some, err := pgx.CollectRows(rows, pgx.RowToStructByPos[line])
		if err != nil {
			return fmt.Errorf("list photographs: %w", err)
		}
		if len(some) == 0 {
			return nil
		}
		for _, l := range some {
			if err := f(l.SHA256, l.InRow); err != nil {
				return err
			}
		}
		last = some[len(some)-1].SHA256
	}
}

// pictures reads every original, wherever it is, and compares it with its hash.
func (v *Verified) pictures(ctx context.Context, tx pgx.Tx, folder *Folder) error {
	return eachPicture(ctx, tx, func(sha string, inRow bool) error {
		v.Photos++
		where := "photograph " + sha[:min(12, len(sha))]
		if !inRow {
			if folder == nil {
				v.say(where, "is in the folder of photographs, which was not named")
			} else if data, err := folder.Get(sha); err != nil {
				v.say(where, "%v", err)
			} else {
				v.PhotoBytes += int64(len(data))
			}
			return nil
		}
		var data []byte
		if err := tx.QueryRow(ctx, "select bytes from photo_blob where sha256 = $1", sha).Scan(&data); err != nil {
			return fmt.Errorf("verify photographs: %w", err)
		}
		v.PhotoBytes += int64(len(data))
		if sum := sha256.Sum256(data); hex.EncodeToString(sum[:]) != sha {
			v.say(where, "its content does not have its hash")
		}
		return nil
	})
}

// CheckPhotos reads every original and compares it with its hash; it is the part of
// Verify that looks at photographs.
func (st *Store) CheckPhotos(ctx context.Context) (Verified, error) {
	var v Verified
	err := pgx.BeginTxFunc(ctx, st.Pool, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, "set local statement_timeout = 0; set local idle_in_transaction_session_timeout = 0"); err != nil {
			return err
		}
		return v.pictures(ctx, tx, st.Folder)
	})
	return v, err
}

// MovePhotos brings every original into the folder, or back into the database, one by
// one, and returns how many moved. Each is compared with its hash, is whole in its new
// place before the old one is given up, and what is moved already is left alone: after
// an interruption it goes on. People may work meanwhile.
func (st *Store) MovePhotos(ctx context.Context, intoFolder bool) (moved int, err error) {
	if st.Folder == nil {
		return 0, errors.New("photographs move between the database and a folder: name it with -photos or ENDCAST_PHOTOS")
	}
	conn, err := st.Pool.Acquire(ctx)
	if err != nil {
		return 0, err
	}
	defer conn.Release()
	var free bool
	if err := conn.QueryRow(ctx, "select pg_try_advisory_lock($1)", photoLock).Scan(&free); err != nil {
		return 0, err
	}
	if !free {
		return 0, errors.New("a backup is copying the photographs, or another move is under way: try again when it is done")
	}
	defer func() {
		_, e := conn.Exec(context.WithoutCancel(ctx), "select pg_advisory_unlock($1)", photoLock)
		err = errors.Join(err, e)
	}()
	err = eachPicture(ctx, st.Pool, func(sha string, inRow bool) error {
		if inRow != intoFolder {
			return nil
		}
		data, err := st.pictureBytes(ctx, st.Pool, sha)
		if err != nil {
			return fmt.Errorf("photograph %.12s: %w", sha, err)
		}
		if intoFolder {
			if err := st.Folder.Put(sha, data); err != nil {
				return err
			}
			_, err = st.Pool.Exec(ctx, "update photo_blob set bytes = null, size_b = $2 where sha256 = $1", sha, len(data))
		} else {
			if _, err = st.Pool.Exec(ctx, "update photo_blob set bytes = $2, size_b = $3 where sha256 = $1", sha, data, len(data)); err == nil {
				err = st.Folder.Remove(sha)
			}
		}
		if err == nil {
			moved++
		}
		return err
	})
	return moved, err
}

// MakeThumbs makes the small copies that are not there yet; with anew all of them.
func (st *Store) MakeThumbs(ctx context.Context, anew bool) (made int, err error) {
	if anew {
		if _, err := st.Pool.Exec(ctx, "delete from photo_thumb"); err != nil {
			return 0, err
		}
	}
	err = eachPicture(ctx, st.Pool, func(sha string, _ bool) error {
		if _, found, err := st.storedThumb(ctx, sha); err != nil || found {
			return err
		}
		if _, err := st.PhotoThumb(ctx, sha); err != nil {
			return fmt.Errorf("photograph %.12s: %w", sha, err)
		}
		made++
		return nil
	})
	return made, err
}
