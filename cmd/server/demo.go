package main

import (
	"context"
	"flag"

	"github.com/jackc/pgx/v5/pgxpool"
)

var demoCommand = command{
	name: "demo", brief: "load the demonstration into an empty database",
	setup: func(*flag.FlagSet) action {
		return func(ctx context.Context, c console, set settings, args []string) error {
			if err := noArguments(args); err != nil {
				return err
			}
			load := provided.LoadDemo
			if load == nil {
				return unavailable("the demonstration")
			}
			return withPool(ctx, c, set, func(ctx context.Context, pool *pgxpool.Pool) error {
				photos, err := set.folder()
				if err != nil {
					return err
				}
				return load(ctx, job{Pool: pool, Log: set.logger(c), Out: c.out, Photos: photos})
			})
		}
	},
}
