package main

import (
	"context"
	"flag"
	"os"

	"github.com/jackc/pgx/v5/pgxpool"
)

var importCommand = command{
	name: "import", args: "-program CODE FILE...", brief: "read files into a program, all of them or nothing",
	setup: func(fs *flag.FlagSet) action {
		program := fs.String("program", "", "code of the program")
		return func(ctx context.Context, c console, set settings, args []string) error {
			if *program == "" || len(args) == 0 {
				return usagef("needs -program CODE and at least one FILE")
			}
			for _, f := range args {
				if st, err := os.Stat(f); err != nil {
					return err
				} else if st.IsDir() {
					return usagef("%s is a folder, not a file", f)
				}
			}
			read := provided.Import
			if read == nil {
				return unavailable("import")
			}
			return withPool(ctx, c, set, func(ctx context.Context, pool *pgxpool.Pool) error {
				return read(ctx, job{Pool: pool, Log: set.logger(c), Out: c.out}, *program, args)
			})
		}
	},
}
