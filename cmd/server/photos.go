package main

import (
	"context"
	"flag"
	"fmt"

	"github.com/jackc/pgx/v5/pgxpool"
)

var photosCommand = command{
	name: "photos", args: "move folder|database, check, or thumbs", brief: "move the originals of photographs, read each against its hash, or make the small copies",
	setup: func(fs *flag.FlagSet) action {
		anew := fs.Bool("anew", false, "with thumbs: make those that are there once more")
		return func(ctx context.Context, c console, set settings, args []string) error {
			do, err := photosDo(args)
			if err != nil {
				return err
			}
			return withPool(ctx, c, set, func(ctx context.Context, pool *pgxpool.Pool) error { return do(ctx, c, set, pool, *anew) })
		}
	},
}

type photosAct func(ctx context.Context, c console, set settings, pool *pgxpool.Pool, anew bool) error

func photosDo(args []string) (photosAct, error) {
	switch {
	case len(args) == 2 && args[0] == "move" && (args[1] == "folder" || args[1] == "database"):
		return func(ctx context.Context, c console, set settings, pool *pgxpool.Pool, _ bool) error {
			return photosMove(ctx, c, set, pool, args[1] == "folder")
		}, nil
	case len(args) == 1 && args[0] == "check":
		return photosCheck, nil
	case len(args) == 1 && args[0] == "thumbs":
		return photosThumbs, nil
	}
	return nil, usagef("needs one of: move folder, move database, check, thumbs")
}

func photosMove(ctx context.Context, c console, set settings, pool *pgxpool.Pool, intoFolder bool) error {
	st, err := set.store(pool)
	if err != nil {
		return err
	}
	moved, err := st.MovePhotos(ctx, intoFolder)
	where := "the database"
	if intoFolder && st.Folder != nil {
		where = st.Folder.Dir()
	}
	if moved > 0 || err == nil {
		fmt.Fprintf(c.out, "%d photographs moved to %s\n", moved, where)
	}
	return err
}

func photosCheck(ctx context.Context, c console, set settings, pool *pgxpool.Pool, _ bool) error {
	st, err := set.store(pool)
	if err != nil {
		return err
	}
	v, err := st.CheckPhotos(ctx)
	if err != nil {
		return err
	}
	for _, d := range v.Differences {
		fmt.Fprintf(c.out, "%s: %s\n", d.Where, d.What)
	}
	fmt.Fprintf(c.out, "read %d photographs, %.1f MB\n", v.Photos, float64(v.PhotoBytes)/(1<<20))
	if n := len(v.Differences); n > 0 {
		return fmt.Errorf("%d photographs are not as they came", n)
	}
	return nil
}

func photosThumbs(ctx context.Context, c console, set settings, pool *pgxpool.Pool, anew bool) error {
	st, err := set.store(pool)
	if err != nil {
		return err
	}
	made, err := st.MakeThumbs(ctx, anew)
	fmt.Fprintf(c.out, "%d small copies made\n", made)
	return err
}
