package dbtest

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"endcast/internal/db"
	"endcast/internal/db/pglocal"
	"endcast/migrations"
)

// cluster is the server of this test binary.
type cluster struct {
	server *pglocal.Server
	admin  *pgxpool.Pool
	drops  chan string
	// lifeline is the write end of a pipe. Keeping it here keeps it open for as long as the process lives.
	lifeline *os.File
}

const (
	startLimit  = 3 * time.Minute
	memory      = "/dev/shm"
	memoryWants = 2 << 30 // bytes free in memory before it is used: a clone takes about 10 MB
	seedsKept   = 6       // other checkouts of the source may have other schemas
)

func startCluster() (*cluster, error) {
	ctx, cancel := context.WithTimeout(context.Background(), startLimit)
	defer cancel()
	dir, err := workFolder()
	if err != nil {
		return nil, err
	}
	server, err := startSeeded(ctx, dir)
	if err != nil {
		_ = os.RemoveAll(dir)
		return nil, err
	}
	lifeline, err := leaveWithProcess(server.PID(), dir)
	if err != nil {
		return nil, errors.Join(err, server.Stop(ctx), os.RemoveAll(dir))
	}
	cfg, err := pgxpool.ParseConfig(server.AdminDSN())
	if err != nil {
		return nil, err
	}
	cfg.MaxConns = 4
	admin, err := pgxpool.NewWithConfig(context.Background(), cfg)
	if err != nil {
		return nil, err
	}
	c := &cluster{server: server, admin: admin, drops: make(chan string, 1024), lifeline: lifeline}
	go c.dropDiscarded()
	return c, nil
}

// workFolder makes a folder that PostgreSQL's user can enter even when the tests run as root.
func workFolder() (string, error) {
	base := os.TempDir()
	if freeSpace(memory) > memoryWants {
		base = memory
	}
	dir, err := os.MkdirTemp(base, "endcast-test-")
	if err != nil {
		return "", err
	}
	return dir, os.Chmod(dir, 0o755)
}

func (c *cluster) clone(ctx context.Context, name, from string) error {
	// Copying files beats writing the log when nothing has to survive a crash.
	strategy := ""
	if c.server.Install().Major >= 15 {
		strategy = " STRATEGY file_copy"
	}
	_, err := c.admin.Exec(ctx, "CREATE DATABASE "+name+" OWNER "+pglocal.Role+" TEMPLATE "+from+strategy)
	return err
}

// discard drops a database later: a drop has to wait for the last connection to be gone, and no test should.
func (c *cluster) discard(name string) {
	select {
	case c.drops <- name:
	default: // so many are waiting that the process is about to end anyway
	}
}

func (c *cluster) dropDiscarded() {
	for name := range c.drops {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		_, _ = c.admin.Exec(ctx, "DROP DATABASE IF EXISTS "+name+" WITH (FORCE)") // the folder goes as a whole in the end
		cancel()
	}
}

// leaveWithProcess starts a shell that waits for this process to end, in whatever way, and then ends the server and
// removes its folder. A test binary has no other place for that: os.Exit, a panic or a kill runs no deferred call. The
// shell waits for the end of a pipe, whose other end the caller keeps.
func leaveWithProcess(pid int, dir string) (*os.File, error) {
	const script = `read -r _; kill -QUIT "$1" 2>/dev/null
i=0; while kill -0 "$1" 2>/dev/null && [ $i -lt 100 ]; do sleep 0.05; i=$((i+1)); done
rm -rf -- "$2"`
	r, w, err := os.Pipe()
	if err != nil {
		return nil, err
	}
	defer func() { _ = r.Close() }()
	cmd := exec.Command("/bin/sh", "-c", script, "clean-up", strconv.Itoa(pid), dir)
	cmd.Stdin = r
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} // a signal to the group must not reach it
	if err := cmd.Start(); err != nil {
		return nil, errors.Join(err, w.Close())
	}
	return w, nil
}

// startSeeded starts the server on a copy of a seed: a stopped cluster that already has the template. Making a seed takes a
// second or two, copying one a few tenths, so it is kept in the user's cache under a name made of all that went into it.
func startSeeded(ctx context.Context, dir string) (*pglocal.Server, error) {
	installs, err := pglocal.Installs()
	if err != nil {
		return nil, err
	}
	cache, err := cacheFolder()
	if err != nil {
		return nil, err
	}
	key, err := seedKey(installs[0])
	if err != nil {
		return nil, err
	}
	seed := filepath.Join(cache, key)
	unlock, err := lockFile(filepath.Join(cache, "lock"), syscall.LOCK_SH)
	if err != nil {
		return nil, err
	}
	defer func() { unlock() }()
	if _, err := os.Stat(seed); err != nil {
		unlock()
		unlock, err = lockFile(filepath.Join(cache, "lock"), syscall.LOCK_EX)
		if err != nil {
			return nil, err
		}
		if err := makeSeed(ctx, installs[0], cache, seed); err != nil {
			return nil, err
		}
	}
	now := time.Now()
	_ = os.Chtimes(seed, now, now) // the least recently used seeds go first
	return pglocal.Start(ctx, pglocal.Options{Dir: dir, Bin: installs[0].Bin, Ephemeral: true, Seed: seed})
}

func cacheFolder() (string, error) {
	base, err := os.UserCacheDir()
	if err == nil {
		dir := filepath.Join(base, "endcast", "test-clusters")
		if err = os.MkdirAll(dir, 0o700); err == nil {
			return dir, nil
		}
	}
	dir := filepath.Join(os.TempDir(), fmt.Sprintf("endcast-test-clusters-%d", os.Getuid()))
	return dir, os.MkdirAll(dir, 0o700)
}

// seedKey names a seed after the programs, the schema and this package's own way of making it.
func seedKey(in pglocal.Install) (string, error) {
	const recipe = "1"
	h := sha256.New()
	fmt.Fprintf(h, "%s %s %d\n", recipe, in.Bin, in.Major)
	err := fs.WalkDir(migrations.FS, ".", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(p) != ".sql" {
			return err
		}
		b, err := fs.ReadFile(migrations.FS, p)
		fmt.Fprintf(h, "%s %d\n%s", p, len(b), b)
		return err
	})
	return fmt.Sprintf("pg%d-%s", in.Major, hex.EncodeToString(h.Sum(nil)[:8])), err
}

// makeSeed runs under the exclusive lock. It stops the cluster cleanly before it takes the copy.
func makeSeed(ctx context.Context, in pglocal.Install, cache, seed string) (err error) {
	if _, err := os.Stat(seed); err == nil {
		return nil // another process was faster
	}
	dir, err := workFolder()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	server, err := pglocal.Start(ctx, pglocal.Options{Dir: dir, Bin: in.Bin, Ephemeral: true})
	if err != nil {
		return err
	}
	if err := errors.Join(makeTemplate(ctx, server), server.Stop(ctx)); err != nil {
		return err
	}
	dropOldSeeds(cache)
	tmp := seed + ".tmp"
	if err := os.RemoveAll(tmp); err != nil {
		return err
	}
	if err := os.CopyFS(tmp, os.DirFS(filepath.Join(dir, "pg"))); err != nil {
		return fmt.Errorf("keep seed: %w", err)
	}
	return os.Rename(tmp, seed)
}

func makeTemplate(ctx context.Context, server *pglocal.Server) error {
	admin, err := pgxpool.New(ctx, server.AdminDSN())
	if err != nil {
		return err
	}
	defer admin.Close()
	if _, err := admin.Exec(ctx, "CREATE DATABASE "+template+" OWNER "+pglocal.Role); err != nil {
		return err
	}
	if err := db.Migrate(ctx, server.DSNFor(pglocal.Role, template), migrations.FS); err != nil {
		return err
	}
	_, err = admin.Exec(ctx, "ALTER DATABASE "+template+" IS_TEMPLATE true ALLOW_CONNECTIONS false")
	return err
}

func dropOldSeeds(cache string) {
	entries, _ := os.ReadDir(cache)
	type old struct {
		path string
		used time.Time
	}
	var all []old
	for _, e := range entries {
		if info, err := e.Info(); err == nil && e.IsDir() {
			all = append(all, old{filepath.Join(cache, e.Name()), info.ModTime()})
		}
	}
	slices.SortFunc(all, func(a, b old) int { return cmp.Compare(b.used.UnixNano(), a.used.UnixNano()) })
	for i, s := range all {
		if i >= seedsKept-1 {
			_ = os.RemoveAll(s.path)
		}
	}
}

// lockFile waits for a lock shared between processes and returns how to give it back, which is never nil.
func lockFile(path string, how int) (func(), error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return func() {}, err
	}
	if err := syscall.Flock(int(f.Fd()), how); err != nil {
		return func() {}, errors.Join(fmt.Errorf("lock %s: %w", path, err), f.Close())
	}
	return func() { _ = f.Close() }, nil
}
