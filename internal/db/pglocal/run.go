package pglocal

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"time"
)

const (
	poll         = 10 * time.Millisecond
	readyTimeout = 10 * time.Minute // crash recovery of a large cluster takes its time; the caller's context can be shorter
	orphanFast   = 30 * time.Second
	maxLog       = 10 << 20
)

// launch starts the postmaster and waits until it says it is ready.
func (s *Server) launch(ctx context.Context, acct account, ephemeral bool) error {
	if st, err := os.Stat(s.logPath()); err == nil && st.Size() > maxLog {
		_ = os.Rename(s.logPath(), s.logPath()+".old")
	}
	logFile, err := os.OpenFile(s.logPath(), os.O_WRONLY|os.O_CREATE|os.O_APPEND|noFollow, 0o600)
	if err != nil {
		return fmt.Errorf("database log: %w", err)
	}
	defer func() { _ = logFile.Close() }()
	if err := acct.ownFile(logFile); err != nil {
		return err
	}
	from, err := logFile.Seek(0, io.SeekEnd)
	if err != nil {
		return fmt.Errorf("database log: %w", err)
	}

	args := []string{"-D", s.cluster()}
	for _, set := range settings(s.socket, ephemeral) {
		args = append(args, "-c", set)
	}
	s.cmd = exec.Command(s.install.Program("postgres"), args...)
	s.cmd.Dir, s.cmd.Env, s.cmd.SysProcAttr = "/", environment(), acct.attributes(true)
	s.cmd.Stdout, s.cmd.Stderr = logFile, logFile

	started := make(chan error, 1)
	go func() {
		// The parent-death signal is tied to the thread that started the child, so that thread must live as long as the
		// server: it stays locked to this goroutine, which waits for the server's end.
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		err := s.cmd.Start()
		started <- err
		if err == nil {
			s.exit = s.cmd.Wait()
			close(s.done)
		}
	}()
	if err := <-started; err != nil {
		return fmt.Errorf("start database server: %w", err)
	}

	limit := time.NewTimer(readyTimeout)
	defer limit.Stop()
	tick := time.NewTicker(poll)
	defer tick.Stop()
	for {
		if f, err := readPIDFile(s.cluster()); err == nil && f.pid == s.cmd.Process.Pid && f.ready {
			s.log.Info("database server ready", "postgresql", s.install.Major, "folder", s.dir, "pid", f.pid)
			return nil
		}
		select {
		case <-s.done:
			return fmt.Errorf("database server ended while starting (%w): %s", s.exit, s.tail(from))
		case <-ctx.Done():
			_ = s.halt()
			return fmt.Errorf("start of the database server was given up: %w", ctx.Err())
		case <-limit.C:
			_ = s.halt()
			return fmt.Errorf("database server was not ready after %s: %s", readyTimeout, s.tail(from))
		case <-tick.C:
		}
	}
}

// halt stops a server that never became ready.
func (s *Server) halt() error {
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	return s.Stop(ctx)
}

func settings(socket string, ephemeral bool) []string {
	set := []string{
		"listen_addresses=",
		"unix_socket_directories=" + quoteList(socket),
		"unix_socket_permissions=0700",
		"port=" + strconv.Itoa(port),
		"cluster_name=" + clusterName,
		"logging_collector=off",
		"log_destination=stderr",
		"log_checkpoints=off",
		"log_timezone=UTC",
		"timezone=UTC",
		"jit=off", // our queries are short: compiling them costs more than it saves
	}
	if ephemeral {
		set = append(set, "fsync=off", "synchronous_commit=off", "full_page_writes=off", "max_connections=300",
			"shared_buffers=64MB", "wal_level=minimal", "max_wal_senders=0", "autovacuum=off", "checkpoint_timeout=1h",
			"max_wal_size=4GB")
	}
	return set
}

// quoteList writes one entry of a comma-separated setting, so that a folder may hold a comma or a space.
func quoteList(s string) string { return `"` + strings.ReplaceAll(s, `"`, `""`) + `"` }

// pidFile is what PostgreSQL writes in postmaster.pid: the process on line 1 and its state on line 8, as pg_ctl reads it.
type pidFile struct {
	pid   int
	ready bool
}

func readPIDFile(cluster string) (pidFile, error) {
	b, err := os.ReadFile(filepath.Join(cluster, "postmaster.pid"))
	if err != nil {
		return pidFile{}, err
	}
	lines := strings.Split(string(b), "\n")
	pid, err := strconv.Atoi(strings.TrimSpace(lines[0]))
	if err != nil {
		return pidFile{}, fmt.Errorf("postmaster.pid: %w", err)
	}
	return pidFile{pid: pid, ready: len(lines) > 7 && strings.TrimSpace(lines[7]) == "ready"}, nil
}

// reclaim ends a server that an earlier run of this program left behind. We hold the lock, so that program is dead.
func (s *Server) reclaim(ctx context.Context) error {
	f, err := readPIDFile(s.cluster())
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil || f.pid <= 1 || f.pid == os.Getpid() {
		return nil // unreadable or stale: PostgreSQL decides when it starts
	}
	switch whose(f.pid, s.cluster()) {
	case nobody:
		return nil
	case stranger:
		return &InUseError{Dir: s.dir, PID: f.pid, Who: "a PostgreSQL server that this program did not start"}
	case ours:
	}
	s.log.Warn("stopping a database server left behind by an earlier run", "pid", f.pid)
	_ = interrupt(f.pid)
	fast := time.After(orphanFast)
	hard := time.After(orphanFast + 10*time.Second)
	tick := time.NewTicker(poll)
	defer tick.Stop()
	for whose(f.pid, s.cluster()) != nobody {
		select {
		case <-ctx.Done():
			return fmt.Errorf("waiting for the left-behind database server %d: %w", f.pid, ctx.Err())
		case <-fast:
			_ = quit(f.pid)
		case <-hard:
			return fmt.Errorf("left-behind database server %d does not end; in a container, run an init process that reaps children", f.pid)
		case <-tick.C:
		}
	}
	return nil
}

// owner tells whose process a postmaster.pid names.
type owner uint8

const (
	nobody   owner = iota // no such process, or one that has nothing to do with the cluster
	ours                  // a server started by this package on this cluster
	stranger              // a server on this cluster that someone else started
)

// InUseError says that the data folder is in use.
type InUseError struct {
	Dir string
	PID int // 0: not known
	Who string
}

func (e *InUseError) Error() string {
	if e.PID == 0 {
		return fmt.Sprintf("data folder %s is in use by %s", e.Dir, e.Who)
	}
	return fmt.Sprintf("data folder %s is in use by %s (process %d)", e.Dir, e.Who, e.PID)
}
