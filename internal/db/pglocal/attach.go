package pglocal

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// Attach returns how to connect to the server that another copy of this program runs on a data folder, for a command such
// as "add an account" that is typed while the server is up. It fails when no server is ready there.
func Attach(dir string) (dsn string, err error) {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return "", fmt.Errorf("data folder %s: %w", dir, err)
	}
	cluster := filepath.Join(abs, "pg")
	b, err := os.ReadFile(filepath.Join(cluster, "postmaster.pid"))
	if err != nil {
		return "", fmt.Errorf("no database server runs in %s: %w", dir, err)
	}
	// Line 5 is the socket folder, line 8 the state.
	lines := strings.Split(string(b), "\n")
	f, err := readPIDFile(cluster)
	if err != nil || !f.ready || len(lines) < 5 || whose(f.pid, cluster) != ours {
		return "", fmt.Errorf("no database server is ready in %s", dir)
	}
	s := &Server{socket: strings.TrimSpace(lines[4])}
	return s.DSN(), nil
}

// InstallFor returns the installation that opens, or would make, the cluster in a data folder: its pg_dump and pg_restore
// fit that server.
func InstallFor(dir string) (Install, error) {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return Install{}, fmt.Errorf("data folder %s: %w", dir, err)
	}
	return chooseInstall("", filepath.Join(abs, "pg"))
}
