package pglocal

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

// The test binary is also the program that gets killed: with this variable set it runs a server and writes rows for ever.
const writerDir = "PGLOCAL_TEST_WRITER_DIR"

func TestMain(m *testing.M) {
	if dir := os.Getenv(writerDir); dir != "" {
		fmt.Fprintln(os.Stderr, writeForEver(dir))
		os.Exit(1)
	}
	os.Exit(m.Run())
}

// writeForEver commits numbered rows and prints each number once its commit is acknowledged.
func writeForEver(dir string) error {
	ctx := context.Background()
	s, err := Start(ctx, Options{Dir: dir})
	if err != nil {
		return err
	}
	conn, err := pgx.Connect(ctx, s.DSN())
	if err != nil {
		return err
	}
	if _, err := conn.Exec(ctx, `CREATE TABLE IF NOT EXISTS entry (n bigint PRIMARY KEY)`); err != nil {
		return err
	}
	var n int
	if err := conn.QueryRow(ctx, `SELECT coalesce(max(n), 0) FROM entry`).Scan(&n); err != nil {
		return err
	}
	fmt.Println("pid", s.PID())
	for {
		n++
		if _, err := conn.Exec(ctx, `INSERT INTO entry VALUES ($1)`, n); err != nil {
			return err
		}
		fmt.Println(n)
	}
}

// folder makes a folder that an unprivileged account can reach, which t.TempDir is not when the tests run as root.
func folder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "endcast-pglocal-")
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, os.RemoveAll(dir)) })
	require.NoError(t, os.Chmod(dir, 0o755))
	return dir
}

func start(t *testing.T, o Options) *Server {
	t.Helper()
	s, err := Start(t.Context(), o)
	require.NoError(t, err)
	t.Cleanup(func() { _ = s.Stop(context.Background()) })
	return s
}

func connect(t *testing.T, dsn string) *pgx.Conn {
	t.Helper()
	c, err := pgx.Connect(t.Context(), dsn)
	require.NoError(t, err)
	t.Cleanup(func() { _ = c.Close(context.Background()) })
	return c
}

func TestColdAndWarmStartKeepTheData(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(folder(t), "made on the way", "postgres")
	s := start(t, Options{Dir: dir})
	c := connect(t, s.DSN())
	_, err := c.Exec(t.Context(), `CREATE TABLE kept (n int); INSERT INTO kept VALUES (42)`)
	require.NoError(t, err)

	var super bool
	var user, sums, encoding string
	require.NoError(t, c.QueryRow(t.Context(), `SELECT rolsuper, current_user, current_setting('data_checksums'),
		current_setting('server_encoding') FROM pg_roles WHERE rolname = current_user`).Scan(&super, &user, &sums, &encoding))
	require.False(t, super, "the application must not be a superuser")
	require.Equal(t, []string{Role, "on", "UTF8"}, []string{user, sums, encoding})

	require.NoError(t, s.Stop(t.Context()))
	require.NoError(t, s.Stop(t.Context()), "a second stop answers like the first")

	s = start(t, Options{Dir: dir})
	var n int
	require.NoError(t, connect(t, s.DSN()).QueryRow(t.Context(), `SELECT n FROM kept`).Scan(&n))
	require.Equal(t, 42, n)
}

func TestRootRunsTheServerAsTheOwnerOfTheFolder(t *testing.T) {
	t.Parallel()
	owner := os.Geteuid()
	dir := folder(t)
	if owner == 0 {
		nobody, err := user.Lookup("nobody")
		require.NoError(t, err)
		owner, err = strconv.Atoi(nobody.Uid)
		require.NoError(t, err)
		require.NoError(t, os.Chown(dir, owner, -1))
	}
	data := filepath.Join(dir, "postgres")
	s := start(t, Options{Dir: data, Ephemeral: true})
	require.NoError(t, connect(t, s.DSN()).Ping(t.Context()))
	for _, name := range []string{"", "pg", "lock", "postgres.log"} {
		st, err := os.Stat(filepath.Join(data, name))
		require.NoError(t, err)
		require.Equal(t, owner, int(st.Sys().(*syscall.Stat_t).Uid), "a later start as that user must find its files: %q", name)
	}
}

func TestLinksInTheDataFolderAreNotFollowed(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"lock", "run", "postgres.log"} {
		dir, elsewhere := folder(t), folder(t)
		target := filepath.Join(elsewhere, "target")
		if name == "run" {
			require.NoError(t, os.Mkdir(target, 0o755))
		} else {
			require.NoError(t, os.WriteFile(target, []byte("precious"), 0o644))
		}
		before := inventory(t, elsewhere)
		require.NoError(t, os.Symlink(target, filepath.Join(dir, name)))
		_, err := Start(t.Context(), Options{Dir: dir, Ephemeral: true})
		require.Error(t, err, name)
		require.Equal(t, before, inventory(t, elsewhere), name)
	}
}

func TestServerListensOnAPrivateSocketOnly(t *testing.T) {
	t.Parallel()
	s := start(t, Options{Dir: folder(t), Ephemeral: true})
	var tcp string
	require.NoError(t, connect(t, s.DSN()).QueryRow(t.Context(), `SHOW listen_addresses`).Scan(&tcp))
	require.Empty(t, tcp)
	st, err := os.Stat(s.socket)
	require.NoError(t, err)
	require.Equal(t, fs.FileMode(0o700), st.Mode().Perm())
}

func TestKillLosesNothingAcknowledged(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	acknowledged := 0
	for round := range 3 {
		cmd := exec.CommandContext(t.Context(), os.Args[0])
		cmd.Env = append(os.Environ(), writerDir+"="+dir)
		var stderr strings.Builder
		cmd.Stderr = &stderr
		out, err := cmd.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, cmd.Start())
		server := 0
		lines := bufio.NewScanner(out)
		for lines.Scan() {
			if pid, ok := strings.CutPrefix(lines.Text(), "pid "); ok {
				server, err = strconv.Atoi(pid)
				require.NoError(t, err)
				continue
			}
			n, err := strconv.Atoi(lines.Text())
			require.NoError(t, err)
			if acknowledged = n; n%200 == 0 {
				break
			}
		}
		require.Positive(t, server, stderr.String())
		if round == 1 { // the server dies first, as by the kernel's out-of-memory killer
			p, err := os.FindProcess(server)
			require.NoError(t, err)
			require.NoError(t, p.Kill())
		}
		require.NoError(t, cmd.Process.Kill())
		for lines.Scan() { // what was printed before the kill counts as acknowledged too
			if n, err := strconv.Atoi(lines.Text()); err == nil {
				acknowledged = n
			}
		}
		require.Error(t, cmd.Wait())
	}
	s := start(t, Options{Dir: dir})
	var count, highest int
	require.NoError(t, connect(t, s.DSN()).QueryRow(t.Context(), `SELECT count(*), max(n) FROM entry`).Scan(&count, &highest))
	require.GreaterOrEqual(t, highest, acknowledged)
	require.Equal(t, highest, count, "no gap")
}

func TestSecondServerOnTheSameFolderIsRefused(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	s := start(t, Options{Dir: dir, Ephemeral: true})
	_, err := Start(t.Context(), Options{Dir: dir, Ephemeral: true})
	var inUse *InUseError
	require.ErrorAs(t, err, &inUse)
	require.Equal(t, os.Getpid(), inUse.PID)
	require.NoError(t, connect(t, s.DSN()).Ping(t.Context()), "the first goes on")

	require.NoError(t, s.Stop(t.Context()))
	start(t, Options{Dir: dir, Ephemeral: true})
}

func TestOtherMajorVersionIsRefusedAndUntouched(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	s := start(t, Options{Dir: dir, Ephemeral: true})
	require.NoError(t, s.Stop(t.Context()))
	version := filepath.Join(dir, "pg", "PG_VERSION")
	require.NoError(t, os.WriteFile(version, []byte("9\n"), 0o600))
	before := inventory(t, filepath.Join(dir, "pg"))

	_, err := Start(t.Context(), Options{Dir: dir})
	var other *VersionError
	require.ErrorAs(t, err, &other)
	require.Equal(t, "9", other.Have)
	require.Contains(t, err.Error(), "nothing was changed")
	require.Contains(t, err.Error(), "apt-get install postgresql-9")
	require.Equal(t, before, inventory(t, filepath.Join(dir, "pg")))
}

func TestFolderThatIsNoClusterIsRefusedAndUntouched(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	mine := filepath.Join(dir, "pg", "letters.txt")
	require.NoError(t, os.Mkdir(filepath.Dir(mine), 0o755))
	require.NoError(t, os.WriteFile(mine, []byte("dear"), 0o600))
	_, err := Start(t.Context(), Options{Dir: dir})
	require.ErrorContains(t, err, "is no PostgreSQL cluster; nothing was changed")
	require.FileExists(t, mine)
}

func inventory(t *testing.T, dir string) map[string]string {
	t.Helper()
	all := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		all[p] = fmt.Sprint(info.Mode(), info.Size(), info.ModTime())
		return err
	}))
	return all
}

func TestNoBinariesSaysHowToGetThem(t *testing.T) {
	t.Parallel()
	empty := t.TempDir()
	_, err := search("", []string{filepath.Join(empty, "*")}, empty)
	require.ErrorIs(t, err, ErrNoBinaries)
	require.ErrorContains(t, err, "apt-get install postgresql")

	_, err = search(empty, patterns, os.Getenv("PATH"))
	require.ErrorContains(t, err, "PG_BINDIR: no program postgres in "+empty)

	_, err = Start(t.Context(), Options{Dir: folder(t), Bin: empty})
	require.ErrorIs(t, err, ErrNoBinaries)
}

func TestSearchTakesTheHighestVersionAndFollowsLinks(t *testing.T) {
	t.Parallel()
	base := t.TempDir()
	for _, v := range []string{"9.6", "15", "17", "16"} {
		install(t, filepath.Join(base, v, "bin"), v)
	}
	path := filepath.Join(base, "path")
	install(t, filepath.Join(base, "elsewhere"), "18")
	require.NoError(t, os.Mkdir(path, 0o755))
	require.NoError(t, os.Symlink(filepath.Join(base, "elsewhere", "postgres"), filepath.Join(path, "postgres")))

	found, err := search("", []string{filepath.Join(base, "*", "bin")}, path)
	require.NoError(t, err)
	var majors []int
	for _, in := range found {
		majors = append(majors, in.Major)
	}
	require.Equal(t, []int{18, 17, 16, 15}, majors, "9.6 is too old to be of use")
	require.Equal(t, filepath.Join(base, "elsewhere", "initdb"), found[0].Program("initdb"))
}

// install makes programs that only know their version.
func install(t *testing.T, dir, version string) {
	t.Helper()
	require.NoError(t, os.MkdirAll(dir, 0o755))
	script := "#!/bin/sh\necho 'postgres (PostgreSQL) " + version + "'\n"
	for _, p := range []string{"postgres", "initdb"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, p), []byte(script), 0o755))
	}
}

func TestLongFolderGetsAShortSocketFolder(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(folder(t), strings.Repeat("d", 60), strings.Repeat("e", 60))
	s := start(t, Options{Dir: dir, Ephemeral: true})
	require.True(t, socketFits(s.socket))
	require.NoError(t, connect(t, s.DSN()).Ping(t.Context()))
	require.NoError(t, s.Stop(t.Context()))
	t.Cleanup(func() { _ = os.RemoveAll(s.socket) })
	require.Equal(t, s.socket, start(t, Options{Dir: dir, Ephemeral: true}).socket, "the same folder again")
}

func TestSocketPathLimit(t *testing.T) {
	t.Parallel()
	longest := maxSocketPath - len("/.s.PGSQL.5432")
	require.True(t, socketFits(strings.Repeat("x", longest)))
	require.False(t, socketFits(strings.Repeat("x", longest+1)))
}

func TestCancelledStartLeavesNothingRunning(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := Start(ctx, Options{Dir: dir})
	require.ErrorIs(t, err, context.Canceled)
	start(t, Options{Dir: dir, Ephemeral: true})
}

func TestDoneTellsWhenTheServerDies(t *testing.T) {
	t.Parallel()
	s := start(t, Options{Dir: folder(t), Ephemeral: true})
	p, err := os.FindProcess(s.PID())
	require.NoError(t, err)
	require.NoError(t, p.Kill())
	select {
	case <-s.Done():
	case <-time.After(30 * time.Second):
		require.Fail(t, "the end was not noticed")
	}
	require.Error(t, s.Stop(t.Context()))
}

func TestOptionsAreChecked(t *testing.T) {
	t.Parallel()
	_, err := Start(t.Context(), Options{})
	require.EqualError(t, err, "pglocal: no data folder given")
	_, err = Start(t.Context(), Options{Dir: t.TempDir(), Seed: "x"})
	require.EqualError(t, err, "pglocal: a seed is for ephemeral clusters only")
	_, err = Start(t.Context(), Options{Dir: t.TempDir(), Account: "root"})
	if os.Geteuid() == 0 {
		require.ErrorContains(t, err, "PostgreSQL refuses to run as root")
		_, err = Start(t.Context(), Options{Dir: t.TempDir()})
		require.ErrorContains(t, err, "is closed to user", "a folder of root alone is named, not left to initdb's message")
	}
	require.False(t, errors.Is(err, ErrNoBinaries))
}
