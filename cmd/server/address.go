package main

import (
	"context"
	"flag"
	"fmt"
	"path/filepath"

	"endcast/internal/db/pglocal"
)

var addressCommand = command{
	name: "database-address", brief: "print how to reach the database of the running server, for psql and pg_dump",
	setup: func(*flag.FlagSet) action {
		return func(_ context.Context, c console, set settings, args []string) error {
			if err := noArguments(args); err != nil {
				return err
			}
			dsn := set.DatabaseURL
			if dsn == "" {
				var err error
				if dsn, err = pglocal.Attach(filepath.Join(set.Data, "postgres")); err != nil {
					return err
				}
			}
			fmt.Fprintln(c.out, dsn)
			return nil
		}
	},
}
