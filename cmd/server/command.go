package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"
)

// Exit statuses.
const (
	exitOK     = 0
	exitFailed = 1 // the command was understood and did not succeed
	exitUsage  = 2 // the command was not understood
	exitSignal = 130
)

// console is the world of one run: tests give their own.
type console struct {
	in       io.Reader
	out, err io.Writer
	env      []string
}

// command is one word after the program's name.
type command struct {
	name, args, brief string
	// setup adds flags of its own and returns what runs once they are parsed.
	setup func(fs *flag.FlagSet) action
}

// action runs a command with the words that are left after its flags.
type action func(ctx context.Context, c console, set settings, args []string) error

// usageError is a mistake in what was typed.
type usageError struct{ text string }

func (e usageError) Error() string { return e.text }

func usagef(format string, args ...any) error { return usageError{fmt.Sprintf(format, args...)} }

func commands() []command {
	return []command{
		serveCommand, migrateCommand, userCommand, demoCommand, importCommand, verifyCommand,
		backupCommand, restoreCommand, packageCommand, photosCommand, keyCommand, addressCommand, versionCommand,
	}
}

// run executes one command line and returns the exit status.
func run(ctx context.Context, args []string, c console) int {
	name := "serve"
	switch {
	case len(args) > 0 && slices.Contains([]string{"help", "-h", "-help", "--help"}, args[0]):
		printHelp(c.out)
		return exitOK
	case len(args) > 0 && !strings.HasPrefix(args[0], "-"):
		name, args = args[0], args[1:]
	}
	all := commands()
	i := slices.IndexFunc(all, func(k command) bool { return k.name == name })
	if i < 0 {
		fmt.Fprintf(c.err, "endcast: there is no command %q; `endcast help` lists them\n", name)
		return exitUsage
	}
	err := all[i].run(ctx, args, c)
	var wrong usageError
	switch {
	case err == nil || errors.Is(err, flag.ErrHelp):
		return exitOK
	case errors.As(err, &wrong):
		fmt.Fprintf(c.err, "endcast %s: %v; `endcast %s -help` explains\n", name, err, name)
		return exitUsage
	}
	fmt.Fprintf(c.err, "endcast %s: %v\n", name, err)
	return exitFailed
}

func (k command) run(ctx context.Context, args []string, c console) error {
	set, err := readEnvironment(c.env)
	if err != nil {
		return usageError{err.Error()}
	}
	fs := flag.NewFlagSet(k.name, flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	set.flags(fs)
	act := k.setup(fs)
	if err := fs.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			k.printHelp(c.out, fs)
			return err
		}
		return usageError{err.Error()}
	}
	if err := set.check(); err != nil {
		return usageError{err.Error()}
	}
	return act(ctx, c, set, fs.Args())
}

func printHelp(w io.Writer) {
	fmt.Fprint(w, "endcast keeps the record of a program of girder-end repairs.\n\nUsage: endcast [command] [flags]\n\nCommands:\n")
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, k := range commands() {
		fmt.Fprintf(t, "  %s %s\t%s\n", k.name, k.args, k.brief)
	}
	fmt.Fprint(t, "  help\tthis text; `endcast COMMAND -help` lists a command's flags\n\nSettings, from the environment or as flags of every command:\n")
	for _, s := range settingTable {
		fmt.Fprintf(t, "  %s\t-%s\t%s\n", s.env, s.flag, s.help())
	}
	fmt.Fprint(t, "  PG_BINDIR\t\tfolder of initdb and postgres for the built-in database (found by itself where packages put them)\n")
	_ = t.Flush()
	fmt.Fprint(w, "\nWithout a command the server starts. A flag wins over the environment.\n")
}

func (k command) printHelp(w io.Writer, fs *flag.FlagSet) {
	fmt.Fprintf(w, "endcast %s %s\n%s\n\nFlags:\n", k.name, k.args, k.brief)
	fs.SetOutput(w)
	fs.PrintDefaults()
}

// noArguments refuses words a command has no use for, so that a misplaced flag is not silently ignored.
func noArguments(args []string) error {
	if len(args) > 0 {
		return usagef("does not take %q", args[0])
	}
	return nil
}
