package db_test

import (
	"context"
	"io/fs"
	"regexp"
	"sort"
	"strconv"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/db/dbtest"
	"endcast/migrations"
)

// steps builds migration files from pairs of up and down, numbered from 1.
func steps(pairs ...string) fs.FS {
	files := fstest.MapFS{}
	for i := 0; i < len(pairs); i += 2 {
		n := strconv.Itoa(i/2 + 1)
		files["00000"+n+"_s.up.sql"] = &fstest.MapFile{Data: []byte(pairs[i])}
		files["00000"+n+"_s.down.sql"] = &fstest.MapFile{Data: []byte(pairs[i+1])}
	}
	return files
}

func openSchema(t *testing.T, dsn string, files fs.FS) *db.Schema {
	t.Helper()
	s, err := db.OpenSchema(t.Context(), dsn, files)
	require.NoError(t, err)
	t.Cleanup(func() { _ = s.Close() })
	return s
}

func requireVersion(t *testing.T, s *db.Schema, want uint) {
	t.Helper()
	v, dirty, err := s.Version()
	require.NoError(t, err)
	require.False(t, dirty)
	require.Equal(t, want, v)
}

// catalog lists what a schema consists of, one line a thing.
func catalog(t *testing.T, dsn string) []string {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), dsn)
	require.NoError(t, err)
	defer func() { _ = conn.Close(context.WithoutCancel(t.Context())) }()
	rows, err := conn.Query(t.Context(), `
		SELECT format('column %s.%s %s null=%s default=%s', table_name, column_name, data_type, is_nullable, column_default)
		FROM information_schema.columns WHERE table_schema = 'public'
		UNION ALL SELECT 'index ' || indexdef FROM pg_indexes WHERE schemaname = 'public'
		UNION ALL SELECT format('constraint %s %s %s', conrelid::regclass, conname, pg_get_constraintdef(oid))
		FROM pg_constraint WHERE connamespace = 'public'::regnamespace
		UNION ALL SELECT 'trigger ' || pg_get_triggerdef(oid) FROM pg_trigger WHERE NOT tgisinternal
		UNION ALL SELECT 'type ' || typname FROM pg_type WHERE typnamespace = 'public'::regnamespace AND typtype IN ('e', 'd', 'r')
		UNION ALL SELECT 'function ' || pg_get_functiondef(p.oid) FROM pg_proc p
		WHERE pronamespace = 'public'::regnamespace AND prokind IN ('f', 'p')
		  AND NOT EXISTS (SELECT FROM pg_depend d WHERE d.objid = p.oid AND d.deptype = 'e')`)
	require.NoError(t, err)
	lines, err := pgx.CollectRows(rows, pgx.RowTo[string])
	require.NoError(t, err)
	sort.Strings(lines)
	return lines
}

func TestMigrateUpDownUp(t *testing.T) {
	t.Parallel()
	dsn := dbtest.EmptyDSN(t)
	s := openSchema(t, dsn, migrations.FS)
	requireVersion(t, s, 0)
	empty := catalog(t, dsn)

	require.NoError(t, s.Up(t.Context()))
	requireVersion(t, s, s.Latest())
	full := catalog(t, dsn)
	require.NoError(t, s.Up(t.Context()), "a second time there is nothing to do")

	require.NoError(t, s.Down(t.Context(), 0))
	requireVersion(t, s, 0)
	require.Equal(t, empty, catalog(t, dsn), "the way down takes back everything")

	require.NoError(t, s.Up(t.Context()))
	require.Equal(t, full, catalog(t, dsn))
}

func TestEachShippedStepTakesItselfBack(t *testing.T) {
	t.Parallel()
	dsn := dbtest.EmptyDSN(t)
	top := openSchema(t, dsn, migrations.FS)
	for v := uint(1); v <= top.Latest(); v++ {
		before := catalog(t, dsn)
		s := openSchema(t, dsn, upTo(t, v))
		require.NoError(t, s.Up(t.Context()))
		after := catalog(t, dsn)
		require.NoError(t, s.Down(t.Context(), v-1))
		require.Equal(t, before, catalog(t, dsn), "step %d down", v)
		require.NoError(t, s.Up(t.Context()))
		require.Equal(t, after, catalog(t, dsn), "step %d up again", v)
		require.NoError(t, s.Close())
	}
}

// upTo holds the shipped files up to a version.
func upTo(t *testing.T, v uint) fs.FS {
	t.Helper()
	files := fstest.MapFS{}
	for name, n := range shipped(t) {
		if n <= v {
			b, err := fs.ReadFile(migrations.FS, name)
			require.NoError(t, err)
			files[name] = &fstest.MapFile{Data: b}
		}
	}
	return files
}

var fileName = regexp.MustCompile(`^(\d{6})_[a-z0-9_]+\.(up|down)\.sql$`)

func shipped(t *testing.T) map[string]uint {
	t.Helper()
	names, err := fs.Glob(migrations.FS, "*.sql")
	require.NoError(t, err)
	out := map[string]uint{}
	for _, name := range names {
		m := fileName.FindStringSubmatch(name)
		require.NotNil(t, m, "%s is not named 000000_what.up.sql", name)
		n, err := strconv.ParseUint(m[1], 10, 32)
		require.NoError(t, err)
		out[name] = uint(n)
	}
	return out
}

func TestShippedFilesAreContiguousPairs(t *testing.T) {
	t.Parallel()
	ups, downs := map[uint]string{}, map[uint]string{}
	for name, n := range shipped(t) {
		kind := ups
		if strings.HasSuffix(name, ".down.sql") {
			kind = downs
		}
		require.Empty(t, kind[n], "two files with number %d", n)
		kind[n] = name
	}
	require.Len(t, downs, len(ups))
	for n := uint(1); n <= uint(len(ups)); n++ {
		require.NotEmpty(t, ups[n], "number %d is missing", n)
		require.Equal(t, strings.TrimSuffix(ups[n], ".up.sql"), strings.TrimSuffix(downs[n], ".down.sql"))
	}
}

// A file that ends its own transaction would let the schema and its version number part.
var breaksOut = regexp.MustCompile(`(?im)^\s*(COMMIT|ROLLBACK|BEGIN\s*;|START\s+TRANSACTION|VACUUM)|\bCONCURRENTLY\b`)

func TestShippedFilesStayInOneTransaction(t *testing.T) {
	t.Parallel()
	require.True(t, breaksOut.MatchString("CREATE INDEX CONCURRENTLY x ON y (z)"))
	for name := range shipped(t) {
		b, err := fs.ReadFile(migrations.FS, name)
		require.NoError(t, err)
		require.Empty(t, breaksOut.FindString(string(b)), name)
	}
}

func TestFailedStepLeavesTheStateBeforeIt(t *testing.T) {
	t.Parallel()
	dsn := dbtest.EmptyDSN(t)
	s := openSchema(t, dsn, steps(
		`CREATE TABLE a (n int)`, `DROP TABLE a`,
		`CREATE TABLE b (n int); INSERT INTO b VALUES (1); SELECT 1/0`, `DROP TABLE b`))
	require.ErrorContains(t, s.Up(t.Context()), "migrate up, database left at version 1")
	requireVersion(t, s, 1)
	require.Contains(t, catalog(t, dsn), "column a.n integer null=YES default=")
	require.NotContains(t, catalog(t, dsn), "column b.n integer null=YES default=")

	mended := openSchema(t, dsn, steps(`CREATE TABLE a (n int)`, `DROP TABLE a`, `CREATE TABLE b (n int)`, `SELECT 1/0`))
	require.NoError(t, mended.Up(t.Context()))
	require.Error(t, mended.Down(t.Context(), 0))
	requireVersion(t, mended, 2)
}

func TestNewerDatabaseIsRefused(t *testing.T) {
	t.Parallel()
	dsn := dbtest.EmptyDSN(t)
	require.NoError(t, db.Migrate(t.Context(), dsn, steps(`CREATE TABLE a ()`, `DROP TABLE a`, `CREATE TABLE b ()`, `DROP TABLE b`)))
	before := catalog(t, dsn)

	old := openSchema(t, dsn, steps(`CREATE TABLE a ()`, `DROP TABLE a`))
	var newer *db.NewerSchemaError
	require.ErrorAs(t, old.Up(t.Context()), &newer)
	require.Equal(t, db.NewerSchemaError{Database: 2, Program: 1}, *newer)
	require.EqualError(t, newer, "the database has schema version 2 and this program knows versions up to 1 only: "+
		"start the newer program again; nothing was changed")
	require.ErrorAs(t, old.Down(t.Context(), 0), &newer)
	require.Equal(t, before, catalog(t, dsn))
}

func TestDownStopsWhereAsked(t *testing.T) {
	t.Parallel()
	s := openSchema(t, dbtest.EmptyDSN(t), steps(`CREATE TABLE a ()`, `DROP TABLE a`, `CREATE TABLE b ()`, `DROP TABLE b`,
		`CREATE TABLE c ()`, `DROP TABLE c`))
	require.ErrorIs(t, s.Down(t.Context(), 1), db.ErrDownAboveCurrent)
	require.NoError(t, s.Up(t.Context()))
	require.NoError(t, s.Down(t.Context(), 3))
	require.NoError(t, s.Down(t.Context(), 1))
	requireVersion(t, s, 1)
}

func TestProgramsStartingTogetherMigrateOnce(t *testing.T) {
	t.Parallel()
	dsn := dbtest.EmptyDSN(t)
	files := steps(`CREATE TABLE a (n int); INSERT INTO a VALUES (1); SELECT pg_sleep(0.05)`, `DROP TABLE a`)
	errs := make([]error, 6)
	var wg sync.WaitGroup
	for i := range errs {
		wg.Go(func() { errs[i] = db.Migrate(t.Context(), dsn, files) })
	}
	wg.Wait()
	for _, err := range errs {
		require.NoError(t, err)
	}
	requireVersion(t, openSchema(t, dsn, files), 1)
}

func TestCancelledMigrationKeepsAWholeState(t *testing.T) {
	t.Parallel()
	dsn := dbtest.EmptyDSN(t)
	files := steps(`CREATE TABLE a ()`, `DROP TABLE a`)
	s := openSchema(t, dsn, files)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	require.ErrorIs(t, s.Up(ctx), context.Canceled)
	again := openSchema(t, dsn, files)
	require.NoError(t, again.Up(t.Context()))
	requireVersion(t, again, 1)
}

// mark leaves the version as another tool would that died halfway.
func mark(t *testing.T, dsn string, version int) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), dsn)
	require.NoError(t, err)
	defer func() { _ = conn.Close(context.WithoutCancel(t.Context())) }()
	_, err = conn.Exec(t.Context(), `DELETE FROM schema_migrations`)
	require.NoError(t, err)
	_, err = conn.Exec(t.Context(), `INSERT INTO schema_migrations VALUES ($1, true)`, version)
	require.NoError(t, err)
}

func TestRepair(t *testing.T) {
	t.Parallel()
	files := steps(`CREATE TABLE a ()`, `DROP TABLE a`, `CREATE TABLE b ()`, `DROP TABLE b`)
	for _, c := range []struct {
		name   string
		have   fs.FS // what was really done
		marked int
		want   string
	}{
		{"second step was not done", steps(`CREATE TABLE a ()`, ``), 2, ""},
		{"first step was not done", steps(), 1, ""},
		{"second step was done after all", files, 2, "already exists"},
		{"version of a newer program", files, 9, "versions up to 2 only"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dsn := dbtest.EmptyDSN(t)
			require.NoError(t, db.Migrate(t.Context(), dsn, c.have))
			mark(t, dsn, c.marked)
			s := openSchema(t, dsn, files)
			require.Error(t, s.Up(t.Context()), "a dirty schema is not touched")
			done, err := s.Repair(t.Context())
			if c.want == "" {
				require.NoError(t, err)
				require.True(t, done)
				requireVersion(t, s, 2)
				return
			}
			require.ErrorContains(t, err, c.want)
			v, dirty, err := s.Version()
			require.NoError(t, err)
			require.True(t, dirty)
			require.Equal(t, c.marked, int(v))
		})
	}
	s := openSchema(t, dbtest.EmptyDSN(t), files)
	done, err := s.Repair(t.Context())
	require.NoError(t, err)
	require.False(t, done, "nothing to repair")
}
