package web

import (
	"encoding/csv"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Limits of a pasted table.
const (
	mostPasted  = 300     // rows
	pastedBytes = 1 << 20 // of text
)

// pasteColumn is a column of a pasted table: its box in the form of a break, the
// word shown for it, and the folded names that a head may give it.
type pasteColumn struct {
	box, words string
	names      []string
}

// pasteColumns are in the order of a table without a head.
var pasteColumns = []pasteColumn{
	{"mark", "mark", []string{"mark", "specimen", "specimenmark", "id", "specimenid"}},
	{"broken_at", "date and time", []string{"dateandtime", "datetime", "broken", "brokenat", "tested", "testedat"}},
	{"load", "load", []string{"load", "greatestload", "maxload", "maximumload", "peakload", "ultimateload"}},
	{"width_1", "diameter", []string{"diameter", "diameter1", "d1", "width", "width1", "side", "side1"}},
	{"width_2", "diameter at 90°", []string{"diameterat90", "diameter2", "d2", "width2", "side2", "otherside"}},
	{"height", "height", []string{"height", "length", "h"}},
	{"ends_ground", "ends ground", []string{"endsground", "ground", "ends"}},
	{"fracture", "fracture", []string{"fracture", "fracturetype", "break", "breaktype", "type"}},
	{"tested_by", "tested by", []string{"testedby", "technician", "by", "operator"}},
	{"machine", "machine", []string{"machine", "machinecapacity", "capacity"}},
	// Read where a head names them; joined to one date and time.
	{"date", "date", []string{"date", "testdate", "datebroken"}},
	{"time", "time", []string{"time", "testtime", "timebroken"}},
}

// unheaded is how many of pasteColumns a table without a head may have.
const unheaded = 10

func wordsOf(box string) string {
	for _, c := range pasteColumns {
		if c.box == box {
			return c.words
		}
	}
	return box
}

// pastedRow is one line of a table, by box.
type pastedRow struct {
	line  int
	cells breakForm
	odd   string // what is wrong with the line as a whole
}

// pastedTable is a table as text, parted into rows.
type pastedTable struct {
	rows   []pastedRow
	unread []string // heads of columns that mean nothing here
}

// partTable parts a pasted text into rows. The separator is a tab; without any, a
// semicolon; without that, a comma. An error says what is wrong with the table as
// a whole, in words for the person.
func partTable(text string) (pastedTable, error) {
	var t pastedTable
	if len(text) > pastedBytes {
		return t, fmt.Errorf("the table has %d bytes, at most %d are read", len(text), pastedBytes)
	}
	if !utf8.ValidString(text) {
		return t, fmt.Errorf("the table holds characters that cannot be read")
	}
	text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	sep := cellSeparator(text)
	columns := make([]string, unheaded)
	for i := range columns {
		columns[i] = pasteColumns[i].box
	}
	suffix := make([]string, unheaded)
	first := true
	for i, line := range strings.Split(text, "\n") {
		if strings.TrimFunc(line, func(r rune) bool { return unicode.IsSpace(r) || r == sep }) == "" {
			continue
		}
		cells, err := partLine(line, sep)
		if first {
			first = false
			if heads, units, unread, problem := readHead(cells); heads != nil || problem != "" {
				if problem != "" {
					return t, fmt.Errorf("line %d: %s", i+1, problem)
				}
				columns, suffix, t.unread = heads, units, unread
				continue
			}
		}
		if len(t.rows) == mostPasted {
			return pastedTable{}, fmt.Errorf("the table has more than %d rows, which is the most that is read at once", mostPasted)
		}
		row := pastedRow{line: i + 1, cells: breakForm{}}
		if err != nil {
			row.odd = "the line cannot be parted into cells"
		}
		row.fill(cells, columns, suffix)
		t.rows = append(t.rows, row)
	}
	if len(t.rows) == 0 {
		return t, fmt.Errorf("no row of breaks is in the table")
	}
	return t, nil
}

func (row *pastedRow) fill(cells, columns, suffix []string) {
	for j, cell := range cells {
		if cell == "" {
			continue
		}
		if j >= len(columns) {
			row.odd = fmt.Sprintf("has %d cells, the table has %d columns", len(cells), len(columns))
			break
		}
		if columns[j] == "" {
			continue
		}
		if suffix[j] != "" && !strings.ContainsFunc(cell, unicode.IsLetter) {
			cell += " " + suffix[j]
		}
		row.cells[columns[j]] = cell
	}
	if d := row.cells["date"]; d != "" {
		row.cells["broken_at"] = strings.TrimSpace(d + " " + row.cells["time"])
	}
	delete(row.cells, "date")
	delete(row.cells, "time")
}

func cellSeparator(text string) rune {
	for _, r := range []rune{'\t', ';'} {
		if strings.ContainsRune(text, r) {
			return r
		}
	}
	return ','
}

func partLine(line string, sep rune) ([]string, error) {
	r := csv.NewReader(strings.NewReader(line))
	r.Comma, r.LazyQuotes, r.FieldsPerRecord = sep, true, -1
	cells, err := r.Read()
	for i := range cells {
		cells[i] = strings.TrimSpace(strings.ReplaceAll(cells[i], "\u00a0", " "))
	}
	return cells, err
}

// readHead takes a line as the head of a table if one of its cells is a name of
// the mark. It returns the box of each column, "" for one that is not read, and the
// unit that the head names.
func readHead(cells []string) (boxes, suffix, unread []string, problem string) {
	for _, cell := range cells {
		name, unit := headParts(cell)
		box := ""
		for _, c := range pasteColumns {
			if slices.Contains(c.names, name) {
				box = c.box
			}
		}
		if box == "" && cell != "" {
			unread = append(unread, cell)
		}
		if box != "" && slices.Contains(boxes, box) {
			return nil, nil, nil, fmt.Sprintf("two columns are headed %s", wordsOf(box))
		}
		boxes, suffix = append(boxes, box), append(suffix, unit)
	}
	if !slices.Contains(boxes, "mark") {
		return nil, nil, nil, ""
	}
	for _, need := range []string{"load", "width_1"} {
		if !slices.Contains(boxes, need) {
			return nil, nil, nil, fmt.Sprintf("no column is headed %s", wordsOf(need))
		}
	}
	if !slices.Contains(boxes, "broken_at") && !slices.Contains(boxes, "date") {
		return nil, nil, nil, "no column is headed date and time"
	}
	return boxes, suffix, unread, ""
}

// headParts parts "Load (kN)" or "Load, kN" into the folded name and the unit.
func headParts(cell string) (name, unit string) {
	if i := strings.IndexAny(cell, "(,["); i > 0 {
		cell, unit = cell[:i], strings.Trim(cell[i:], "(),[] ")
	}
	folded := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, cell)
	return folded, unit
}

// groundWords read whether the ends were ground.
func groundWords(text string) (ground, known bool) {
	switch strings.ToLower(text) {
	case "yes", "y", "true", "1", "x", "ground", "on":
		return true, true
	case "no", "n", "false", "0", "", "not ground":
		return false, true
	}
	return false, false
}
