package logfile

import (
	"bytes"
	"fmt"
	"io"
	"strings"
)

// Doubt is something that the first lines of a file do not settle, for a person to
// say. Field names a part of the Map as in Map.Validate; Choices are the values that
// it could take, the one that the map holds first, none where any will do.
type Doubt struct {
	Field   string   `json:"field"`
	Say     string   `json:"say"`
	Choices []string `json:"choices,omitempty"`
}

// HeadSize is how many bytes of a file Guess and Preview want: more are not looked at.
const HeadSize = 64 << 10

// Guess proposes a map from the first bytes of a file and says what it is not sure
// of. What could be read in two ways is never settled in silence. It refuses with a
// *Problem what holds no table of readings.
func Guess(head []byte) (Map, []Doubt, error) {
	head = head[:min(len(head), HeadSize)]
	if form := Sniff(head); form != Text {
		return Map{}, nil, &Problem{Kind: NotText, Reason: "the file is " + string(form) + ", not a table of readings"}
	}
	g := guess{m: Map{Encoding: encodingOf(head), Decimal: "."}}
	g.split(head)
	if !g.table() {
		return Map{}, nil, &Problem{Kind: NoRows, Reason: "no table was found: lines of a time and readings in columns, separated by commas, semicolons or tabs"}
	}
	g.name()
	g.zone()
	return g.m, g.doubts, nil
}

type guess struct {
	m      Map
	text   [][]byte
	rows   [][][]byte // fields of the lines of the table
	doubts []Doubt
}

func (g *guess) doubt(field, say string, choices ...string) {
	g.doubts = append(g.doubts, Doubt{field, say, choices})
}

// split keeps the first lines; the last is left out where the head may have cut it.
func (g *guess) split(head []byte) {
	l := newLines(decoded(bytes.NewReader(head), g.m.Encoding))
	for len(g.text) < 400 {
		line := l.next()
		if line == nil || (!l.whole && len(head) >= HeadSize-1) {
			break
		}
		g.text = append(g.text, bytes.Clone(line))
	}
}

// trial is a way to split lines into columns, and how far it goes.
type trial struct {
	sep, decimal string
	from         int // line of the first row, from 0
	fields       [][][]byte
	clock        Clock
	values       []int // columns of numbers, from 1
	rivals       []string
}

// table looks for the separator and decimal under which the most lines are rows of
// one shape with a time and a number.
func (g *guess) table() bool {
	var best trial
	score := 0
	for _, sep := range []string{"\t", ";", ",", "|", " "} {
		for _, dec := range []string{".", ","} {
			if sep == "," && dec == "," {
				continue
			}
			t, ok := g.attempt(sep, dec)
			if !ok {
				continue
			}
			s := len(t.fields)*100 + len(t.values)*10
			if t.clock.Kind == Dates {
				s += 30 // a date is no accident; a column of numbers may be taken for a count
			}
			if sep == " " {
				s -= 25
			}
			if s > score {
				best, score = t, s
			}
		}
	}
	if score == 0 {
		return false
	}
	g.m.Separator, g.m.Decimal, g.m.Clock, g.m.Header, g.rows = best.sep, best.decimal, best.clock, best.from, best.fields
	for _, i := range best.values {
		g.m.Values = append(g.m.Values, Column{Index: i})
	}
	if len(best.rivals) > 1 {
		say := "the dates can be read in more than one order; say which"
		g.doubt("clock.order", say, best.rivals...)
	}
	return true
}

// attempt splits every line and takes the longest run of rows at the end of the
// head that have one shape.
func (g *guess) attempt(sep, decimal string) (trial, bool) {
	t := trial{sep: sep, decimal: decimal}
	all := make([][][]byte, len(g.text))
	count := map[int]int{}
	for i, line := range g.text {
		if len(trim(line)) == 0 {
			continue
		}
		f, ok := fields(nil, bytes.Clone(line), sep[0])
		if !ok || len(f) > MaxColumns {
			continue
		}
		for len(f) > 1 && len(f[len(f)-1]) == 0 {
			f = f[:len(f)-1]
		}
		all[i] = f
		count[len(f)]++
	}
	width, n := 0, 0
	for w, c := range count {
		if c > n || (c == n && w > width) {
			width, n = w, c
		}
	}
	// A line near the end tells the time; the last may be broken off.
	ok := false
	for i, tried := len(all)-1, 0; i >= 0 && tried < 5 && !ok; i-- {
		if len(all[i]) == width {
			t.clock, t.rivals, ok = clockOf(all[i], all, decimal[0])
			tried++
		}
	}
	if !ok {
		return t, false
	}
	// The rows begin with the first line that has a time and a number. What is no row
	// after it is left for the reader to refuse: it must not pass for a header.
	for i, f := range all {
		if len(f) < max(t.clock.Index, t.clock.Time) || !t.clock.reads(f, decimal[0]) || (len(t.fields) == 0 && !t.hasNumber(f)) {
			continue
		}
		if len(t.fields) == 0 {
			t.from = i
		}
		t.fields = append(t.fields, f)
	}
	for c := 1; c <= width; c++ {
		if c != t.clock.Index && c != t.clock.Time && numbers(t.fields, c, decimal[0]) {
			t.values = append(t.values, c)
		}
	}
	t.drop()
	return t, len(t.values) > 0 && len(t.fields) > 0
}

func (t *trial) hasNumber(f [][]byte) bool {
	for i, cell := range f {
		if i+1 == t.clock.Index || i+1 == t.clock.Time || len(cell) == 0 {
			continue
		}
		if _, _, ok := number(cell, t.decimal[0]); ok {
			return true
		}
	}
	return false
}

// drop leaves out a column that only counts rows: 1, 2, 3, ... or 0, 1, 2, ...
func (t *trial) drop() {
	if len(t.values) < 2 || len(t.fields) < 3 {
		return
	}
	c := t.values[0]
	var last float64
	for i, f := range t.fields {
		if len(f) < c {
			return
		}
		v, rest, ok := number(f[c-1], '.')
		if !ok || len(rest) > 0 || v != float64(int64(v)) || (i > 0 && v != last+1) {
			return
		}
		last = v
	}
	t.values = t.values[1:]
}

// numbers reports whether a column holds numbers where it holds anything, at least
// one, and in at least half of its rows.
func numbers(rows [][][]byte, c int, decimal byte) bool {
	good, bad := 0, 0
	for _, f := range rows {
		if len(f) < c || len(f[c-1]) == 0 {
			continue
		}
		_, rest, ok := number(f[c-1], decimal)
		if ok && len(rest) > 0 {
			_, ok = unitOf(string(trim(rest)), true)
		}
		if ok {
			good++
		} else {
			bad++
		}
	}
	return good > bad && good > 0
}

// reads reports whether a row's time can be read by the clock.
func (c Clock) reads(f [][]byte, decimal byte) bool {
	switch c.Kind {
	case Dates:
		var day []byte
		if c.Time > 0 {
			day = f[c.Time-1]
		}
		_, ok := stamp(f[c.Index-1], day, c.Order)
		return ok
	case ElapsedC:
		_, _, ok := span(f[c.Index-1])
		return ok
	}
	_, rest, ok := number(f[c.Index-1], decimal)
	return ok && len(rest) == 0
}

// clockOf finds the time in a row. Where a date can be read in several orders, every
// row of the head is asked, and the orders that stay are returned.
func clockOf(row [][]byte, all [][][]byte, decimal byte) (Clock, []string, bool) {
	for i, cell := range row {
		var orders []string
		c := Clock{Kind: Dates, Index: i + 1}
		for _, o := range []string{"ymd", "dmy", "mdy"} {
			c.Order, c.Time = o, 0
			_, rest, ok := date(cell, o)
			if !ok {
				continue
			}
			if len(trim(rest)) == 0 || midnight(trim(rest)) {
				c.Time = timeBeside(row, i)
			}
			if c.reads(row, decimal) {
				orders = append(orders, o)
			}
		}
		if len(orders) == 0 {
			continue
		}
		orders, c.Time = surviving(orders, c, row, all, decimal)
		c.Order = orders[0]
		return c, orders, true
	}
	for i, cell := range row {
		if _, _, ok := span(cell); ok && bytes.IndexByte(cell, ':') > 0 {
			return Clock{Kind: ElapsedC, Index: i + 1}, nil, true
		}
	}
	if len(row) < 2 {
		return Clock{}, nil, false
	}
	v, rest, ok := number(row[0], decimal)
	if !ok || len(rest) > 0 || v < 0 {
		return Clock{}, nil, false
	}
	kind := ElapsedS
	switch {
	case v > 6e8 && v < 7e9:
		kind = EpochS
	case v > 6e11 && v < 7e12:
		kind = EpochMS
	case v > 36500 && v < 73000 && v != float64(int64(v)):
		kind = Serial
	}
	return Clock{Kind: kind, Index: 1}, nil, true
}

// timeBeside returns the column after i that holds a time of day; 0: none.
func timeBeside(row [][]byte, i int) int {
	for j := i + 1; j < len(row) && j <= i+2; j++ {
		if _, _, rest, ok := timeOfDay(row[j]); ok && len(trim(rest)) == 0 {
			return j + 1
		}
	}
	return 0
}

// surviving keeps the orders by which every row that one of them reads can be read.
func surviving(orders []string, c Clock, row [][]byte, all [][][]byte, decimal byte) ([]string, int) {
	c.Time = 0
	if _, rest, _ := date(row[c.Index-1], orders[0]); len(trim(rest)) == 0 || midnight(trim(rest)) {
		c.Time = timeBeside(row, c.Index-1)
	}
	bad := map[string]int{}
	for _, f := range all {
		if len(f) < max(c.Index, c.Time) {
			continue
		}
		any := false
		var miss []string
		for _, o := range orders {
			c.Order = o
			if c.reads(f, decimal) {
				any = true
			} else {
				miss = append(miss, o)
			}
		}
		if any {
			for _, o := range miss {
				bad[o]++
			}
		}
	}
	var left []string
	for _, o := range orders {
		if bad[o] == 0 {
			left = append(left, o)
		}
	}
	if len(left) == 0 {
		left = orders[:1]
	}
	return left, c.Time
}

// Cells returns the first n lines of a file as the map splits them, header lines
// included, for a page that shows what is being mapped.
func Cells(head []byte, m Map, n int) [][]string {
	if len(m.Separator) != 1 {
		return nil
	}
	l := newLines(decoded(bytes.NewReader(head[:min(len(head), HeadSize)]), m.Encoding))
	var out [][]string
	for len(out) < n {
		line := l.next()
		if line == nil {
			break
		}
		f, ok := fields(nil, bytes.Clone(line), m.Separator[0])
		if !ok {
			f = [][]byte{line}
		}
		row := make([]string, min(len(f), 60))
		for i := range row {
			row[i] = clip(f[i])
		}
		out = append(out, row)
	}
	return out
}

// Preview reads the first n rows of a file by the map. A file cut short by the head
// is not held against it.
func Preview(head []byte, m Map, rules Rules, n int) ([]Row, error) {
	cut := len(head) >= HeadSize
	head = head[:min(len(head), HeadSize)]
	r := Read(io.MultiReader(bytes.NewReader(head)), m, rules)
	var out []Row
	for len(out) < n && r.Next() {
		out = append(out, Row{At: r.At(), Line: r.Line(), Values: append([]float64(nil), r.Values()...)})
	}
	err := r.Err()
	r.Close()
	if p, ok := err.(*Problem); ok && cut && (p.Kind == Shape || p.Kind == BadTime) && len(out) > 0 {
		err = nil
	}
	return out, err
}

// describe is used in doubts.
func columnTitle(c Column) string {
	if c.Name != "" {
		return fmt.Sprintf("column %d, %s", c.Index, c.Name)
	}
	return fmt.Sprintf("column %d", c.Index)
}

func fold(s string) string {
	return strings.NewReplacer(" ", "", ".", "", "_", "", "(", "", ")", "", "[", "", "]", "").Replace(strings.ToLower(s))
}
