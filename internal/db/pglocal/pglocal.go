// Package pglocal runs a PostgreSQL server that belongs to this program: it finds the machine's PostgreSQL programs, makes a
// cluster in a folder, starts the server on a unix socket that nobody else can open, and stops it again.
//
// It is there so that one binary and one `apt-get install postgresql` are enough to run the whole application, without a
// password, a port or a service to configure. An owner who has a PostgreSQL server of their own uses that one instead and
// never comes here.
//
// What it promises about the data folder:
//
//   - Nothing in it is ever deleted or overwritten. A folder of another major version is refused with a sentence that says
//     what to do.
//   - One server at a time. The folder carries a lock that the kernel frees on any kind of death.
//   - When the program is killed outright, the server ends by itself (Linux) or is ended by the next start. PostgreSQL's own
//     log brings back everything that was acknowledged.
//
// PostgreSQL refuses to run as root. When this program runs as root the server runs as the owner of the data folder, or, if
// that is root too, as user postgres or nobody.
package pglocal

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"time"
)

// Names inside every cluster this package makes. The application connects as Role, which is no superuser and owns Database.
const (
	Role     = "endcast"
	Database = "endcast"

	superuser   = "postgres"
	clusterName = "endcast" // shown by ps, and how an orphan of ours is told from someone else's server
	port        = 5432      // only names the socket file: nothing listens on TCP
	minMajor    = 14
)

// Options say where the cluster lives and how it runs.
type Options struct {
	// Dir holds everything: the cluster (pg), the lock, the socket (run) and the server's log. Made if missing.
	Dir string
	// Bin is the folder of the PostgreSQL programs. Empty: the newest found that can open the cluster, see Installs.
	Bin string
	// Account is the user that runs the server when this program is root. Empty: the owner of an existing cluster, else of
	// the folder it will be in, else postgres, else nobody.
	Account string
	// Ephemeral gives up every promise about durability for speed. For tests only.
	Ephemeral bool
	// Seed is a cleanly stopped cluster to copy from instead of running initdb. Only with Ephemeral.
	Seed string
	// Log receives what happens, or nil.
	Log *slog.Logger
}

// Server is a running PostgreSQL server. Make one with Start; end it with Stop.
type Server struct {
	install Install
	dir     string
	socket  string
	log     *slog.Logger
	lock    *os.File
	cmd     *exec.Cmd
	done    chan struct{} // closed when the postmaster has ended
	exit    error         // valid once done is closed
	stop    sync.Once
	stopErr error
}

// Start makes the cluster if there is none, starts the server and returns when it accepts connections.
//
// Errors to expect: ErrNoBinaries, *VersionError, *InUseError, and plain errors that carry the end of the server's log.
// After an error nothing is left running.
func Start(ctx context.Context, o Options) (_ *Server, err error) {
	if o.Dir == "" {
		return nil, errors.New("pglocal: no data folder given")
	}
	if o.Seed != "" && !o.Ephemeral {
		return nil, errors.New("pglocal: a seed is for ephemeral clusters only")
	}
	dir, err := filepath.Abs(o.Dir)
	if err != nil {
		return nil, fmt.Errorf("data folder %s: %w", o.Dir, err)
	}
	s := &Server{dir: dir, log: o.Log, done: make(chan struct{})}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	acct, err := chooseAccount(o.Account, s.cluster())
	if err != nil {
		return nil, err
	}
	if err := acct.makeFolder(dir); err != nil {
		return nil, err
	}
	if s.install, err = chooseInstall(o.Bin, s.cluster()); err != nil {
		return nil, err
	}
	if s.lock, err = takeLock(filepath.Join(dir, "lock")); err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			_ = s.lock.Close()
		}
	}()
	if err := errors.Join(acct.ownFile(s.lock), acct.canReach(dir)); err != nil {
		return nil, err
	}
	if err := s.makeCluster(ctx, acct, o); err != nil {
		return nil, err
	}
	if err := s.reclaim(ctx); err != nil {
		return nil, err
	}
	if s.socket, err = socketFolder(dir, acct); err != nil {
		return nil, err
	}
	if err := s.launch(ctx, acct, o.Ephemeral); err != nil {
		return nil, err
	}
	if err := s.ensureDatabase(ctx); err != nil {
		_ = s.Stop(context.WithoutCancel(ctx))
		return nil, err
	}
	return s, nil
}

// cluster is PostgreSQL's own data directory.
func (s *Server) cluster() string { return filepath.Join(s.dir, "pg") }

func (s *Server) logPath() string { return filepath.Join(s.dir, "postgres.log") }

// DSN is how the application connects: as the owner of its database, not as a superuser.
func (s *Server) DSN() string { return s.DSNFor(Role, Database) }

// AdminDSN connects as the cluster's superuser. The application never uses it; tests and repairs do.
func (s *Server) AdminDSN() string { return s.DSNFor(superuser, "postgres") }

// DSNFor is the connection string of a role on a database of this server.
func (s *Server) DSNFor(role, database string) string {
	q := url.Values{"host": {s.socket}, "port": {strconv.Itoa(port)}, "user": {role}, "sslmode": {"disable"}}
	// libpq does not take "+" for a space.
	return "postgres:///" + url.PathEscape(database) + "?" + strings.ReplaceAll(q.Encode(), "+", "%20")
}

// Install is the PostgreSQL installation the server runs from. Its folder also has pg_dump and pg_restore of the right version.
func (s *Server) Install() Install { return s.install }

// PID is the process id of the server.
func (s *Server) PID() int { return s.cmd.Process.Pid }

// Done is closed when the server has ended, wanted or not.
func (s *Server) Done() <-chan struct{} { return s.done }

// Stop ends the server in PostgreSQL's fast mode: open transactions roll back, the log is closed cleanly. When ctx ends first
// it is stopped the hard way, which costs a recovery at the next start but no data. Later calls return the first answer.
func (s *Server) Stop(ctx context.Context) error {
	s.stop.Do(func() {
		defer func() { _ = s.lock.Close() }()
		_ = interrupt(s.cmd.Process.Pid)
		select {
		case <-s.done:
			s.stopErr = s.exit
			return
		case <-ctx.Done():
		}
		_ = quit(s.cmd.Process.Pid)
		select {
		case <-s.done:
			s.stopErr = fmt.Errorf("database server did not stop in time and was ended at once: %w", ctx.Err())
		case <-time.After(5 * time.Second):
			_ = s.cmd.Process.Kill()
			<-s.done
			s.stopErr = fmt.Errorf("database server did not stop and was killed: %w", ctx.Err())
		}
	})
	return s.stopErr
}

// tail returns the last lines of the server's log that were written after offset, for error messages.
func (s *Server) tail(offset int64) string {
	b, err := os.ReadFile(s.logPath())
	if err != nil || int64(len(b)) <= offset {
		return "its log is empty: " + s.logPath()
	}
	lines := strings.Split(strings.TrimSpace(string(b[offset:])), "\n")
	if len(lines) > 8 {
		lines = lines[len(lines)-8:]
	}
	return strings.Join(lines, "\n")
}
