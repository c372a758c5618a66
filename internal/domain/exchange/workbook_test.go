package exchange

import (
	"bytes"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"endcast/internal/domain/units"
)

// A workbook made by hand: numbers shown with few digits, dates as dates, a
// formula, other sheets, empty rows.
func TestReadAWorkbookMadeByHand(t *testing.T) {
	t.Parallel()
	known, err := Read(sample(t, "us"), us)
	require.NoError(t, err)
	known.Surveys = nil
	book := handMade(t, "I. Wren")
	b, err := Read([]File{{"b.xlsx", book}}, Options{System: units.US, Zone: time.FixedZone("", -4*3600), Known: &known})
	require.NoError(t, err)
	require.Equal(t, units.Length(7.9375), b.Surveys[0].Findings.Readings[0].T, "the value and not what its format shows")
	require.Equal(t, time.Date(2027, 7, 17, 2, 40, 0, 0, time.UTC), b.Surveys[0].TakenAt)

	_, err = Read([]File{{"b.xlsx", handMade(t, "")}}, Options{System: units.US, Known: &known})
	require.ErrorContains(t, err, "Surveys row 4, taken_by: is needed", "the row as the workbook counts it")

	other := excelize.NewFile()
	var buf bytes.Buffer
	require.NoError(t, other.Write(&buf))
	_, err = Read([]File{{"b.xlsx", buf.Bytes()}}, us)
	require.ErrorContains(t, err, "has no sheet with the name of a table")
}

func handMade(t *testing.T, takenBy string) []byte {
	t.Helper()
	f := excelize.NewFile()
	set := func(sheet, cell string, v any) { require.NoError(t, f.SetCellValue(sheet, cell, v)) }
	for _, s := range []string{"surveys", " Readings", "Sketch"} {
		_, err := f.NewSheet(s)
		require.NoError(t, err)
	}
	for i, h := range []string{"End", "Survey No", "Kind", "Taken at", "Taken by"} {
		set("surveys", string(rune('A'+i))+"1", h)
	}
	set("surveys", "A4", "1n-1")
	set("surveys", "B4", 3.0)
	set("surveys", "C4", "Cleaned")
	set("surveys", "D4", time.Date(2027, 7, 16, 22, 40, 0, 0, time.UTC))
	set("surveys", "E4", takenBy)
	for i, h := range []string{"end", "survey", "face", "x (in)", "z (in)", "t (in)"} {
		set(" Readings", string(rune('A'+i))+"1", h)
	}
	for i, v := range []any{"1N-1", 3, "L", 2, 1, 0.3125} {
		set(" Readings", string(rune('A'+i))+"2", v)
	}
	style, err := f.NewStyle(&excelize.Style{NumFmt: 2}) // shows 0.31
	require.NoError(t, err)
	require.NoError(t, f.SetCellStyle(" Readings", "F2", "F2", style))
	require.NoError(t, f.SetCellFormula("Sketch", "A1", "1+1"))
	var buf bytes.Buffer
	require.NoError(t, f.Write(&buf))
	return buf.Bytes()
}

func TestNothingIsTakenForAFormula(t *testing.T) {
	t.Parallel()
	for _, s := range []string{"=1+1", "+1", "-x", "@SUM(A1)", "'=1", "''=1", "'", "'a", "a=b", ""} {
		g := guard(s)
		require.Equal(t, s, unguard(g))
		if g != "" {
			require.NotContains(t, "=+-@", g[:1], s)
		}
	}
	b := Bridge{Supports: []Support{{Code: "=cmd|' /C calc'!A0", Name: "@A1", Station: -5}}}
	files, err := CSV(b, units.US)
	require.NoError(t, err)
	require.Contains(t, string(files[0].Data), "'=cmd|' /C calc'!A0,'@A1,")
	book, err := XLSX(b, units.US)
	require.NoError(t, err)
	f, err := excelize.OpenReader(bytes.NewReader(book))
	require.NoError(t, err)
	formula, err := f.GetCellFormula(TableSupports, "A2")
	require.NoError(t, err)
	require.Empty(t, formula)
}

func TestTemplatesAreReadAsEmpty(t *testing.T) {
	t.Parallel()
	for _, sys := range []units.System{units.US, units.SI} {
		xlsx, zipped, err := Template(sys)
		require.NoError(t, err)
		for name, data := range map[string][]byte{"t.xlsx": xlsx, "t.zip": zipped} {
			b, err := Read([]File{{name, data}}, Options{System: units.US})
			require.NoError(t, err, name)
			require.Equal(t, Bridge{}, b)
		}
	}
	again, zipped, err := Template(units.US)
	require.NoError(t, err)
	require.NotEmpty(t, again)
	_, second, err := Template(units.US)
	require.NoError(t, err)
	require.Equal(t, zipped, second, "the same tables give the same bytes")
}

func TestExactUnitsOfCells(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		kind              units.Kind
		v                 float64
		typed, unit, want string
		sys               units.System
	}{
		{units.Lengths, 7.9375, "0.3125 in", "in", "0.3125", units.US},
		{units.Lengths, 7.9375, "5/16 in", "in", "5/16", units.US},
		{units.Lengths, 7.9375, "5/16 in", "mm", "5/16 in", units.SI},
		{units.Lengths, 7.9375, "0.3125", "mm", "0.3125 in", units.SI},
		{units.Lengths, 7.9375, "", "in", "0.3125", units.US},
		{units.Lengths, 7.9375, "0.9 in", "in", "0.3125", units.US}, // typed for another value
		{units.Spans, 304.8, "", "ft", "1", units.US},
	} {
		require.Equal(t, c.want, writeQuantity(c.kind, c.v, c.typed, c.unit, c.sys))
	}
}
