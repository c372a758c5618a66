package main

import (
	"context"
	"io"
	"log/slog"

	"github.com/jackc/pgx/v5/pgxpool"

	"endcast/internal/db"
	"endcast/views/login"
)

// job is what a command hands to the part that does it.
type job struct {
	Pool *pgxpool.Pool
	Log  *slog.Logger
	Out  io.Writer // for the person who typed the command
	// Photos is the folder of photographs; nil keeps them in the database.
	Photos *db.Folder
}

// store is the record that the command works on.
func (j job) store() *db.Store {
	st := db.NewStore(j.Pool)
	st.Folder = j.Photos
	return st
}

// parts are the pieces that the commands call and other rooms provide. A nil one makes its command say that it is
// unavailable.
type parts struct {
	// LoadDemo fills an empty database with the demonstration and prints its accounts. It refuses a database with records.
	LoadDemo func(ctx context.Context, j job) error
	// Empty reports whether the database holds no program at all.
	Empty func(ctx context.Context, j job) (bool, error)
	// DemoAccounts lists the accounts to offer at the sign-in page; none unless the demonstration was loaded.
	DemoAccounts func(ctx context.Context, j job) ([]login.DemoAccount, error)
	// Import reads files into a program. It takes all of them or nothing.
	Import func(ctx context.Context, j job, o importOrder) error
}

// provided is what this build has.
var provided = parts{}
