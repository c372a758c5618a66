package pack

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// Column is one column of a table: its name, what kind of value it holds, the unit of
// a number and what it means.
type Column struct{ Name, Type, Unit, Words string }

// Header is the head of the column: its name, with the unit of a number.
func (c Column) Header() string {
	if c.Unit == "" {
		return c.Name
	}
	return c.Name + " [" + c.Unit + "]"
}

// Table is one table whose rows come one after the other. A nil cell has no value.
type Table struct {
	Name    string
	Words   string
	Columns []Column
	Rows    func(row func(cells []*string) error) error
}

// guarded keeps a spreadsheet from taking a text for a formula: one that begins with
// = + - @, a tab or a line break, or with an apostrophe before one of them, gets an
// apostrophe before it. Taking one off gives every text back.
func guarded(s string) string {
	if rest := strings.TrimLeft(s, "'"); rest != "" && strings.ContainsRune("=+-@\t\r\n", rune(rest[0])) {
		return "'" + s
	}
	return s
}

// number reports whether a column holds numbers, which are never guarded.
func (c Column) number() bool { return c.Type == "number" }

// WriteCSV writes the table as UTF-8 with a byte order mark and a header row, as
// spreadsheets expect, and returns how many rows it has.
func WriteCSV(w io.Writer, t Table) (rows int, err error) {
	if _, err := io.WriteString(w, "\ufeff"); err != nil {
		return 0, err
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	line := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		line[i] = c.Header()
	}
	if err := out.Write(line); err != nil {
		return 0, err
	}
	err = t.Rows(func(cells []*string) error {
		rows++
		for i, c := range cells {
			switch {
			case c == nil:
				line[i] = ""
			case t.Columns[i].number():
				line[i] = *c
			default:
				line[i] = guarded(*c)
			}
		}
		return out.Write(line)
	})
	out.Flush()
	if err == nil {
		err = out.Error()
	}
	return rows, err
}

// What a sheet of a workbook can hold.
const (
	mostSheetRows = 1_048_576 // header included
	mostCellChars = 32_767
)

// WriteXLSX writes the tables as one workbook, a sheet each. It returns in words what
// a workbook cannot hold and was left out of it. Rows beyond some megabytes wait in a
// temporary file until the workbook is complete.
func WriteXLSX(w io.Writer, tables []Table) (left []string, err error) {
	f := excelize.NewFile()
	defer func() {
		if e := f.Close(); err == nil {
			err = e
		}
	}()
	bold, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}})
	if err != nil {
		return nil, fmt.Errorf("workbook: %w", err)
	}
	for i, t := range tables {
		name := sheetName(t.Name)
		if i == 0 {
			err = f.SetSheetName("Sheet1", name)
		} else {
			_, err = f.NewSheet(name)
		}
		if err != nil {
			return nil, fmt.Errorf("workbook: sheet %s: %w", t.Name, err)
		}
		some, err := writeSheet(f, name, t, bold)
		if err != nil {
			return nil, fmt.Errorf("workbook: sheet %s: %w", t.Name, err)
		}
		left = append(left, some...)
	}
	return left, f.Write(w)
}

// sheetName fits the name of a table into the 31 characters of a sheet's.
func sheetName(s string) string { return s[:min(len(s), 31)] }

func writeSheet(f *excelize.File, name string, t Table, head int) (left []string, err error) {
	out, err := f.NewStreamWriter(name)
	if err != nil {
		return nil, err
	}
	if err := out.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return nil, err
	}
	line := make([]any, len(t.Columns))
	for i, c := range t.Columns {
		line[i] = excelize.Cell{StyleID: head, Value: c.Header()}
	}
	if err := out.SetRow("A1", line); err != nil {
		return nil, err
	}
	at, cut := 1, 0
	err = t.Rows(func(cells []*string) error {
		if at++; at > mostSheetRows {
			return nil
		}
		for i, c := range cells {
			line[i] = cellOf(t.Columns[i], c, &cut)
		}
		return out.SetRow("A"+strconv.Itoa(at), line)
	})
	if err != nil {
		return nil, err
	}
	if more := at - mostSheetRows; more > 0 {
		left = append(left, fmt.Sprintf("The sheet %s holds %d rows, all that a sheet can; %d more are in %s.csv alone.", t.Name, mostSheetRows-1, more, t.Name))
	}
	if cut > 0 {
		left = append(left, fmt.Sprintf("In the sheet %s %d texts are longer than a cell holds and are cut there; %s.csv has them whole.", t.Name, cut, t.Name))
	}
	return left, out.Flush()
}

func cellOf(c Column, text *string, cut *int) any {
	if text == nil {
		return nil
	}
	if c.number() {
		if v, err := strconv.ParseFloat(*text, 64); err == nil && v-v == 0 {
			return v
		}
	}
	if len(*text) > mostCellChars && utf8.RuneCountInString(*text) > mostCellChars {
		*cut++
		return string([]rune(*text)[:mostCellChars-1]) + "…"
	}
	return *text // a workbook says that it is a text: no formula comes of it
}
