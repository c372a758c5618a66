package main

import (
	"context"
	"flag"
	"fmt"

	"github.com/jackc/pgx/v5/pgxpool"

	"endcast/internal/db"
)

var verifyCommand = command{
	name: "verify", brief: "recompute every stored result and check the chain of the journal",
	setup: func(*flag.FlagSet) action {
		return func(ctx context.Context, c console, set settings, args []string) error {
			if err := noArguments(args); err != nil {
				return err
			}
			return withPool(ctx, c, set, func(ctx context.Context, pool *pgxpool.Pool) error { return verify(ctx, c, pool) })
		}
	},
}

// verify prints what was looked at and every difference. A difference fails the command, so that a nightly job notices.
func verify(ctx context.Context, c console, pool *pgxpool.Pool) error {
	v, err := db.NewStore(pool).Verify(ctx)
	if err != nil {
		return err
	}
	for _, d := range v.Differences {
		fmt.Fprintf(c.out, "%s: %s\n", d.Where, d.What)
	}
	fmt.Fprintf(c.out, "looked at %d journal entries, %d rows, %d ends\n", v.Entries, v.Rows, v.Ends)
	if v.Last != "" {
		fmt.Fprintf(c.out, "hash of the last entry: %s\n", v.Last)
	}
	if n := len(v.Differences); n > 0 {
		return fmt.Errorf("%d differences found", n)
	}
	fmt.Fprintln(c.out, "no difference")
	return nil
}
