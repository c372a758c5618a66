package db

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"

	"github.com/jackc/pgx/v5"
)

// PhotosBeside is the folder beside a backup in which photographs are that are kept in
// a folder. All backups of one place share it: a photograph never changes, so each
// backup adds only those that are new.
func PhotosBeside(file string) string { return filepath.Join(filepath.Dir(file), "endcast-photos") }

// holdPhotos keeps photographs where they are until release is called. It is taken
// before the database is read and held until the last one is copied: what the dump says
// is in the folder is there.
func holdPhotos(ctx context.Context, dsn string) (release func() error, err error) {
	conn, err := pgx.Connect(ctx, dsn)
	if err != nil {
		return nil, fmt.Errorf("connect to the database: %w", err)
	}
	end := func() error { return conn.Close(context.WithoutCancel(ctx)) }
	if _, err := conn.Exec(ctx, "select pg_advisory_lock_shared($1)", photoLock); err != nil {
		return nil, errors.Join(fmt.Errorf("backup: %w", err), end())
	}
	return end, nil // the lock ends with the connection
}

// inFolder lists the photographs that are in the folder. A database of before
// photographs could be in one has none.
func inFolder(ctx context.Context, dsn string) ([]string, error) {
	conn, err := pgx.Connect(ctx, dsn)
	if err != nil {
		return nil, fmt.Errorf("connect to the database: %w", err)
	}
	defer func() { _ = conn.Close(context.WithoutCancel(ctx)) }()
	var there bool
	if err := conn.QueryRow(ctx, "select to_regclass('photo_blob') is not null").Scan(&there); err != nil || !there {
		return nil, err
	}
	rows, err := conn.Query(ctx, "select sha256 from photo_blob where bytes is null order by sha256")
	if err != nil {
		return nil, fmt.Errorf("list photographs: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowTo[string])
}

// backupPhotos copies what is in the folder beside the backup. Each photograph is read
// and compared with its hash; one that is missing or damaged fails the backup, by name.
func backupPhotos(ctx context.Context, dsn, file string, photos *Folder) error {
	sums, err := inFolder(ctx, dsn)
	if err != nil || len(sums) == 0 {
		return err
	}
	if photos == nil {
		return fmt.Errorf("backup: %d photographs are in a folder: name it with -photos or ENDCAST_PHOTOS", len(sums))
	}
	beside, err := OpenFolder(PhotosBeside(file))
	if err != nil {
		return err
	}
	var bad []error
	for _, sha := range sums {
		if err := ctx.Err(); err != nil {
			return err
		}
		if beside.Has(sha) {
			continue
		}
		data, err := photos.Get(sha)
		if err == nil {
			err = beside.Put(sha, data)
		}
		if err != nil {
			bad = append(bad, err)
		}
	}
	if len(bad) > 0 {
		return fmt.Errorf("backup: %d of %d photographs could not be copied: %w", len(bad), len(sums), errors.Join(bad[:min(len(bad), 20)]...))
	}
	return nil
}

// restorePhotos brings photographs back from beside a backup, each compared with its
// hash. Those that are in the folder already stay.
func restorePhotos(ctx context.Context, dsn, file string, photos *Folder) error {
	sums, err := inFolder(ctx, dsn)
	if err != nil || len(sums) == 0 {
		return err
	}
	conn, err := pgx.Connect(ctx, dsn)
	if err != nil {
		return fmt.Errorf("connect to the database: %w", err)
	}
	defer func() { _ = conn.Close(context.WithoutCancel(ctx)) }()
	beside := &Folder{PhotosBeside(file)}
	var bad []error
	for _, sha := range sums {
		data, err := beside.Get(sha)
		switch {
		case err == nil && photos != nil:
			err = photos.Put(sha, data)
		case err == nil:
			_, err = conn.Exec(ctx, "update photo_blob set bytes = $2, size_b = $3 where sha256 = $1", sha, data, len(data))
		case errors.Is(err, fs.ErrNotExist) && photos != nil && photos.Has(sha):
			_, err = photos.Get(sha)
		}
		if err != nil {
			bad = append(bad, err)
		}
	}
	if len(bad) > 0 {
		return fmt.Errorf("restore: the records are back, and %d of %d photographs are not: %w", len(bad), len(sums), errors.Join(bad[:min(len(bad), 20)]...))
	}
	return nil
}
