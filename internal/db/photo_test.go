package db_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/db/dbtest"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/migrations"
)

func TestFolderKeepsPicturesByTheirHash(t *testing.T) {
	t.Parallel()
	f, err := db.OpenFolder(filepath.Join(t.TempDir(), "new", "photos"))
	require.NoError(t, err)
	data := []byte("the bytes of a picture")
	sum := sha256.Sum256(data)
	sha := hex.EncodeToString(sum[:])
	require.ErrorContains(t, f.Put(sha, []byte("others")), "does not have the hash")
	require.NoError(t, f.Put(sha, data))
	require.NoError(t, f.Put(sha, data))
	got, err := f.Get(sha)
	require.NoError(t, err)
	require.Equal(t, data, got)
	file := filepath.Join(f.Dir(), sha[:2], sha)
	require.NoError(t, os.WriteFile(file, []byte("the bytes of a pictur3"), 0o600))
	_, err = f.Get(sha)
	require.ErrorContains(t, err, "is damaged")
	require.NoError(t, f.Put(sha, data), "a damaged file is replaced")
	_, err = f.Get(sha)
	require.NoError(t, err)
	left, err := filepath.Glob(filepath.Join(f.Dir(), "*", ".part-*"))
	require.NoError(t, err)
	require.Empty(t, left)
	for _, bad := range []string{"", "../../../../etc/passwd", sha[:63] + "G"} {
		_, err = f.Get(bad)
		require.ErrorContains(t, err, "is no hash")
	}
	require.NoError(t, f.Remove(sha))
	require.NoError(t, f.Remove(sha))
	_, err = f.Get(sha)
	require.ErrorIs(t, err, os.ErrNotExist)
}

func dots(t *testing.T, shade uint8) (data []byte, sha string) {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, 40, 30))
	img.SetGray(1, 1, color.Gray{Y: shade})
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, img))
	sum := sha256.Sum256(b.Bytes())
	return b.Bytes(), hex.EncodeToString(sum[:])
}

// Pictures of both storages go through a backup into an empty place and come back with
// their hashes; they move both ways, and a damaged one is found and named.
func TestPhotographsSurviveMoveBackupAndRestore(t *testing.T) {
	t.Parallel()
	bin := dbtest.Install(t).Bin
	f := setup(t)
	st, end := f.Store, f.end(t, "1N-1").End.ID
	add := func(shade uint8) string {
		data, sha := dots(t, shade)
		_, err := st.Edit(t.Context(), db.Entry{ID: uuid.NewString(), ProgramID: f.program, Actor: f.people[authz.Inspector], Ends: []db.EndRef{{ID: end}}, Change: repair.AddPhoto{Bytes: data, SHA256: sha, Caption: "dots"}})
		require.NoError(t, err)
		return sha
	}
	sums := []string{add(1), add(2)}
	folder, err := db.OpenFolder(filepath.Join(t.TempDir(), "photos"))
	require.NoError(t, err)
	st.Folder = folder
	sums = append(sums, add(3), add(4))
	require.False(t, folder.Has(sums[0]))
	require.True(t, folder.Has(sums[3]))
	intact := func(st *db.Store) {
		t.Helper()
		v, err := st.Verify(t.Context())
		require.NoError(t, err)
		require.Empty(t, v.Differences)
		require.Equal(t, 4, v.Photos)
		for _, sha := range sums {
			data, err := st.PhotoBytes(t.Context(), sha)
			require.NoError(t, err)
			sum := sha256.Sum256(data)
			require.Equal(t, sha, hex.EncodeToString(sum[:]))
		}
	}
	intact(st)
	thumb, err := st.PhotoThumb(t.Context(), sums[2])
	require.NoError(t, err)
	require.Equal(t, []int{40, 30}, []int{thumb.Width, thumb.Height})

	n, err := st.MovePhotos(t.Context(), true)
	require.NoError(t, err)
	require.Equal(t, 2, n)
	n, err = st.MovePhotos(t.Context(), true)
	require.NoError(t, err)
	require.Zero(t, n)
	intact(st)
	n, err = st.MovePhotos(t.Context(), false)
	require.NoError(t, err)
	require.Equal(t, 4, n)
	require.False(t, folder.Has(sums[3]), "a file is given up once its picture is in the database")
	intact(st)
	_, err = st.MovePhotos(t.Context(), true)
	require.NoError(t, err)

	from := st.Pool.Config().ConnString()
	file := filepath.Join(t.TempDir(), "all.backup")
	require.ErrorContains(t, db.Backup(t.Context(), bin, from, file, nil), "4 photographs are in a folder")
	require.NoFileExists(t, file)
	require.NoError(t, db.Backup(t.Context(), bin, from, file, folder))
	restored := func(into *db.Folder) *db.Store {
		to := dbtest.EmptyDSN(t)
		require.NoError(t, db.Restore(t.Context(), bin, to, file, migrations.FS, into))
		pool, err := db.Open(t.Context(), to)
		require.NoError(t, err)
		t.Cleanup(pool.Close)
		out := db.NewStore(pool)
		out.Folder = into
		return out
	}
	empty, err := db.OpenFolder(filepath.Join(t.TempDir(), "elsewhere"))
	require.NoError(t, err)
	intact(restored(empty))
	intact(restored(nil)) // without a folder they come into the database

	// What is damaged on the disk is named, and no backup claims to hold it.
	require.NoError(t, os.WriteFile(filepath.Join(folder.Dir(), sums[1][:2], sums[1]), []byte("noise"), 0o600))
	v, err := st.CheckPhotos(t.Context())
	require.NoError(t, err)
	require.Len(t, v.Differences, 1)
	require.Contains(t, v.Differences[0].What, "is damaged")
	second := filepath.Join(t.TempDir(), "second.backup")
	require.ErrorContains(t, db.Backup(t.Context(), bin, from, second, folder), "1 of 4 photographs could not be copied")
	require.NoFileExists(t, second)
}
