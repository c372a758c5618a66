package main

import (
	"context"
	"flag"

	"github.com/jackc/pgx/v5/pgxpool"
)

var verifyCommand = command{
	name: "verify", brief: "recompute every stored result and check the chain of the journal",
	setup: func(*flag.FlagSet) action {
		return func(ctx context.Context, c console, set settings, args []string) error {
			if err := noArguments(args); err != nil {
				return err
			}
			check := provided.Verify
			if check == nil {
				return unavailable("verify")
			}
			return withPool(ctx, c, set, func(ctx context.Context, pool *pgxpool.Pool) error {
				return check(ctx, job{Pool: pool, Data: set.Data, Log: set.logger(c), Out: c.out})
			})
		}
	},
}
