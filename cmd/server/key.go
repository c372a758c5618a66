package main

import (
	"context"
	"flag"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
)

var keyCommand = command{
	name: "key", args: "[rotate]", brief: "print the public keys by which signed documents are checked, or put a new one into use",
	setup: func(*flag.FlagSet) action {
		return func(ctx context.Context, c console, set settings, args []string) error {
			if len(args) > 1 || len(args) == 1 && args[0] != "rotate" {
				return usagef("takes nothing or the word rotate")
			}
			return withPool(ctx, c, set, func(ctx context.Context, pool *pgxpool.Pool) error { return keys(ctx, c, set, pool, len(args) == 1) })
		}
	},
}

// keys prints every public key, the latest last.
func keys(ctx context.Context, c console, set settings, pool *pgxpool.Pool, rotate bool) error {
	st, err := set.store(pool)
	if err != nil {
		return err
	}
	if err := st.EnsureSigningKey(ctx); err != nil {
		return err
	}
	if rotate {
		if _, err := st.RotateSigningKey(ctx); err != nil {
			return err
		}
	}
	list, err := st.SigningKeys(ctx)
	if err != nil {
		return err
	}
	for _, k := range list {
		state := "in use"
		if k.Retired != nil {
			state = "retired " + k.Retired.UTC().Format(time.RFC3339)
		}
		fmt.Fprintf(c.out, "%s, made %s, %s\n%s", k.ID, k.Made.UTC().Format(time.RFC3339), state, k.PEM())
	}
	return nil
}
