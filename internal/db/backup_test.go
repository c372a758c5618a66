package db_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/db/dbtest"
	"endcast/migrations"
)

// contents is a digest of every row of every table.
func contents(t *testing.T, dsn string) map[string]string {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), dsn)
	require.NoError(t, err)
	defer func() { _ = conn.Close(context.WithoutCancel(t.Context())) }()
	rows, err := conn.Query(t.Context(), `SELECT tablename::text FROM pg_tables WHERE schemaname = 'public'`)
	require.NoError(t, err)
	tables, err := pgx.CollectRows(rows, pgx.RowTo[string])
	require.NoError(t, err)
	out := map[string]string{}
	for _, name := range tables {
		var sum string
		require.NoError(t, conn.QueryRow(t.Context(), `SELECT count(*) || ' ' || coalesce(md5(string_agg(r::text, E'\n' ORDER BY r::text)), '')
			FROM `+pgx.Identifier{name}.Sanitize()+` r`).Scan(&sum))
		out[name] = sum
	}
	return out
}

func addPeople(t *testing.T, pool *pgxpool.Pool, n int) {
	t.Helper()
	for i := range n {
		_, err := db.People{Pool: pool}.Create(t.Context(), db.NewUser{
			Email: fmt.Sprintf("person%d@ends.example", i), Name: "Person\n'" + strconv.Itoa(i) + "' \\ é", PasswordHash: "h"})
		require.NoError(t, err)
	}
}

func TestBackupRestoresEveryRow(t *testing.T) {
	t.Parallel()
	bin, pool := dbtest.Install(t).Bin, dbtest.New(t)
	addPeople(t, pool, 20)
	// Numbers must come back bit for bit: recomputed results are compared with stored ones.
	_, err := pool.Exec(t.Context(), `CREATE TABLE number (x double precision);
		INSERT INTO number VALUES (0.1 + 0.2::float8), (1e-300), (5e-324), (123456789.123456789), ('-0'), ('NaN')`)
	require.NoError(t, err)
	from := pool.Config().ConnString()
	file := filepath.Join(t.TempDir(), "all.backup")
	require.NoError(t, db.Backup(t.Context(), bin, from, file, nil))
	st, err := os.Stat(file)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), st.Mode().Perm(), "a backup holds what the database holds")
	require.NoFileExists(t, file+".part")

	for name, to := range map[string]string{"bare": dbtest.EmptyDSN(t), "with an empty schema": dbtest.DSN(t)} {
		require.NoError(t, db.Restore(t.Context(), bin, to, file, migrations.FS, nil), name)
		require.Equal(t, contents(t, from), contents(t, to), name)
		require.Equal(t, catalog(t, from), catalog(t, to), name)
	}
	require.ErrorContains(t, db.Backup(t.Context(), bin, from, file, nil), "exists already; nothing was changed")
}

func TestBackupOfAnOlderSchemaComesUp(t *testing.T) {
	t.Parallel()
	bin, from, to := dbtest.Install(t).Bin, dbtest.EmptyDSN(t), dbtest.DSN(t)
	require.NoError(t, db.Migrate(t.Context(), from, upTo(t, 1)))
	pool, err := db.Open(t.Context(), from)
	require.NoError(t, err)
	defer pool.Close()
	addPeople(t, pool, 2)
	file := filepath.Join(t.TempDir(), "old.backup")
	require.NoError(t, db.Backup(t.Context(), bin, from, file, nil))
	require.NoError(t, db.Restore(t.Context(), bin, to, file, migrations.FS, nil))
	s := openSchema(t, to, migrations.FS)
	requireVersion(t, s, s.Latest())
	require.Equal(t, contents(t, from)["app_user"], contents(t, to)["app_user"])
}

func TestBackupWhileOthersWriteIsOneInstant(t *testing.T) {
	t.Parallel()
	bin, pool, to := dbtest.Install(t).Bin, dbtest.New(t), dbtest.EmptyDSN(t)
	_, err := pool.Exec(t.Context(), `CREATE TABLE a (n int); CREATE TABLE b (n int)`)
	require.NoError(t, err)
	ctx, stop := context.WithCancel(t.Context())
	written := make(chan error, 1)
	go func() {
		for n := 0; ctx.Err() == nil; n++ { // each transaction leaves both tables alike
			if _, err := pool.Exec(t.Context(), `WITH x AS (INSERT INTO a VALUES ($1)) INSERT INTO b VALUES ($1)`, n); err != nil {
				written <- err
				return
			}
		}
		written <- nil
	}()
	file := filepath.Join(t.TempDir(), "all.backup")
	require.NoError(t, db.Backup(t.Context(), bin, pool.Config().ConnString(), file, nil))
	stop()
	require.NoError(t, <-written)
	require.NoError(t, db.Restore(t.Context(), bin, to, file, migrations.FS, nil))
	got := contents(t, to)
	require.Equal(t, got["a"], got["b"])
}

func TestRestoreRefusesRecordsAndDamage(t *testing.T) {
	t.Parallel()
	bin, pool := dbtest.Install(t).Bin, dbtest.New(t)
	addPeople(t, pool, 200)
	full := pool.Config().ConnString()
	dir := t.TempDir()
	file := filepath.Join(dir, "all.backup")
	require.NoError(t, db.Backup(t.Context(), bin, full, file, nil))

	before := contents(t, full)
	require.ErrorIs(t, db.Restore(t.Context(), bin, full, file, migrations.FS, nil), db.ErrHasRecords)
	require.Equal(t, before, contents(t, full))

	b, err := os.ReadFile(file)
	require.NoError(t, err)
	for name, text := range map[string][]byte{"no backup": []byte("not a backup at all"), "cut": b[:len(b)*2/3], "empty": nil} {
		bad := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(bad, text, 0o600))
		to := dbtest.DSN(t)
		require.ErrorContains(t, db.Restore(t.Context(), bin, to, bad, migrations.FS, nil), "pg_restore", name)
		require.NoError(t, db.Restore(t.Context(), bin, to, file, migrations.FS, nil), "%s: a good file can still be restored", name)
	}
	require.ErrorContains(t, db.Restore(t.Context(), bin, full, filepath.Join(dir, "none"), migrations.FS, nil), "no such file")
}

func TestFailedBackupLeavesNoFile(t *testing.T) {
	t.Parallel()
	bin := dbtest.Install(t).Bin
	file := filepath.Join(t.TempDir(), "all.backup")
	require.ErrorContains(t, db.Backup(t.Context(), bin, "postgres://nobody@127.0.0.1:1/none", file, nil), "connect to the database")
	left, err := os.ReadDir(filepath.Dir(file))
	require.NoError(t, err)
	require.Empty(t, left)
}
