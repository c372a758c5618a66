// Package published reads the tables of testdata/published for tests: values
// that somebody outside this program printed or computed, each table with its
// source and how the values came to us. A test opens a table, compares each value
// and closes it; closing says in one line how many values were compared and how
// far the worst lies off, and fails when README.md says otherwise.
//
// Only tests import this package. It writes nothing.
package published

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// Folder is where the tables lie, from the root of the repository.
const Folder = "testdata/published"

// Table is one file while its values are compared.
type Table struct {
	Header
	Rows []Row

	t     testing.TB
	unit  string        // of the difference; "" for percent of the value
	seen  map[cell]bool // compared
	worst float64
	at    string
	done  bool
}

// cell is a place in a table. One that is compared twice, with two things that
// must both agree with it, counts as one value.
type cell struct {
	row    int
	column string
}

// Header is what the first lines of a table say of it.
type Header struct {
	File   string
	Title  string // first line
	Source string // line that begins "Source: "
	Tag    string // line that begins "Tag: "
}

// Row is one row, by column.
type Row struct {
	t     testing.TB
	file  string
	index int
	first string
	cells map[string]string
}

// Open reads a table. The test fails when it is not there, has no title, source
// or tag, or ends without Done.
func Open(t testing.TB, file string) *Table {
	t.Helper()
	x := read(t, file)
	t.Cleanup(func() {
		if !x.done && !t.Failed() {
			t.Errorf("%s: the table was opened and never closed with Done", file)
		}
	})
	return x
}

// Rows are the rows of a table that another test compares and closes.
func Rows(t testing.TB, file string) []Row {
	t.Helper()
	return read(t, file).Rows
}

func read(t testing.TB, file string) *Table {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(Root(t), Folder, file))
	if err != nil {
		t.Fatalf("published values: %v", err)
	}
	h, err := ReadHeader(file, string(raw))
	if err != nil {
		t.Fatal(err)
	}
	r := csv.NewReader(strings.NewReader(string(raw)))
	r.Comment, r.TrimLeadingSpace = '#', true
	all, err := r.ReadAll()
	if err != nil || len(all) < 2 {
		t.Fatalf("%s: no rows, or not a table: %v", file, err)
	}
	x := &Table{Header: h, t: t, seen: map[cell]bool{}}
	for n, cells := range all[1:] {
		row := Row{t: t, file: file, index: n, first: cells[0], cells: map[string]string{}}
		for i, v := range cells {
			row.cells[all[0][i]] = v
		}
		x.Rows = append(x.Rows, row)
	}
	return x
}

// ReadHeader reads title, source and tag.
func ReadHeader(file, text string) (Header, error) {
	h := Header{File: file}
	for i, line := range strings.Split(text, "\n") {
		words, ok := strings.CutPrefix(line, "#")
		if !ok {
			break
		}
		words = strings.TrimSpace(words)
		if i == 0 {
			h.Title = strings.TrimSuffix(words, ".")
		}
		if s, ok := strings.CutPrefix(words, "Source: "); ok && h.Source == "" {
			h.Source = strings.TrimSuffix(s, ".")
		}
		if s, ok := strings.CutPrefix(words, "Tag: "); ok && h.Tag == "" {
			h.Tag = strings.TrimSuffix(s, ".")
		}
	}
	if h.Title == "" || h.Source == "" || h.Tag == "" {
		return h, fmt.Errorf("%s: its first lines must give a title, then \"Source: \" and \"Tag: \"; got %+v", file, h)
	}
	return h, nil
}

// Root is the folder of go.mod above the test.
func Root(t testing.TB) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
		up := filepath.Dir(dir)
		if up == dir {
			t.Fatal("no go.mod above the test")
		}
		dir = up
	}
}

// Text is a cell. The test fails when the table has no such column.
func (r Row) Text(column string) string {
	r.t.Helper()
	v, ok := r.cells[column]
	if !ok {
		r.t.Fatalf("%s has no column %q", r.file, column)
	}
	return v
}

// Number is a cell that holds a number.
func (r Row) Number(column string) float64 {
	r.t.Helper()
	v, err := strconv.ParseFloat(r.Text(column), 64)
	if err != nil {
		r.t.Fatalf("%s, column %q: %v", r.file, column, err)
	}
	return v
}

// In makes the table measure differences as they are, in a unit, and not in
// percent of the value: for values that are differences themselves, or zero.
func (x *Table) In(unit string) *Table {
	x.unit = unit
	return x
}

// Within compares the number of a cell with what the program gives: they may
// differ by tolerance, in the unit of the cell. It counts one value.
func (x *Table) Within(r Row, column string, got, tolerance float64) {
	x.t.Helper()
	want := r.Number(column)
	gap := math.Abs(got - want)
	if !(gap <= tolerance) {
		x.t.Errorf("%s, %s: %s is %s, computed %.9g, off by %.3g where %.3g is allowed", x.File, r.name(), column, r.Text(column), got, gap, tolerance)
	}
	if x.unit == "" {
		if want == 0 {
			gap = 0 // no percentage of nothing; the tolerance has spoken
		} else {
			gap *= 100 / math.Abs(want)
		}
	}
	if gap > x.worst {
		x.worst, x.at = gap, r.name()+", "+column
	}
	x.seen[cell{r.index, column}] = true
}

// Shown compares like Within, with half a unit of the last figure of the cell and
// a share of the value.
func (x *Table) Shown(r Row, column string, got, share float64) {
	x.t.Helper()
	x.Within(r, column, got, share*math.Abs(r.Number(column))+half(r.Text(column)))
}

// Figures compares like Within, with some units of the last figure of the cell.
func (x *Table) Figures(r Row, column string, got, figures float64) {
	x.t.Helper()
	x.Within(r, column, got, 2*figures*half(r.Text(column)))
}

// half is half a unit of the last figure of a printed number, and a hair for the
// rounding of halves.
func half(shown string) float64 {
	shown, _, _ = strings.Cut(shown, "e")
	if i := strings.IndexByte(shown, '.'); i >= 0 {
		return 0.501 * math.Pow(10, -float64(len(shown)-i-1))
	}
	return 0.501
}

// name is how a message calls the row: its place, and its first cell.
func (r Row) name() string { return fmt.Sprintf("row %d (%s)", r.index+1, r.first) }

// Worst is the worst difference so far, as it is printed.
func (x *Table) Worst() string {
	unit := x.unit
	if unit == "" {
		unit = "%"
	}
	if x.worst < 1e-7 {
		return "0 " + unit
	}
	figures := max(0, 1-int(math.Floor(math.Log10(x.worst)))) // two of them, never an exponent
	return strconv.FormatFloat(x.worst, 'f', figures, 64) + " " + unit
}

// Done closes the table: n values must have been compared. It logs the line that
// README.md shows and fails when that differs.
func (x *Table) Done(n int) {
	x.t.Helper()
	x.done = true
	if len(x.seen) != n {
		x.t.Errorf("%s: %d values were compared, not %d", x.File, len(x.seen), n)
	}
	x.t.Logf("%s: %d values, worst difference %s (%s)", x.File, len(x.seen), x.Worst(), x.at)
	if want := x.Line(); !x.t.Failed() && !strings.Contains(readme(x.t), want+"\n") {
		x.t.Errorf("README.md should say of this table:\n%s", want)
	}
	if x.t.Failed() {
		x.t.FailNow()
	}
}

// Line is the row of README.md for the table.
func (x *Table) Line() string { return x.Header.Line(strconv.Itoa(len(x.seen)), x.Worst()) }

// Line is the row of README.md for a table with so many values.
func (h Header) Line(n, worst string) string {
	return fmt.Sprintf("| [%s](%s/%s) | %s | %s | %s | %s | %s |", strings.TrimSuffix(h.File, ".csv"), Folder, h.File, h.Title, h.Source, h.Tag, n, worst)
}

func readme(t testing.TB) string {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(Root(t), "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}
