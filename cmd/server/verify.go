package main

import (
	"context"
	"flag"
	"fmt"

	"github.com/jackc/pgx/v5/pgxpool"

	"endcast/internal/db"
)

var verifyCommand = command{
	name: "verify", brief: "recompute every stored result, check the chain of the journal, and read every photograph, document and signature",
	setup: func(*flag.FlagSet) action {
		return func(ctx context.Context, c console, set settings, args []string) error {
			if err := noArguments(args); err != nil {
				return err
			}
			return withPool(ctx, c, set, func(ctx context.Context, pool *pgxpool.Pool) error { return verify(ctx, c, set, pool) })
		}
	},
}

// verify prints what was looked at and every difference. A difference fails the command, so that a nightly job notices.
func verify(ctx context.Context, c console, set settings, pool *pgxpool.Pool) error {
	st, err := set.store(pool)
	if err != nil {
		return err
	}
	v, err := st.Verify(ctx)
	if err != nil {
		return err
	}
	for _, d := range v.Differences {
		fmt.Fprintf(c.out, "%s: %s\n", d.Where, d.What)
	}
	fmt.Fprintf(c.out, "looked at %d journal entries, %d rows, %d ends\n", v.Entries, v.Rows, v.Ends)
	fmt.Fprintf(c.out, "read %d photographs, %.1f MB\n", v.Photos, float64(v.PhotoBytes)/(1<<20))
	fmt.Fprintf(c.out, "read %d documents and checked %d signatures\n", v.Documents, v.Signatures)
	if v.Last != "" {
		fmt.Fprintf(c.out, "hash of the last entry: %s\n", v.Last)
	}
	if n := len(v.Differences); n > 0 {
		return fmt.Errorf("%d differences found", n)
	}
	fmt.Fprintln(c.out, "no difference")
	return nil
}

// store is the record over a pool, with the folder of photographs.
func (s *settings) store(pool *pgxpool.Pool) (*db.Store, error) {
	folder, err := s.folder()
	if err != nil {
		return nil, err
	}
	st := db.NewStore(pool)
	st.Folder = folder
	return st, nil
}
