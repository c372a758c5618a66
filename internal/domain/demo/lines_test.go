package demo

import (
	"encoding/csv"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/units"
)

func TestBearingLinesMatchTheirDescription(t *testing.T) {
	t.Parallel()
	f, err := os.Open("../../../testdata/demo/lines.csv")
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	s := record(t)
	seen := 0
	for _, row := range rows[1:] {
		prefix, last, _ := strings.Cut(row[2], "-1..")
		n, err := strconv.Atoi(last)
		require.NoError(t, err)
		for g := 1; g <= n; g++ {
			seen++
			e := byName(t, fmt.Sprintf("%s-%d", prefix, g)).End
			sup, _ := s.Support(e.SupportID)
			sec, _ := s.Section(e.SectionID)
			stiffened := row[6] == "all" || row[6] == "fascia" && (g == 1 || g == n)
			got := []string{sup.Code, e.Face, row[2], fmt.Sprint(float64(e.Skew)), e.BearingKind, fmt.Sprint(e.BearingFixed), row[6], e.Access, sec.Name,
				fmt.Sprintf("%.4g", float64(sec.Depth/units.Inch)), fmt.Sprintf("%.4g", float64(sec.WebThickness/units.Inch))}
			require.Equal(t, row, got, e.Name)
			require.Equal(t, stiffened, e.StiffenerPairs > 0, e.Name)
		}
	}
	require.Equal(t, 58, seen)
}
