package db

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/picture"
	"endcast/internal/domain/repair"
)

const insertPicture = "insert into photo_blob (sha256, bytes, size_b) values ($1, $2, $3) on conflict do nothing"

// place writes the original of a picture to the folder, if there is one, and returns
// what its row holds: the bytes, or nothing. A picture is on disk before the entry that
// brought it is acknowledged; of an entry that fails only a file without a row stays.
func (st *Store) place(blob repair.Blob) ([]byte, error) {
	if st.Folder == nil {
		return blob.Bytes, nil
	}
	if err := st.Folder.Put(blob.SHA256, blob.Bytes); err != nil {
		return nil, fault.Wrap(fault.Unavailable, err, "the photograph could not be written to its folder; nothing was stored and it can be sent again")
	}
	return nil, nil
}

func (st *Store) queuePicture(b *pgx.Batch, blob repair.Blob) error {
	inRow, err := st.place(blob)
	if err != nil {
		return err
	}
	b.Queue(insertPicture, blob.SHA256, inRow, len(blob.Bytes))
	return nil
}

// keepPicture keeps the bytes of a picture that does not come on record by itself.
func (st *Store) keepPicture(ctx context.Context, tx pgx.Tx, sha string, data []byte) error {
	inRow, err := st.place(repair.Blob{SHA256: sha, Bytes: data})
	if err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, insertPicture, sha, inRow, len(data)); err != nil {
		return fmt.Errorf("picture kept aside: %w", err)
	}
	return nil
}

// pictureBytes reads an original from where it is and compares it with its hash.
func (st *Store) pictureBytes(ctx context.Context, q querier, sha string) ([]byte, error) {
	data, err := st.pictureFrom(ctx, q, sha)
	if errors.Is(err, fs.ErrNotExist) {
		return st.pictureFrom(ctx, q, sha) // it may have moved into the database just now
	}
	return data, err
}

func (st *Store) pictureFrom(ctx context.Context, q querier, sha string) ([]byte, error) {
	var data []byte
	err := q.QueryRow(ctx, "select bytes from photo_blob where sha256 = $1", sha).Scan(&data)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, fault.New(fault.NotFound, "there is no such picture")
	}
	if err != nil {
		return nil, fmt.Errorf("picture: %w", err)
	}
	if data == nil {
		if st.Folder == nil {
			return nil, fault.New(fault.Unavailable, "this picture is in the folder of photographs, and the program was started without one")
		}
		data, err = st.Folder.Get(sha)
		if err != nil {
			return nil, fault.Wrap(fault.Unavailable, err, "the original of this picture cannot be read: the administrator can check the photographs")
		}
		return data, nil
	}
	if sum := sha256.Sum256(data); hex.EncodeToString(sum[:]) != sha {
		return nil, fault.New(fault.Internal, "picture %.12s: its content does not have its hash", sha)
	}
	return data, nil
}

// PhotoAt is one picture at an end with what decides how it is shown.
type PhotoAt struct {
	SHA256, Kind string
	Sealed       bool
	// Page is the policy that is in force in the program now.
	Page string
}

// FindPhoto looks a picture at an end up, by the end's name or identifier.
func (st *Store) FindPhoto(ctx context.Context, programID, end, sha string) (PhotoAt, error) {
	var p repair.Photo
	out := PhotoAt{SHA256: sha}
	err := st.Pool.QueryRow(ctx, `select p.media_type, p.policy, g.photo_policy from photo p join girder_end e on e.id = p.end_id join program g on g.id = e.program_id
		where e.program_id = $1 and (e.name = upper($2) or e.id::text = $2) and p.sha256 = $3 limit 1`, programID, end, sha).Scan(&out.Kind, &p.Policy, &out.Page)
	if errors.Is(err, pgx.ErrNoRows) {
		return out, fault.New(fault.NotFound, "there is no such picture")
	}
	if err != nil {
		return out, fmt.Errorf("picture: %w", err)
	}
	out.Sealed = p.Sealed(out.Page)
	return out, nil
}

// PhotoBytes reads the original of a picture that FindPhoto found.
func (st *Store) PhotoBytes(ctx context.Context, sha string) ([]byte, error) {
	return st.pictureBytes(ctx, st.Pool, sha)
}

// Thumb is the small copy of a picture; without bytes it says why there is none.
type Thumb struct {
	Bytes         []byte
	Width, Height int
	Why           string
}

// decoding bounds how many pictures are decoded at once, and with it the memory that
// they take.
var decoding = make(chan struct{}, 2)

// PhotoThumb returns the small copy of a picture and makes it where there is none yet.
// Small copies are derived: they are neither on record nor in the journal.
func (st *Store) PhotoThumb(ctx context.Context, sha string) (Thumb, error) {
	t, found, err := st.storedThumb(ctx, sha)
	if err != nil || found {
		return t, err
	}
	select {
	case decoding <- struct{}{}:
		defer func() { <-decoding }()
	case <-ctx.Done():
		return t, ctx.Err()
	}
	if t, found, err = st.storedThumb(ctx, sha); err != nil || found { // made while this one waited
		return t, err
	}
	data, err := st.PhotoBytes(ctx, sha)
	if err != nil {
		return t, err
	}
	info, err := picture.Inspect(data)
	if err == nil {
		t.Bytes, t.Width, t.Height, err = picture.Thumb(data, info)
	}
	if err != nil {
		t = Thumb{Why: fault.Message(err)}
	}
	_, err = st.Pool.Exec(ctx, `insert into photo_thumb (sha256, bytes, width_px, height_px, why) values ($1, $2, $3, $4, $5)
		on conflict (sha256) do nothing`, sha, t.Bytes, t.Width, t.Height, t.Why)
	if err != nil {
		return t, fmt.Errorf("small copy: %w", err)
	}
	return t, nil
}

func (st *Store) storedThumb(ctx context.Context, sha string) (t Thumb, found bool, err error) {
	err = st.Pool.QueryRow(ctx, "select bytes, width_px, height_px, why from photo_thumb where sha256 = $1", sha).Scan(&t.Bytes, &t.Width, &t.Height, &t.Why)
	if errors.Is(err, pgx.ErrNoRows) {
		return t, false, nil
	}
	if err != nil {
		return t, false, fmt.Errorf("small copy: %w", err)
	}
	return t, true, nil
}
