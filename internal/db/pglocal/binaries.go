package pglocal

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// ErrNoBinaries is returned when the machine has no PostgreSQL programs. Its text says how to get them.
var ErrNoBinaries = errors.New("PostgreSQL is not installed: run `apt-get install postgresql` (or set DATABASE_URL to a server " +
	"you have, or PG_BINDIR to the folder of initdb and postgres)")

// VersionError says that a data folder was written by another major version of PostgreSQL than the programs at hand.
// Nothing was changed.
type VersionError struct {
	Dir  string // the cluster
	Have string // version in the folder
	Want int    // version of the programs
	Bin  string // where those are
}

func (e *VersionError) Error() string {
	return fmt.Sprintf("data folder %s belongs to PostgreSQL %s, and the programs in %s are PostgreSQL %d; nothing was changed. "+
		"To go on, install the old programs beside the new ones (`apt-get install postgresql-%s`): they are then found and used. "+
		"To move to %d, dump with the old version and restore into an empty data folder",
		e.Dir, e.Have, e.Bin, e.Want, e.Have, e.Want)
}

// Install is one PostgreSQL installation.
type Install struct {
	Bin   string // folder of initdb, postgres, pg_dump
	Major int
}

// Program is the path of one of its programs.
func (i Install) Program(name string) string { return filepath.Join(i.Bin, name) }

// Where packages put the programs. Within a pattern the highest version comes first.
var patterns = []string{
	"/usr/lib/postgresql/*/bin",
	"/usr/pgsql-*/bin",
	"/usr/libexec/postgresql*",
	"/opt/homebrew/opt/postgresql*/bin",
	"/usr/local/opt/postgresql*/bin",
	"/Applications/Postgres.app/Contents/Versions/*/bin",
}

// Installs lists the PostgreSQL installations of this machine, best first: the folder named by PG_BINDIR alone if that is set,
// else the usual folders of packages with the highest version first, else what PATH leads to.
func Installs() ([]Install, error) {
	return search(os.Getenv("PG_BINDIR"), patterns, os.Getenv("PATH"))
}

func search(bindir string, globs []string, path string) ([]Install, error) {
	if bindir != "" {
		in, err := probe(bindir)
		if err != nil {
			return nil, fmt.Errorf("PG_BINDIR: %w", err)
		}
		return []Install{in}, nil
	}
	var out []Install
	seen := map[string]bool{}
	add := func(dir string) {
		real, err := filepath.EvalSymlinks(dir)
		if err != nil || seen[real] {
			return
		}
		seen[real] = true
		if in, err := probe(real); err == nil {
			out = append(out, in)
		}
	}
	for _, g := range globs {
		dirs, _ := filepath.Glob(g)
		for _, d := range dirs {
			add(d)
		}
	}
	// A program on PATH is often a link into the real folder, where its neighbors and its share files are.
	for _, d := range filepath.SplitList(path) {
		if real, err := filepath.EvalSymlinks(filepath.Join(d, "postgres")); err == nil {
			add(filepath.Dir(real))
		}
	}
	slices.SortStableFunc(out, func(a, b Install) int { return cmp.Compare(b.Major, a.Major) })
	if len(out) == 0 {
		return nil, ErrNoBinaries
	}
	return out, nil
}

var versionText = regexp.MustCompile(`\(PostgreSQL\) (\d+)`)

func probe(bin string) (Install, error) {
	for _, p := range []string{"postgres", "initdb"} {
		if st, err := os.Stat(filepath.Join(bin, p)); err != nil || st.IsDir() {
			return Install{}, fmt.Errorf("no program %s in %s", p, bin)
		}
	}
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	out, err := exec.CommandContext(ctx, filepath.Join(bin, "postgres"), "--version").Output()
	if err != nil {
		return Install{}, fmt.Errorf("%s/postgres --version: %w", bin, err)
	}
	m := versionText.FindSubmatch(out)
	if m == nil {
		return Install{}, fmt.Errorf("%s/postgres --version: not understood: %q", bin, out)
	}
	major, err := strconv.Atoi(string(m[1]))
	if err != nil {
		return Install{}, fmt.Errorf("%s/postgres --version: %w", bin, err)
	}
	if major < minMajor {
		return Install{}, fmt.Errorf("%s is PostgreSQL %d; at least %d is needed", bin, major, minMajor)
	}
	return Install{Bin: bin, Major: major}, nil
}

// chooseInstall picks the programs for a cluster: those of its own major version if the machine has them.
func chooseInstall(bin, cluster string) (Install, error) {
	var all []Install
	if bin != "" {
		in, err := probe(bin)
		if err != nil {
			return Install{}, fmt.Errorf("%w: %w", ErrNoBinaries, err)
		}
		all = []Install{in}
	} else {
		var err error
		if all, err = Installs(); err != nil {
			return Install{}, err
		}
	}
	b, err := os.ReadFile(filepath.Join(cluster, "PG_VERSION"))
	if errors.Is(err, os.ErrNotExist) {
		return all[0], nil
	}
	if err != nil {
		return Install{}, fmt.Errorf("data folder: %w", err)
	}
	have := strings.TrimSpace(string(b))
	for _, in := range all {
		if strconv.Itoa(in.Major) == have {
			return in, nil
		}
	}
	return Install{}, &VersionError{Dir: cluster, Have: have, Want: all[0].Major, Bin: all[0].Bin}
}
