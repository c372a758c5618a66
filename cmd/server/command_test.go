package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/db/dbtest"
)

// screen collects what a run prints; a server writes to it from several goroutines.
type screen struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (s *screen) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.buf.Write(p)
}

func (s *screen) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.buf.String()
}

// typed runs a command line as a person would and returns its exit status and what it printed.
func typed(ctx context.Context, env []string, input string, words ...string) (status int, out, errs string) {
	var o, e screen
	status = run(ctx, words, console{in: strings.NewReader(input), out: &o, err: &e, env: env})
	return status, o.String(), e.String()
}

func TestWrongCommandLinesAreRefusedWithAReason(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "survey.csv")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	for _, c := range []struct {
		line, want string
		status     int
	}{
		{"cook", `there is no command "cook"`, exitUsage},
		{"serve now", `does not take "now"`, exitUsage},
		{"serve -port 1", "flag provided but not defined: -port", exitUsage},
		{"-addr 8080", `-addr "8080" is not host:port`, exitUsage},
		{"-base-url example.org", `-base-url "example.org" is not like https://`, exitUsage},
		{"-base-url https://example.org/sub", "is not like https://", exitUsage},
		{"-log xml", `-log "xml" is neither text nor json`, exitUsage},
		{"-log-level loud", `-log-level "loud" is none of`, exitUsage},
		{"-trusted-proxies 10.0.0.1", `"10.0.0.1" is not a network`, exitUsage},
		{"serve -data=", "-data is empty", exitUsage},
		{"migrate", "needs one of [up down version repair]", exitUsage},
		{"migrate sideways", `there is no action "sideways"`, exitUsage},
		{"migrate up 3", `does not take "3"`, exitUsage},
		{"migrate down", "down needs -to VERSION and -yes", exitUsage},
		{"migrate down -to 1", "down needs -to VERSION and -yes", exitUsage},
		{"migrate down -to one", "invalid value", exitUsage},
		{"user", "needs one of", exitUsage},
		{"user remove a@b.example", `there is no action "remove"`, exitUsage},
		{"user add", "add needs EMAIL and NAME", exitUsage},
		{"user add a@b.example", "add needs EMAIL and NAME", exitUsage},
		{"user disable", "disable needs one EMAIL", exitUsage},
		{"user password a@b.example c@d.example", "password needs one EMAIL", exitUsage},
		{"user list all", `does not take "all"`, exitUsage},
		{"import", "needs -program CODE", exitUsage},
		{"import -program X -as a@b.example", "at least one FILE", exitUsage},
		{"import -program X " + file, "needs -program CODE, -as EMAIL", exitUsage},
		{"import -program X -as a@b.example /nowhere/at/all.csv", "no such file", exitFailed},
		{"import -program X -as a@b.example /", "/ is a folder", exitUsage},
		{"import -program X -as a@b.example -units furlong " + file, `-units "furlong" is neither us nor si`, exitUsage},
		{"demo again", `does not take "again"`, exitUsage},
		{"backup", "needs one FILE", exitUsage},
		{"backup a b", "needs one FILE", exitUsage},
		{"restore", "needs one FILE", exitUsage},
		{"verify all", `does not take "all"`, exitUsage},
		{"version long", `does not take "long"`, exitUsage},
		{"database-address x", `does not take "x"`, exitUsage},
		{"database-address -data /nowhere", "no database server runs in", exitFailed},
	} {
		status, out, errs := typed(t.Context(), nil, "", strings.Fields(c.line)...)
		require.Contains(t, errs, c.want, c.line)
		require.Equal(t, c.status, status, c.line)
		require.Empty(t, out, c.line)
		require.Equal(t, 1, strings.Count(errs, "\n"), "one line: %s", errs)
	}
}

func TestMisspelledSettingIsRefused(t *testing.T) {
	t.Parallel()
	status, _, errs := typed(t.Context(), []string{"ENDCAST_ADRR=:1"}, "", "version")
	require.Equal(t, exitUsage, status)
	require.Contains(t, errs, "ENDCAST_ADRR is no setting of this program")
}

func TestFlagWinsOverEnvironment(t *testing.T) {
	t.Parallel()
	env := []string{"DATABASE_URL=postgres://from-the-environment/x", "PATH=/bin"}
	_, out, _ := typed(t.Context(), env, "", "database-address")
	require.Equal(t, "postgres://from-the-environment/x\n", out)
	_, out, _ = typed(t.Context(), env, "", "database-address", "-database", "postgres://from-the-flag/x")
	require.Equal(t, "postgres://from-the-flag/x\n", out)
}

func TestHelpListsEveryCommandAndSetting(t *testing.T) {
	t.Parallel()
	for _, word := range []string{"help", "-h", "--help"} {
		status, out, errs := typed(t.Context(), nil, "", word)
		require.Equal(t, exitOK, status)
		require.Empty(t, errs)
		for _, k := range commands() {
			require.Contains(t, out, "  "+k.name+" ")
		}
		for _, s := range settingTable {
			require.Contains(t, out, s.env)
			require.Contains(t, out, "-"+s.flag)
		}
	}
	for _, k := range commands() {
		status, out, _ := typed(t.Context(), nil, "", k.name, "-help")
		require.Equal(t, exitOK, status)
		require.Contains(t, out, k.brief)
	}
}

func TestVersion(t *testing.T) {
	t.Parallel()
	status, out, _ := typed(t.Context(), nil, "", "version")
	require.Equal(t, exitOK, status)
	require.Regexp(t, `^endcast \S+ \(go1\.\d+`, out)
}

func TestMigrateCommand(t *testing.T) {
	t.Parallel()
	env := []string{"DATABASE_URL=" + dbtest.EmptyDSN(t)}
	at := func(words ...string) string {
		status, out, errs := typed(t.Context(), env, "", words...)
		require.Equal(t, exitOK, status, errs)
		return out
	}
	require.Regexp(t, `^schema version 0 of [1-9]\d*\n$`, at("migrate", "version"))

	status, _, errs := typed(t.Context(), env, "", "user", "list")
	require.Equal(t, exitFailed, status)
	require.Contains(t, errs, "run `endcast migrate up`", "a command does not upgrade a database that others may use")

	full := at("migrate", "up")
	require.Regexp(t, `^schema version ([1-9]\d*) of [1-9]\d*\n$`, full)
	require.Equal(t, "nothing to repair\n"+full, at("migrate", "repair"))
	require.Regexp(t, `^schema version 0 of`, at("migrate", "down", "-to", "0", "-yes"))
}

func TestObeyStopsThenLeaves(t *testing.T) {
	t.Parallel()
	signals := make(chan os.Signal, 2)
	stopped, left := make(chan struct{}), make(chan int, 1)
	go obey(signals, func() { close(stopped) }, func(status int) { left <- status })
	signals <- os.Interrupt
	<-stopped
	require.Empty(t, left)
	signals <- os.Interrupt
	require.Equal(t, exitSignal, <-left)
}
