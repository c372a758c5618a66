package db

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// ErrHasRecords is returned when a restore would meet records that are there already.
var ErrHasRecords = errors.New("the database holds records: restore into an empty one")

// Backup writes everything that the database holds at one instant to a new file, while others go on working. The file is
// PostgreSQL's own custom format. It appears under its name only when it is complete, on disk and readable. bin is the
// folder of pg_dump and pg_restore, which must not be older than the server. Photographs that are kept in a folder are
// copied beside the file first (see PhotosBeside); a nil folder is refused where there are any.
func Backup(ctx context.Context, bin, dsn, file string, photos *Folder) (err error) {
	if _, err := os.Lstat(file); err == nil {
		return fmt.Errorf("backup: %s exists already; nothing was changed", file)
	}
	release, err := holdPhotos(ctx, dsn)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, release()) }()
	part := file + ".part"
	out, err := os.OpenFile(part, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	defer func() {
		_ = out.Close()
		if err != nil {
			_ = os.Remove(part)
		}
	}()
	dump, err := tool(ctx, bin, "pg_dump", dsn, "--format=custom", "--no-owner", "--no-privileges")
	if err != nil {
		return err
	}
	dump.Stdout = out
	if err := runTool(dump); err != nil {
		return err
	}
	if err := errors.Join(out.Sync(), out.Close()); err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	if err := runTool(exec.CommandContext(ctx, filepath.Join(bin, "pg_restore"), "--list", part)); err != nil {
		return err
	}
	if err := backupPhotos(ctx, dsn, file, photos); err != nil {
		return err
	}
	if err := os.Rename(part, file); err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	return syncFolder(filepath.Dir(file))
}

// Restore fills an empty database from a backup and brings it to the latest schema of the given files. It refuses a
// database with records (ErrHasRecords). When the file cannot be read to its end the database is left empty.
//
// Photographs that the backup keeps beside itself go to the folder; with none, into the database.
func Restore(ctx context.Context, bin, dsn, file string, files fs.FS, photos *Folder) (err error) {
	if _, err := os.Stat(file); err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	if err := runTool(exec.CommandContext(ctx, filepath.Join(bin, "pg_restore"), "--list", file)); err != nil {
		return err
	}
	if err := requireNoRecords(ctx, dsn); err != nil {
		return err
	}
	if err := emptySchema(ctx, dsn, files); err != nil {
		return err
	}
	restore, err := tool(ctx, bin, "pg_restore", dsn, "--clean", "--if-exists", "--no-owner", "--no-privileges", "--exit-on-error",
		"--single-transaction")
	if err != nil {
		return err
	}
	restore.Args = append(restore.Args, file)
	if err := runTool(restore); err != nil {
		return err
	}
	if err := Migrate(ctx, dsn, files); err != nil {
		return err
	}
	return restorePhotos(ctx, dsn, file, photos)
}

// emptySchema removes the tables of a database without records, so that an older backup meets none from a newer schema.
func emptySchema(ctx context.Context, dsn string, files fs.FS) (err error) {
	s, err := OpenSchema(ctx, dsn, files)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	return s.Down(ctx, 0)
}

// requireNoRecords looks at the tables that everything else hangs on.
func requireNoRecords(ctx context.Context, dsn string) error {
	conn, err := pgx.Connect(ctx, dsn)
	if err != nil {
		return fmt.Errorf("connect to the database: %w", err)
	}
	defer func() { _ = conn.Close(context.WithoutCancel(ctx)) }()
	for _, table := range []string{"app_user", "program"} {
		var there, rows bool
		if err := conn.QueryRow(ctx, `SELECT to_regclass($1) IS NOT NULL`, table).Scan(&there); err != nil {
			return fmt.Errorf("look for records: %w", err)
		}
		if !there {
			continue
		}
		if err := conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM `+table+`)`).Scan(&rows); err != nil {
			return fmt.Errorf("look for records: %w", err)
		}
		if rows {
			return ErrHasRecords
		}
	}
	return nil
}

// tool prepares one of PostgreSQL's programs for a database. The password goes through the environment: arguments are in
// everybody's process list.
func tool(ctx context.Context, bin, name, dsn string, args ...string) (*exec.Cmd, error) {
	cfg, err := pgconn.ParseConfig(dsn)
	if err != nil {
		return nil, fmt.Errorf("database address: %w", err)
	}
	cmd := exec.CommandContext(ctx, filepath.Join(bin, name), append(args, "--dbname="+withoutPassword(dsn))...)
	cmd.Env = os.Environ()
	if cfg.Password != "" {
		cmd.Env = append(cmd.Env, "PGPASSWORD="+cfg.Password)
	}
	return cmd, nil
}

var passwordWord = regexp.MustCompile(`\bpassword\s*=\s*('(?:[^'\\]|\\.)*'|\S*)`)

// withoutPassword takes the password out of both forms of an address: the URL and the list of words.
func withoutPassword(dsn string) string {
	u, err := url.Parse(dsn)
	if err != nil || !strings.HasPrefix(u.Scheme, "postgres") {
		return strings.TrimSpace(passwordWord.ReplaceAllString(dsn, ""))
	}
	if u.User != nil {
		u.User = url.User(u.User.Username())
	}
	q := u.Query()
	if q.Has("password") {
		q.Del("password")
		u.RawQuery = strings.ReplaceAll(q.Encode(), "+", "%20")
	}
	return u.String()
}

func runTool(cmd *exec.Cmd) error {
	var said bytes.Buffer
	cmd.Stderr = &said
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("%s: %w: %s", filepath.Base(cmd.Path), err, strings.TrimSpace(said.String()))
	}
	return nil
}

func syncFolder(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer func() { _ = f.Close() }()
	return f.Sync()
}
