package main

import (
	"context"
	"flag"
	"os"

	"github.com/jackc/pgx/v5/pgxpool"

	"endcast/internal/domain/units"
)

// importOrder is what was asked of the import command.
type importOrder struct {
	Program string       // code
	As      string       // email of the person in whose name the entry is made
	Units   units.System // of columns that name none; "" for those of the program
	Files   []string
}

var importCommand = command{
	name: "import", args: "-program CODE -as EMAIL FILE...", brief: "read tables of a bridge and its surveys into a program, all of them or nothing",
	setup: func(fs *flag.FlagSet) action {
		var o importOrder
		fs.StringVar(&o.Program, "program", "", "code of the program")
		fs.StringVar(&o.As, "as", "", "email of the person in whose name the journal keeps the entry; it takes a role that may import")
		system := fs.String("units", "", "us or si: units of columns whose header names none (default: those of the program)")
		return func(ctx context.Context, c console, set settings, args []string) error {
			if o.Program == "" || o.As == "" || len(args) == 0 {
				return usagef("needs -program CODE, -as EMAIL and at least one FILE")
			}
			if *system != "" {
				var err error
				if o.Units, err = units.ParseSystem(*system); err != nil {
					return usagef("-units %q is neither us nor si", *system)
				}
			}
			for _, f := range args {
				if st, err := os.Stat(f); err != nil {
					return err
				} else if st.IsDir() {
					return usagef("%s is a folder, not a file", f)
				}
			}
			o.Files = args
			read := provided.Import
			if read == nil {
				return unavailable("import")
			}
			return withPool(ctx, c, set, func(ctx context.Context, pool *pgxpool.Pool) error {
				photos, err := set.folder()
				if err != nil {
					return err
				}
				return read(ctx, job{Pool: pool, Log: set.logger(c), Out: c.out, Photos: photos}, o)
			})
		}
	},
}
