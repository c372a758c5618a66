package exchange

import (
	"bytes"
	"encoding/binary"
	"encoding/csv"
	"errors"
	"io"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// grid is one table as text, before anything is understood.
type grid struct {
	name string
	rows []gridRow
	// comma: a single comma in a number is a decimal mark.
	comma bool
	// workbook: numbers in time columns are days since the workbook's epoch.
	workbook bool
	date1904 bool
}

type gridRow struct {
	number int // as the file shows it
	cells  []string
}

func blank(cells []string) bool {
	for _, c := range cells {
		if strings.TrimSpace(c) != "" {
			return false
		}
	}
	return true
}

// textOf decodes a text file: UTF-8 with or without a byte order mark, or UTF-16
// with one, which spreadsheets write as "Unicode text".
func textOf(data []byte) (string, bool) {
	var order binary.ByteOrder
	switch {
	case bytes.HasPrefix(data, []byte{0xEF, 0xBB, 0xBF}):
		data = data[3:]
	case bytes.HasPrefix(data, []byte{0xFF, 0xFE}):
		order = binary.LittleEndian
	case bytes.HasPrefix(data, []byte{0xFE, 0xFF}):
		order = binary.BigEndian
	}
	if order != nil {
		data = data[2:]
		if len(data)%2 != 0 {
			return "", false
		}
		codes := make([]uint16, len(data)/2)
		for i := range codes {
			codes[i] = order.Uint16(data[2*i:])
		}
		return string(utf16.Decode(codes)), true
	}
	return string(data), utf8.Valid(data)
}

// separator finds the mark between cells from the first line: the one of comma,
// semicolon and tab that stands there most often outside quotes.
func separator(text string) rune {
	counts := map[rune]int{}
	quoted := false
scan:
	for _, r := range text {
		switch {
		case r == '"':
			quoted = !quoted
		case !quoted && (r == '\n' || r == '\r'):
			break scan
		case !quoted && (r == ',' || r == ';' || r == '\t'):
			counts[r]++
		}
	}
	best := ','
	for _, r := range []rune{';', '\t'} {
		if counts[r] > counts[best] {
			best = r
		}
	}
	return best
}

// readCSV reads a text table. Problems are noted in ps.
func readCSV(name string, data []byte, ps *Problems) (grid, bool) {
	g := grid{name: name}
	refuse := func(row int, value, limit string) (grid, bool) {
		ps.add(Problem{Table: name, Row: row, Value: value, Limit: limit})
		return grid{}, false
	}
	text, ok := textOf(data)
	if !ok {
		return refuse(0, "", "is not text in UTF-8: save it as CSV UTF-8")
	}
	skipped := 0
	sep := separator(text)
	if rest, ok := strings.CutPrefix(text, "sep="); ok && len(rest) > 0 {
		sep = rune(rest[0])
		if sep != ',' && sep != ';' && sep != '\t' {
			return refuse(1, string(sep), "separator must be a comma, a semicolon or a tab")
		}
		line, after, _ := strings.Cut(text, "\n")
		if strings.TrimSpace(line) != "sep="+string(sep) && strings.TrimRight(line, "\r") != "sep="+string(sep) {
			return refuse(1, line, "must be sep= with one mark")
		}
		text, skipped = after, 1
	}
	g.comma = sep != ','
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord, r.ReuseRecord = sep, -1, false
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			return g, true
		}
		var bad *csv.ParseError
		if errors.As(err, &bad) {
			return refuse(bad.Line+skipped, "", "cannot be read as CSV: "+bad.Err.Error())
		}
		if err != nil {
			return refuse(0, "", "cannot be read as CSV")
		}
		line, _ := r.FieldPos(0)
		if !g.add(line+skipped, cells, ps) {
			return grid{}, false
		}
	}
}

// add appends a row that is not blank, within the limits.
func (g *grid) add(number int, cells []string, ps *Problems) bool {
	if blank(cells) {
		return true
	}
	for len(cells) > 0 && strings.TrimSpace(cells[len(cells)-1]) == "" {
		cells = cells[:len(cells)-1]
	}
	if len(cells) > maxColumns {
		ps.add(Problem{Table: g.name, Row: number, Limit: "has more than 100 columns"})
		return false
	}
	if len(g.rows) > MaxRows {
		ps.add(Problem{Table: g.name, Row: number, Limit: "has more than 200000 rows: divide the import"})
		return false
	}
	g.rows = append(g.rows, gridRow{number, cells})
	return true
}
