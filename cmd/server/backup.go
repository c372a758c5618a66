package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"path/filepath"

	"endcast/internal/db"
	"endcast/internal/db/pglocal"
	"endcast/migrations"
)

var backupCommand = command{
	name: "backup", args: "FILE", brief: "write everything to a new file, while the server goes on working",
	setup: func(*flag.FlagSet) action {
		return func(ctx context.Context, c console, set settings, args []string) error {
			file, err := oneFile(args)
			if err != nil {
				return err
			}
			return withTools(ctx, c, set, true, func(bin, dsn string) error {
				photos, err := set.folder()
				if err != nil {
					return err
				}
				if err := db.Backup(ctx, bin, dsn, file, photos); err != nil {
					return err
				}
				if photos != nil {
					fmt.Fprintf(c.out, "photographs of the folder are beside it in %s: keep the two together\n", db.PhotosBeside(file))
				}
				fmt.Fprintf(c.out, "backup written to %s\n", file)
				return nil
			})
		}
	},
}

var restoreCommand = command{
	name: "restore", args: "FILE", brief: "fill an empty database from a backup and verify it; stop the server first",
	setup: func(*flag.FlagSet) action {
		return func(ctx context.Context, c console, set settings, args []string) error {
			file, err := oneFile(args)
			if err != nil {
				return err
			}
			return withTools(ctx, c, set, false, func(bin, dsn string) error {
				photos, err := set.folder()
				if err != nil {
					return err
				}
				if err := db.Restore(ctx, bin, dsn, file, migrations.FS, photos); err != nil {
					return err
				}
				fmt.Fprintf(c.out, "restored from %s\n", file)
				pool, err := db.Open(ctx, dsn)
				if err != nil {
					return err
				}
				defer pool.Close()
				return verify(ctx, c, set, pool)
			})
		}
	},
}

func oneFile(args []string) (string, error) {
	if len(args) != 1 {
		return "", usagef("needs one FILE")
	}
	return args[0], nil
}

// withTools runs a command that needs PostgreSQL's own programs, in the version that fits the server.
func withTools(ctx context.Context, c console, set settings, attach bool, f func(bin, dsn string) error) (err error) {
	var install pglocal.Install
	if set.DatabaseURL == "" {
		install, err = pglocal.InstallFor(filepath.Join(set.Data, "postgres"))
	} else {
		var all []pglocal.Install
		if all, err = pglocal.Installs(); err == nil {
			install = all[0]
		}
	}
	if err != nil {
		return fmt.Errorf("pg_dump and pg_restore are needed: %w", err)
	}
	d, err := findDatabase(ctx, set, set.logger(c), attach)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, d.close(ctx)) }()
	return f(install.Bin, d.dsn)
}
