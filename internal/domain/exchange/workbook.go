package exchange

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/xuri/excelize/v2"
)

// readWorkbook reads the sheets of a workbook that bear the name of a table.
// Other sheets are left alone. The values are taken as stored, never as a number
// format shows them: a cell that shows 0.31 may hold 0.3125. A formula counts
// with the value that was last computed for it.
func readWorkbook(data []byte, ps *Problems) (out []grid) {
	refuse := func(limit string) []grid {
		ps.add(Problem{Table: "workbook", Limit: limit})
		return nil
	}
	// The reader of a damaged workbook may run out of an index; for the person
	// that is a file that cannot be read.
	defer func() {
		if r := recover(); r != nil {
			out = refuse("cannot be read: the file is damaged")
		}
	}()
	// With both limits equal nothing is ever unpacked to disk.
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{
		RawCellValue: true, UnzipSizeLimit: MaxUnpacked, UnzipXMLSizeLimit: MaxUnpacked})
	if err != nil {
		return refuse("cannot be read: " + shorten(err.Error()))
	}
	defer f.Close()
	date1904 := false
	if props, err := f.GetWorkbookProps(); err == nil && props.Date1904 != nil {
		date1904 = *props.Date1904
	}
	seen := map[string]bool{}
	for _, sheet := range f.GetSheetList() {
		t, ok := tableNamed(sheet)
		if !ok {
			continue
		}
		if seen[t.name] {
			ps.add(Problem{Table: t.name, Limit: "two sheets have this name"})
			continue
		}
		seen[t.name] = true
		g := grid{name: t.name, workbook: true, date1904: date1904}
		if readSheet(f, sheet, &g, ps) {
			out = append(out, g)
		}
	}
	if len(seen) == 0 {
		return refuse("has no sheet with the name of a table: " + tableNames())
	}
	return out
}

func readSheet(f *excelize.File, sheet string, g *grid, ps *Problems) bool {
	rows, err := f.Rows(sheet)
	if err != nil {
		ps.add(Problem{Table: g.name, Limit: "cannot be read: " + shorten(err.Error())})
		return false
	}
	defer rows.Close()
	visited := 0
	for number := 1; rows.Next(); number++ {
		cells, err := rows.Columns()
		if visited += len(cells); visited > maxCells {
			ps.add(Problem{Table: g.name, Row: number, Limit: fmt.Sprintf("has more than %d cells, blank ones counted: delete the blank columns and rows", maxCells)})
			return false
		}
		if err != nil {
			ps.add(Problem{Table: g.name, Row: number, Limit: "cannot be read: " + shorten(err.Error())})
			return false
		}
		if !g.add(number, cells, ps) {
			return false
		}
	}
	if err := rows.Error(); err != nil {
		ps.add(Problem{Table: g.name, Limit: "cannot be read: " + shorten(err.Error())})
		return false
	}
	return true
}

// maxCells bounds the cells of a sheet that are looked at, blank ones included: a
// small file can claim a billion of them.
const maxCells = 20_000_000

// wellFormed reports whether the sheets of a workbook are whole. The reader of
// the rows stops without a word where the text of a sheet breaks off, and an
// import of half a table would look like a good one.
func wellFormed(z *zip.Reader) bool {
	for _, e := range z.File {
		name := strings.ToLower(e.Name)
		if !strings.HasPrefix(name, "xl/worksheets/") || !strings.HasSuffix(name, ".xml") {
			continue
		}
		r, err := e.Open()
		if err != nil {
			return false
		}
		d := xml.NewDecoder(io.LimitReader(r, MaxUnpacked))
		for err == nil {
			_, err = d.Token()
		}
		_ = r.Close()
		if !errors.Is(err, io.EOF) {
			return false
		}
	}
	return true
}

func shorten(s string) string {
	if r := []rune(s); len(r) > 120 {
		return fmt.Sprintf("%s…", string(r[:119]))
	}
	return s
}
