package main

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"

	"github.com/jackc/pgx/v5/pgxpool"

	"endcast/internal/web"
)

var packageCommand = command{
	name: "package", args: "PROGRAM FILE", brief: "write the record of a program as plain files in one archive that needs no program to be read",
	setup: func(set *flag.FlagSet) action {
		end := set.String("end", "", "of this girder end alone, for example 1N-2")
		records := set.Bool("records", false, "leave photographs and kept files out")
		return func(ctx context.Context, c console, set settings, args []string) error {
			if len(args) != 2 {
				return usagef("needs the code of a program and one FILE")
			}
			return withPool(ctx, c, set, func(ctx context.Context, pool *pgxpool.Pool) error {
				return writePackage(ctx, c, set, pool, args[0], args[1], web.PackageOf{End: *end, RecordsOnly: *records, Originals: true})
			})
		}
	},
}

// writePackage writes to a file beside the wanted one and gives it its name when it is
// complete and on disk. A file that is there already stays.
func writePackage(ctx context.Context, c console, set settings, pool *pgxpool.Pool, program, file string, of web.PackageOf) (err error) {
	st, err := set.store(pool)
	if err != nil {
		return err
	}
	p, err := st.Program(ctx, program)
	if err != nil {
		return err
	}
	of.Program, of.Release = p.ID, release()
	if _, err := os.Lstat(file); !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s exists already; nothing was changed", file)
	}
	out, err := os.OpenFile(file+".part", os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	defer func() {
		_ = out.Close()
		if err != nil {
			_ = os.Remove(out.Name())
		}
	}()
	b := bufio.NewWriterSize(out, 1<<20)
	digest, err := web.WritePackage(ctx, st, of, b)
	if err != nil {
		return err
	}
	if err := errors.Join(b.Flush(), out.Sync(), out.Close()); err != nil {
		return err
	}
	if err := os.Rename(out.Name(), file); err != nil {
		return err
	}
	fmt.Fprintf(c.out, "package written to %s\nSHA-256 of its MANIFEST: %s\n", file, digest)
	return nil
}
