package web

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

func TestTablesAreParted(t *testing.T) {
	t.Parallel()
	for name, x := range map[string]struct {
		text string
		want breakForm
	}{
		"no head":     {"P1\t2027-05-07 22:10\t112", breakForm{"mark": "P1", "broken_at": "2027-05-07 22:10", "load": "112"}},
		"semicolons":  {"P1;2027-05-07 22:10;112,4", breakForm{"mark": "P1", "broken_at": "2027-05-07 22:10", "load": "112,4"}},
		"commas":      {"P1,2027-05-07 22:10,112", breakForm{"mark": "P1", "broken_at": "2027-05-07 22:10", "load": "112"}},
		"other order": {"Load [kN]\tSpecimen\tDate\tTime\tD1, mm\n500\tP1\t2027-05-07\t22:10\t76", breakForm{"mark": "P1", "broken_at": "2027-05-07 22:10", "load": "500 kN", "width_1": "76 mm"}},
		"own unit":    {"Load (kN)\tmark\tdatetime\tdiameter\n112 kip\tP1\t\t", breakForm{"mark": "P1", "load": "112 kip"}},
		"blank lines": {"\n\t\t\n \nP1\t\t5\n\n", breakForm{"mark": "P1", "load": "5"}},
		"hard spaces": {"P1\u00a0\t\t5", breakForm{"mark": "P1", "load": "5"}},
	} {
		got, err := partTable(x.text)
		require.NoError(t, err, name)
		require.Len(t, got.rows, 1, name)
		require.Equal(t, x.want, got.rows[0].cells, name)
	}
	got, err := partTable("P1\t1\t2\t3\t4\t5\t6\t7\t8\t9\t10")
	require.NoError(t, err)
	require.Contains(t, got.rows[0].odd, "11 cells")
	for word, want := range map[string]bool{"Yes": true, "x": true, "no": false, "": false} {
		ground, known := groundWords(word)
		require.True(t, known)
		require.Equal(t, want, ground)
	}
}

// A time that the clocks pass over does not exist. Source: the zone rules of the
// United States, 2027-03-14, from the public time zone database.
func TestMomentInTheGapOfSummerTime(t *testing.T) {
	t.Parallel()
	zone, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	c := &castReader{zone: zone, sys: units.US}
	for text, ok := range map[string]bool{"2027-03-14T02:30": false, "2027-03-14T03:30": true, "2027-03-14 01:59": true, "14.3.2027": false, "": true} {
		var bad fault.Invalid
		c.moment(&bad, "at", text)
		require.Equal(t, ok, bad.Err() == nil, text)
	}
}

func FuzzPartTable(f *testing.F) {
	for _, s := range []string{"", "P1\t2027-05-07 22:10\t112", "mark\tload (kN)\tdate\ttime\tdiameter\nP1\t5\t\"2027\t6\"\t7", "a;b;c\r\nd;\"e;f", "P1,,,\x00", strings.Repeat("x\n", 301)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, err := partTable(text)
		if err != nil {
			require.Empty(t, got.rows)
			return
		}
		require.NotEmpty(t, got.rows)
		require.LessOrEqual(t, len(got.rows), mostPasted)
		for _, row := range got.rows {
			require.Positive(t, row.line)
			require.NotContains(t, row.cells, "date")
			for box, cell := range row.cells {
				require.NotEmpty(t, strings.TrimSpace(cell), box)
			}
		}
	})
}
