package exchange

import (
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// A full bridge: 500 ends with two surveys of 150 readings each.
func large(ends int) Bridge {
	b := Bridge{}
	entry, _ := girder.Lookup("W36X150")
	b.Sections = []Section{{Section: entry.Section}}
	b.Supports = []Support{{Code: "S1", Name: "Abutment 1"}}
	spans := (ends + 11) / 12
	for i := range spans {
		from, to := "S"+strconv.Itoa(i+1), "S"+strconv.Itoa(i+2)
		b.Supports = append(b.Supports, Support{Code: to, Name: "Support " + to, Station: units.Length(20000 * (i + 1))})
		b.Spans = append(b.Spans, Span{Number: i + 1, Length: 20000, Girders: 6, Spacing: 2000, From: from, To: to})
		for g := range 6 {
			for _, side := range []girder.Side{girder.Near, girder.Far} {
				if len(b.Ends) == ends {
					break
				}
				e := End{Support: from, Geometry: girder.Geometry{Name: girder.Name{Span: i + 1, Side: side, Girder: g + 1}, Section: entry.Section,
					Bearing: girder.Bearing{Kind: girder.Rocker, Start: 75, Length: 200, Width: 300}, Fy: 228, Fu: 414}, Reaction: 5e5, Access: "open"}
				if side == girder.Far {
					e.Support = to
				}
				b.Ends = append(b.Ends, e)
				for n, kind := range []string{AsFound, Cleaned} {
					s := Survey{End: e.Geometry.Name, Number: n + 1, Kind: kind, TakenAt: time.Date(2027, 3, 1+n, 8, 0, 0, 0, time.UTC), TakenBy: "I. Wren"}
					for k := range 150 {
						s.Findings.Readings = append(s.Findings.Readings, survey.Reading{Face: survey.Left, X: units.Length(25 * (k % 15)), Z: units.Length(25 * (k / 15)), T: units.Length(8 + float64(k%70)/10)})
					}
					s.Readings = make([]ReadingNote, len(s.Findings.Readings))
					b.Surveys = append(b.Surveys, s)
				}
			}
		}
	}
	return b
}

func TestALargeBridgeGoesThrough(t *testing.T) {
	t.Parallel()
	want := large(100)
	files, err := CSV(want, units.US)
	require.NoError(t, err)
	got, err := Read(files, us)
	require.NoError(t, err)
	requireSame(t, want, got)
}

func BenchmarkReadCSV(b *testing.B) {
	files, err := CSV(large(500), units.US)
	require.NoError(b, err)
	for b.Loop() {
		_, err := Read(files, us)
		require.NoError(b, err)
	}
}

func BenchmarkReadXLSX(b *testing.B) {
	book, err := XLSX(large(500), units.US)
	require.NoError(b, err)
	b.ReportMetric(float64(len(book))/1e6, "MB")
	for b.Loop() {
		_, err := Read([]File{{"b.xlsx", book}}, us)
		require.NoError(b, err)
	}
}
