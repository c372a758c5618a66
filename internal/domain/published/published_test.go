package published_test

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/published"
)

// README.md lists every table with what its header says, and no other; the tests
// that compare the values fail when its numbers differ from theirs.
func TestReadmeListsEveryTable(t *testing.T) {
	t.Parallel()
	root := published.Root(t)
	readme, err := os.ReadFile(filepath.Join(root, "README.md"))
	require.NoError(t, err)
	rows := map[string]string{}
	for _, m := range regexp.MustCompile(`(?m)^\| \[\w+\]\(`+published.Folder+`/([\w.]+)\) \|.*$`).FindAllStringSubmatch(string(readme), -1) {
		require.Empty(t, rows[m[1]], "%s stands twice in README.md", m[1])
		rows[m[1]] = m[0]
	}
	figures := regexp.MustCompile(`\| (\d+) \| ([^|]+) \|$`)
	for _, h := range headers(t, root) {
		row := rows[h.File]
		delete(rows, h.File)
		m := figures.FindStringSubmatch(row)
		require.NotNil(t, m, "README.md has no row for %s: %s", h.File, h.Line("n", "worst"))
		require.Equal(t, h.Line(m[1], m[2]), row, "source and tag are those of the file")
	}
	require.Empty(t, rows, "README.md lists tables that are not there")
}

// A table that no test opens and closes could say anything.
func TestEveryTableIsCompared(t *testing.T) {
	t.Parallel()
	root := published.Root(t)
	opened := map[string]string{}
	open := regexp.MustCompile(`published\.Open\(t, "([\w.]+)"\)`)
	require.NoError(t, filepath.WalkDir(filepath.Join(root, "internal"), func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, "_test.go") || strings.HasSuffix(path, "published/published_test.go") {
			return err
		}
		src, err := os.ReadFile(path)
		require.NoError(t, err)
		for _, m := range open.FindAllStringSubmatch(string(src), -1) {
			opened[m[1]] = path
		}
		require.NotRegexp(t, `Join\([^)]*"testdata", "published"|Open\("[./]*testdata/published/`, string(src), "%s reads the tables past this package", path)
		return nil
	}))
	for _, h := range headers(t, root) {
		require.NotEmpty(t, opened[h.File], "no test compares %s", h.File)
	}
}

func headers(t *testing.T, root string) []published.Header {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(root, published.Folder, "*.csv"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	var out []published.Header
	for _, f := range files {
		raw, err := os.ReadFile(f)
		require.NoError(t, err)
		h, err := published.ReadHeader(filepath.Base(f), string(raw))
		require.NoError(t, err)
		require.NotContains(t, h.Title+h.Source+h.Tag, "|", "%s: the header stands in a table", f)
		require.True(t, slices.ContainsFunc([]string{"read", "memory", "recomputed", "proposal", "common practice"}, func(w string) bool { return strings.Contains(h.Tag, w) }),
			"%s: the tag %q says nothing of how the values came", f, h.Tag)
		out = append(out, h)
	}
	return out
}

func TestHeaderIsNeeded(t *testing.T) {
	t.Parallel()
	h, err := published.ReadHeader("a.csv", "# Title of it.\n# Source: a book, p. 3.\n# Tag: read.\n# more\na,b\n1,2\n")
	require.NoError(t, err)
	require.Equal(t, published.Header{File: "a.csv", Title: "Title of it", Source: "a book, p. 3", Tag: "read"}, h)
	require.Equal(t, "| [a](testdata/published/a.csv) | Title of it | a book, p. 3 | read | 2 | 0.4 % |", h.Line("2", "0.4 %"))
	for _, text := range []string{"", "a,b\n1,2\n", "# Title.\n# Source: x.\na\n", "# Title.\n# Tag: read.\na\n"} {
		_, err := published.ReadHeader("a.csv", text)
		require.ErrorContains(t, err, "a.csv")
	}
}

// recorder is a test that is told of failures instead of failing.
type recorder struct {
	testing.TB
	said []string
}

func (r *recorder) Helper()                      {}
func (r *recorder) Failed() bool                 { return len(r.said) > 0 }
func (r *recorder) Cleanup(func())               {}
func (r *recorder) Logf(string, ...any)          {}
func (r *recorder) Errorf(f string, args ...any) { r.said = append(r.said, f) }
func (r *recorder) FailNow()                     {}

// Every way in which a table may be wrong is told.
func TestWrongValuesFail(t *testing.T) {
	t.Parallel()
	r := &recorder{TB: t}
	x := published.Open(r, "si.csv")
	row := x.Rows[0]
	x.Within(row, "yielding", row.Number("yielding")*1.0001, 0.5)
	require.Empty(t, r.said)
	require.Equal(t, "0.010 %", x.Worst())
	x.Within(row, "yielding", row.Number("yielding")*1.01, 0.5)
	require.Len(t, r.said, 1)
	x.Shown(row, "shear", 0, 0)
	require.Len(t, r.said, 2)
	x.Figures(row, "shear", row.Number("shear")+0.01, 1)
	require.Len(t, r.said, 3)
	x.Done(3)
	require.Len(t, r.said, 4, "two cells were compared, one of them twice")

	r = &recorder{TB: t}
	x = published.Open(r, "si.csv")
	x.Within(x.Rows[0], "yielding", x.Rows[0].Number("yielding"), 0)
	require.Equal(t, "0 %", x.Worst())
	x.Done(1)
	require.Len(t, r.said, 1, "README.md says another number of values")
}
