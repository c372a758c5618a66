package logfile

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"
)

// Part is one file of a recording. Open is called once, or twice where there are
// several parts: they are first put in order of time.
type Part struct {
	Name string
	Open func() (io.ReadCloser, error)
}

// Reader walks the rows of one or several files. Use:
//
//	r := logfile.Read(src, m, rules)
//	for r.Next() { use r.At(), r.Values() }
//	if err := r.Err(); err != nil { nothing of the file counts }
type Reader struct {
	m      Map
	rules  Rules
	parts  []Part
	part   int
	name   string // of the part, where there are several
	lines  *lines
	closer io.Closer
	header [][]byte
	cols   []column
	need   int // highest column that the map names
	sep    byte
	point  byte
	none   []string
	zone   local
	fields [][]byte
	width  int // columns of the first row; 0: none read yet
	short  int // length of the shortest row so far
	rows   int64

	nano   int64
	values []float64
	watch  watch
	err    error
	done   bool
}

// column is a Column made ready.
type column struct {
	Column
	unit      Unit
	scale     float64
	low, high float64
}

// Read begins to read one file. A map or rules that cannot be followed are the
// reader's error.
func Read(src io.Reader, m Map, rules Rules) *Reader {
	return ReadParts([]Part{{Open: func() (io.ReadCloser, error) { return io.NopCloser(src), nil }}}, m, rules)
}

// ReadParts begins to read several files as one recording, in order of the time of
// their first rows. Close it when it is not read to the end.
func ReadParts(parts []Part, m Map, rules Rules) *Reader {
	r := &Reader{m: m, rules: rules, parts: parts}
	if r.err = m.Validate(); r.err != nil {
		return r
	}
	if m.Clock.Kind == Dates && rules.Zone == nil && m.Clock.Zone != "" || m.Clock.Kind == Serial && rules.Zone == nil {
		r.err = &Problem{Kind: BadTime, Reason: "no time zone is known for the times of the file: name one"}
		return r
	}
	r.zone = local{zone: rules.Zone}
	r.sep, r.point = m.Separator[0], m.Decimal[0]
	r.values = make([]float64, len(m.Values))
	r.need = max(m.Clock.Index, m.Clock.Time)
	for _, c := range m.Values {
		u, _ := UnitNamed(c.Unit)
		x := column{Column: c, unit: u, scale: c.Scale, low: math.Inf(-1), high: math.Inf(1)}
		if x.scale == 0 {
			x.scale = 1
		}
		if lim, ok := rules.Ranges[u.Quantity]; ok {
			x.low, x.high = lim[0], lim[1]
		}
		r.cols = append(r.cols, x)
		r.need = max(r.need, c.Index)
	}
	for _, w := range m.NoReading {
		r.none = append(r.none, strings.TrimSpace(w))
	}
	r.watch.start(r)
	if len(parts) > 1 && m.Clock.Kind != Counted {
		r.order()
	}
	return r
}

// order sorts the parts by the times of their first rows.
func (r *Reader) order() {
	type first struct {
		Part
		at int64
	}
	list := make([]first, len(r.parts))
	for i, p := range r.parts {
		one := ReadParts([]Part{p}, r.m, r.rules)
		ok := one.Next()
		list[i] = first{p, one.nano}
		one.Close()
		if one.err != nil {
			r.err = one.err
			if e, ok := r.err.(*Problem); ok {
				e.File = p.Name
			}
			return
		}
		if !ok {
			list[i].at = math.MinInt64
		}
	}
	slices.SortStableFunc(list, func(a, b first) int {
		switch {
		case a.at < b.at:
			return -1
		case a.at > b.at:
			return 1
		}
		return strings.Compare(a.Name, b.Name)
	})
	r.parts = slices.Clone(r.parts)
	for i, f := range list {
		r.parts[i] = f.Part
	}
}

// At is the instant of the row.
func (r *Reader) At() time.Time { return time.Unix(0, r.nano).UTC() }

// Values are those of the row, in the order of the map's columns, in the coherent
// unit of each; NaN where there is no reading. The slice is used again for the next row.
func (r *Reader) Values() []float64 { return r.values }

// Line is the line of the row in its file.
func (r *Reader) Line() int { return r.lines.n }

// Err is why reading stopped, nil at the end of the last file.
func (r *Reader) Err() error { return r.err }

// Report is what was seen so far.
func (r *Reader) Report() Report { return r.watch.seen() }

// Close ends reading early.
func (r *Reader) Close() {
	if r.closer != nil {
		_ = r.closer.Close()
		r.closer = nil
	}
	r.done = true
}

// Next goes to the next row. It reports false at the end and at an error.
func (r *Reader) Next() bool {
	for r.err == nil && !r.done {
		if r.lines == nil && !r.openPart() {
			break
		}
		line := r.lines.next()
		if line == nil {
			r.endPart()
			continue
		}
		taken, ok := r.row(line)
		if !ok {
			break
		}
		if taken {
			return true
		}
	}
	if r.err == nil && r.done && r.watch.report.Rows == 0 {
		r.err = &Problem{Kind: NoRows, Reason: "no row of readings was found below the header"}
	}
	if r.err == nil {
		r.err = r.watch.end()
	}
	r.Close()
	return false
}

func (r *Reader) openPart() bool {
	if r.part == len(r.parts) {
		r.done = true
		return false
	}
	p := r.parts[r.part]
	r.part++
	if len(r.parts) > 1 {
		r.name = p.Name
	}
	src, err := p.Open()
	if err != nil {
		if _, ok := err.(*Problem); !ok {
			err = fmt.Errorf("open %s: %w", p.Name, err)
		}
		r.err = err
		return false
	}
	r.closer = src
	r.lines = newLines(decoded(src, r.m.Encoding))
	r.width, r.header = 0, nil
	for range r.m.Header {
		line := r.lines.next()
		if line == nil {
			break
		}
		if l := trim(line); len(l) > 0 && len(l) < 4096 {
			r.header = append(r.header, bytes.Clone(l))
		}
	}
	return true
}

func (r *Reader) endPart() {
	switch err := r.lines.err; {
	case err == nil:
	case err == errLong:
		r.refuse(NotText, 0, "the line is longer than %d characters: this is not a table of readings", maxLine)
	default:
		if p, ok := err.(*Problem); ok {
			q := *p
			q.Line = r.lines.n + 1
			if q.File == "" {
				q.File = r.name
			}
			r.err = &q
		} else {
			r.err = fmt.Errorf("read line %d: %w", r.lines.n+1, err)
		}
	}
	_ = r.closer.Close()
	r.closer, r.lines = nil, nil
}

func (r *Reader) refuse(k Kind, column int, reason string, args ...any) {
	r.err = &Problem{File: r.name, Line: r.lines.n, Column: column, Kind: k, Reason: fmt.Sprintf(reason, args...)}
}

// row reads one line. It reports whether it is a row, and whether to go on.
func (r *Reader) row(line []byte) (taken, ok bool) {
	if len(trim(line)) == 0 || (r.m.Comment != "" && bytes.HasPrefix(line, []byte(r.m.Comment))) {
		return false, true
	}
	whole, length := r.lines.whole, len(line)
	if !whole && r.rows > 0 && length < r.short {
		return r.cut()
	}
	if r.read(line) {
		if r.rows == 0 || length < r.short {
			r.short = length
		}
		r.rows++
		return r.watch.row()
	}
	if !whole && r.rows > 0 {
		r.err = nil
		return r.cut()
	}
	if r.isHeader(line) {
		r.err = nil
		r.watch.add(Finding{Kind: AgainHeader, Rows: 1, Text: "the lines of names come again: the logger was started anew"})
		return false, true
	}
	return false, false
}

func (r *Reader) cut() (bool, bool) {
	r.watch.add(Finding{Kind: CutShort, Rows: 1, Text: "the last line breaks off; it was left out"})
	return false, true
}

func (r *Reader) isHeader(line []byte) bool {
	l := trim(line)
	for _, h := range r.header {
		if bytes.Equal(h, l) {
			return true
		}
	}
	return false
}

// read takes the fields of a line into nano and values. It reports false with r.err
// set when it cannot.
func (r *Reader) read(line []byte) bool {
	var closed bool
	r.fields, closed = fields(r.fields[:0], line, r.sep)
	f := r.fields
	if !closed {
		if i := bytes.IndexByte(line, 0); i >= 0 {
			return r.notText()
		}
		r.refuse(Shape, 0, "a quoted text is not closed on its line")
		return false
	}
	for len(f) > r.need && len(f[len(f)-1]) == 0 {
		f = f[:len(f)-1]
	}
	if r.width == 0 {
		r.width = len(f)
	}
	if len(f) < r.need {
		if bytes.IndexByte(line, 0) >= 0 {
			return r.notText()
		}
		r.refuse(Shape, 0, "the row has %d %s where the map reads column %d%s", len(f), plural(len(f), "column"), r.need, r.separatorHint(line))
		return false
	}
	if len(f) > r.width && r.width >= r.need || len(f) > MaxColumns*2 {
		r.refuse(Shape, 0, "the row has %d columns where the first row has %d (a decimal comma, or a separator within a text?)", len(f), r.width)
		return false
	}
	if !r.time(f) {
		return false
	}
	for i := range r.cols {
		if !r.value(i, f[r.cols[i].Index-1]) {
			return false
		}
	}
	return true
}

func (r *Reader) notText() bool {
	r.refuse(NotText, 0, "the line holds bytes that are no text: the file is not a text table, or in another encoding than %s", r.m.Encoding)
	return false
}

func (r *Reader) separatorHint(line []byte) string {
	for _, s := range Separators[:3] {
		if s != r.m.Separator && bytes.Count(line, []byte(s)) >= r.need-1 && r.need > 1 {
			return fmt.Sprintf("; it is separated by a %s, not by a %s", separatorName(s), separatorName(r.m.Separator))
		}
	}
	return ""
}

func separatorName(s string) string {
	switch s {
	case ",":
		return "comma"
	case ";":
		return "semicolon"
	case "\t":
		return "tab"
	case "|":
		return "bar"
	}
	return "space"
}

func plural(n int, word string) string {
	if n == 1 {
		return word
	}
	return word + "s"
}

// value takes one cell into values[i].
func (r *Reader) value(i int, cell []byte) bool {
	c := &r.cols[i]
	v, rest, ok := number(cell, r.point)
	if !ok || len(rest) > 0 {
		if r.isNone(cell) {
			r.values[i] = math.NaN()
			return true
		}
		if !ok || !r.sameUnit(c, trim(rest)) {
			return r.notNumber(c, cell, rest, ok)
		}
	}
	if len(r.none) > 0 && r.isNone(cell) {
		r.values[i] = math.NaN()
		return true
	}
	x := float64(float64(v*c.scale)*c.unit.Scale) + c.unit.Offset
	if x < c.low || x > c.high {
		if !r.watch.allowed[Impossible] {
			r.refuse(Impossible, c.Index, "%s %s cannot be true: it must be from %.4g to %.4g %s. Where the logger writes this when it has no reading, name it so in the map",
				cell, c.unit.Label, c.back(c.low), c.back(c.high), c.unit.Label)
			return false
		}
	}
	if c.Full > 0 && math.Abs(v) >= c.Full {
		r.watch.saturated(i)
	}
	r.values[i] = x
	return true
}

// back is a value in the unit of the file.
func (c *column) back(x float64) float64 { return (x - c.unit.Offset) / c.unit.Scale / c.scale }

func (r *Reader) isNone(cell []byte) bool {
	if len(cell) == 0 || len(cell) == 3 && strings.EqualFold(string(cell), "nan") {
		return true
	}
	for _, w := range r.none {
		if strings.EqualFold(w, string(cell)) {
			return true
		}
	}
	return false
}

// sameUnit reports whether what follows a number is the unit of its column.
func (r *Reader) sameUnit(c *column, rest []byte) bool {
	u, ok := unitOf(string(rest), true)
	return ok && u.Name == c.unit.Name
}

func (r *Reader) notNumber(c *column, cell, rest []byte, some bool) bool {
	shown := clip(cell)
	if u, ok := unitOf(string(trim(rest)), !some); ok && u.Name != "" && u.Name != c.unit.Name && c.unit.Quantity != Plain {
		r.refuse(MixedUnits, c.Index, "mixed units: %q is in %s where the map reads %s", shown, u.Label, c.unit.Label)
		return false
	}
	hint := ""
	if some && len(rest) > 1 && (rest[0] == ',' || rest[0] == '.') && rest[1]-'0' <= 9 {
		hint = fmt.Sprintf(" with a decimal %s", pointName(r.point))
	}
	if bytes.IndexByte(cell, 0) >= 0 {
		return r.notText()
	}
	r.refuse(BadNumber, c.Index, "%q is not a number%s", shown, hint)
	return false
}

func pointName(c byte) string {
	if c == ',' {
		return "comma"
	}
	return "point"
}

func clip(s []byte) string {
	t := strings.ToValidUTF8(string(s[:min(len(s), 60)]), "?")
	if len(s) > 60 {
		t += "…"
	}
	return t
}
