package exchange

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"endcast/internal/domain/units"
)

// byteOrderMark tells a spreadsheet that a text file is UTF-8.
const byteOrderMark = "\uFEFF"

// CSV writes the tables as text files named after them. Every table is written,
// an empty one with its header alone.
func CSV(b Bridge, sys units.System) ([]File, error) {
	c := tablesOf(b, sys)
	out := make([]File, 0, len(tables))
	for _, t := range tables {
		var buf bytes.Buffer
		buf.WriteString(byteOrderMark)
		w := csv.NewWriter(&buf)
		if err := w.WriteAll(c.tables[t.name]); err != nil {
			return nil, err
		}
		out = append(out, File{t.name + ".csv", buf.Bytes()})
	}
	return out, nil
}

// Zip packs files into one archive. The same files give the same bytes.
func Zip(files []File) ([]byte, error) {
	var buf bytes.Buffer
	z := zip.NewWriter(&buf)
	for _, f := range files {
		w, err := z.CreateHeader(&zip.FileHeader{Name: f.Name, Method: zip.Deflate})
		if err != nil {
			return nil, err
		}
		if _, err := w.Write(f.Data); err != nil {
			return nil, err
		}
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return buf.Bytes(), nil
}

// XLSX writes the tables as the sheets of one workbook. A number that a workbook
// holds without a change is a number there; everything else is text.
func XLSX(b Bridge, sys units.System) ([]byte, error) { return workbook(tablesOf(b, sys), nil) }

// workbook writes the tables, and lines of advice on a sheet of their own.
func workbook(c cells, advice [][]string) ([]byte, error) {
	f := excelize.NewFile()
	defer f.Close()
	head, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}, Border: []excelize.Border{{Type: "bottom", Style: 1, Color: "808080"}}})
	if err != nil {
		return nil, err
	}
	sheet := func(name string, rows [][]string, t *table) error {
		if _, err := f.NewSheet(name); err != nil {
			return err
		}
		w, err := f.NewStreamWriter(name)
		if err != nil {
			return err
		}
		if err := w.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
			return err
		}
		if err := w.SetColWidth(1, 26, 16); err != nil {
			return err
		}
		for i, row := range rows {
			values := make([]any, len(row))
			for j, cell := range row {
				switch {
				case i == 0:
					values[j] = excelize.Cell{StyleID: head, Value: cell}
				case cell == "":
				case t != nil && (t.columns[j].typ == quantityCell || t.columns[j].typ == wholeCell):
					values[j] = numberOrText(cell)
				default:
					values[j] = cell
				}
			}
			at, err := excelize.CoordinatesToCellName(1, i+1)
			if err != nil {
				return err
			}
			if err := w.SetRow(at, values); err != nil {
				return err
			}
		}
		return w.Flush()
	}
	for i := range tables {
		if err := sheet(tables[i].name, c.tables[tables[i].name], &tables[i]); err != nil {
			return nil, err
		}
	}
	if advice != nil {
		if err := sheet("About", advice, nil); err != nil {
			return nil, err
		}
	}
	if err := f.DeleteSheet("Sheet1"); err != nil {
		return nil, err
	}
	var buf bytes.Buffer
	if err := f.Write(&buf); err != nil {
		return nil, err
	}
	return buf.Bytes(), nil
}

// numberOrText is a number if the workbook gives back the very text for it.
func numberOrText(cell string) any {
	v, err := strconv.ParseFloat(cell, 64)
	// A workbook keeps 15 digits; a number that needs more is written as text.
	digits := len(strings.TrimLeft(strings.NewReplacer("-", "", ".", "").Replace(cell), "0"))
	if err != nil || digits > 15 || strconv.FormatFloat(v, 'f', -1, 64) != cell {
		return cell
	}
	return v
}

// About describes one table to a person.
type About struct {
	Table   string
	Columns []ColumnAbout
}

// ColumnAbout describes one column: its header in the units of a family, whether a
// file must have it, and what stands in it.
type ColumnAbout struct {
	Header, Text string
	Needed       bool
}

// Tables describes every table in the units of a family.
func Tables(sys units.System) []About {
	c := cells{sys: sys}
	out := make([]About, len(tables))
	for i, t := range tables {
		out[i].Table = t.name
		for j, h := range c.header(t) {
			out[i].Columns = append(out[i].Columns, ColumnAbout{Header: h, Text: t.columns[j].about, Needed: t.columns[j].required})
		}
	}
	return out
}

// Template gives the empty tables in the units of a family, as a workbook with a
// page of advice and as a zip of text files.
func Template(sys units.System) (xlsx, zipped []byte, err error) {
	c := tablesOf(Bridge{}, sys)
	advice := [][]string{{"table", "column", "needed", "what stands in it"}}
	for _, t := range Tables(sys) {
		for _, col := range t.Columns {
			needed := ""
			if col.Needed {
				needed = "yes"
			}
			advice = append(advice, []string{t.Table, col.Header, needed, col.Text})
		}
	}
	advice = append(advice,
		[]string{"", "", "", "A quantity may carry its own unit: 5/16 in, 7.9 mm, 2'-6\". Without one it is in the unit of its header."},
		[]string{"", "", "", "Nothing is taken unless every row is right; each wrong cell is named."})
	if xlsx, err = workbook(c, advice); err != nil {
		return nil, nil, err
	}
	files, err := CSV(Bridge{}, sys)
	if err != nil {
		return nil, nil, err
	}
	zipped, err = Zip(files)
	return xlsx, zipped, err
}
