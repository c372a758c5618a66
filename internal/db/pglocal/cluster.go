package pglocal

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"

	"github.com/jackc/pgx/v5"
)

// makeCluster makes the cluster unless it is there. It is built under another name and renamed when complete, so an
// interrupted start never leaves a half-made folder under the real name.
func (s *Server) makeCluster(ctx context.Context, acct account, o Options) error {
	final := s.cluster()
	entries, err := os.ReadDir(final)
	switch {
	case err == nil && len(entries) > 0:
		if _, err := os.Stat(filepath.Join(final, "PG_VERSION")); err != nil {
			return fmt.Errorf("folder %s is not empty and is no PostgreSQL cluster; nothing was changed", final)
		}
		return acct.adopt(final)
	case err != nil && !errors.Is(err, os.ErrNotExist):
		return fmt.Errorf("data folder: %w", err)
	}
	tmp, err := os.MkdirTemp(s.dir, "making-")
	if err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	if err := acct.own(tmp); err != nil {
		return err
	}
	if o.Seed != "" {
		if err := copyTree(tmp, o.Seed); err != nil {
			return fmt.Errorf("copy cluster: %w", err)
		}
		if err := acct.ownAll(tmp); err != nil {
			return err
		}
	} else if err := s.initdb(ctx, acct, tmp, o.Ephemeral); err != nil {
		return err
	}
	if err := os.Rename(tmp, final); err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	if !o.Ephemeral {
		return syncFolder(s.dir)
	}
	return nil
}

func (s *Server) initdb(ctx context.Context, acct account, dir string, ephemeral bool) error {
	// Byte order for text, whatever the machine's language: an upgrade of the C library can then never corrupt an index.
	locale := "C.UTF-8"
	if runtime.GOOS != "linux" {
		locale = "C"
	}
	args := []string{"-D", dir, "-U", superuser, "--auth=trust", "--encoding=UTF8", "--locale=" + locale}
	if ephemeral {
		args = append(args, "--no-sync")
	} else {
		args = append(args, "--data-checksums")
	}
	cmd := exec.CommandContext(ctx, s.install.Program("initdb"), args...)
	cmd.Dir, cmd.Env, cmd.SysProcAttr = "/", environment(), acct.attributes(false)
	var out bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &out
	s.log.Info("making database cluster", "folder", s.cluster(), "postgresql", s.install.Major, "user", acct.name)
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("initdb: %w: %s", err, strings.TrimSpace(out.String()))
	}
	return nil
}

// ensureDatabase makes the application's role and database. It runs at every start, because the program may have died
// between initdb and here.
func (s *Server) ensureDatabase(ctx context.Context) error {
	conn, err := pgx.Connect(ctx, s.AdminDSN())
	if err != nil {
		return fmt.Errorf("connect to the database server just started: %w", err)
	}
	defer func() { _ = conn.Close(context.WithoutCancel(ctx)) }()
	var role, database bool
	err = conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM pg_roles WHERE rolname = $1),
		EXISTS (SELECT FROM pg_database WHERE datname = $2)`, Role, Database).Scan(&role, &database)
	if err != nil {
		return fmt.Errorf("look for role and database: %w", err)
	}
	if !role {
		if _, err := conn.Exec(ctx, `CREATE ROLE `+Role+` LOGIN`); err != nil {
			return fmt.Errorf("make role %s: %w", Role, err)
		}
	}
	if !database {
		if _, err := conn.Exec(ctx, `CREATE DATABASE `+Database+` OWNER `+Role); err != nil {
			return fmt.Errorf("make database %s: %w", Database, err)
		}
	}
	return nil
}

// The kernel's sockaddr_un holds 108 bytes with the closing zero.
const maxSocketPath = 107

// socketFolder returns a folder of mode 0700, owned by the account, whose socket path is short enough: run in the data folder
// if that fits, else one under XDG_RUNTIME_DIR or /tmp that is named after the data folder.
func socketFolder(dir string, acct account) (string, error) {
	run := filepath.Join(dir, "run")
	if socketFits(run) {
		if err := os.Mkdir(run, 0o700); err != nil && !errors.Is(err, os.ErrExist) {
			return "", fmt.Errorf("socket folder: %w", err)
		}
		if err := acct.own(run); err != nil {
			return "", err
		}
		return run, nil
	}
	base := "/tmp"
	if x := os.Getenv("XDG_RUNTIME_DIR"); x != "" && !acct.switched && filepath.IsAbs(x) && len(x) < 60 {
		base = x
	}
	sum := sha256.Sum256([]byte(dir))
	short := filepath.Join(base, "endcast-"+hex.EncodeToString(sum[:6]))
	err := os.Mkdir(short, 0o700)
	switch {
	case err == nil:
		return short, acct.own(short)
	case errors.Is(err, os.ErrExist) && acct.ownsPrivately(short):
		return short, nil
	case errors.Is(err, os.ErrExist):
		// Someone else holds the name: in a shared /tmp that must not be trusted.
		if short, err = os.MkdirTemp(base, "endcast-"); err == nil {
			return short, acct.own(short)
		}
	}
	return "", fmt.Errorf("socket folder: %w", err)
}

func socketFits(dir string) bool {
	return len(dir)+len(fmt.Sprintf("/.s.PGSQL.%d", port)) <= maxSocketPath
}

// environment keeps the caller's PG* variables and language from changing what the server does.
func environment() []string {
	return []string{"PATH=/usr/bin:/bin", "LC_ALL=C", "TZ=UTC"}
}

func syncFolder(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer func() { _ = f.Close() }()
	return f.Sync()
}

// copyTree copies the files and folders below src into the existing folder dst.
func copyTree(dst, src string) error {
	return filepath.WalkDir(src, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(src, p)
		if err != nil || rel == "." {
			return err
		}
		to := filepath.Join(dst, rel)
		if d.IsDir() {
			return os.Mkdir(to, 0o700)
		}
		in, err := os.Open(p)
		if err != nil {
			return err
		}
		defer func() { _ = in.Close() }()
		out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if err != nil {
			return err
		}
		if _, err := io.Copy(out, in); err != nil {
			_ = out.Close()
			return err
		}
		return out.Close()
	})
}
