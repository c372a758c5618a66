package main

import (
	"context"
	"flag"
	"fmt"

	"endcast/internal/db"
)

var migrateCommand = command{
	name: "migrate", args: "up|down|version|repair", brief: "change or show the version of the database schema",
	setup: func(fs *flag.FlagSet) action {
		to := fs.Int("to", -1, "down: the version to go back to; 0 removes every record")
		yes := fs.Bool("yes", false, "down: really lose what the newer versions added")
		return func(ctx context.Context, c console, set settings, args []string) error {
			word, err := oneWord(fs, args, "up", "down", "version", "repair")
			if err != nil {
				return err
			}
			if word == "down" && (*to < 0 || !*yes) {
				return usagef("down needs -to VERSION and -yes, because it deletes data: make a backup first")
			}
			return withSchema(ctx, c, set, func(s *db.Schema) error { return migrateSchema(ctx, c, s, word, *to) })
		}
	},
}

func migrateSchema(ctx context.Context, c console, s *db.Schema, word string, to int) error {
	switch word {
	case "up":
		if err := s.Up(ctx); err != nil {
			return err
		}
	case "down":
		if err := s.Down(ctx, uint(max(to, 0))); err != nil {
			return err
		}
	case "repair":
		done, err := s.Repair(ctx)
		if err != nil {
			return err
		}
		if !done {
			fmt.Fprintln(c.out, "nothing to repair")
		}
	}
	v, dirty, err := s.Version()
	if err != nil {
		return err
	}
	state := ""
	if dirty {
		state = ", marked as halfway done"
	}
	fmt.Fprintf(c.out, "schema version %d of %d%s\n", v, s.Latest(), state)
	return nil
}

// oneWord takes the action of a command, whose flags may stand before or after it.
func oneWord(fs *flag.FlagSet, args []string, known ...string) (string, error) {
	word, rest, err := firstWord(fs, args, known...)
	if err != nil {
		return "", err
	}
	return word, noArguments(rest)
}

func firstWord(fs *flag.FlagSet, args []string, known ...string) (string, []string, error) {
	if len(args) == 0 {
		return "", nil, usagef("needs one of %v", known)
	}
	word := args[0]
	if err := fs.Parse(args[1:]); err != nil {
		return "", nil, usageError{err.Error()}
	}
	for _, k := range known {
		if k == word {
			return word, fs.Args(), nil
		}
	}
	return "", nil, usagef("there is no action %q, only %v", word, known)
}
