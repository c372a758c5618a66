package db_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/db/dbtest"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/exchange"
	"endcast/internal/domain/units"
)

// BenchmarkImport puts a large bridge on record: 480 ends with two surveys of 150
// readings each, some 4 MB of text.
func BenchmarkImport(b *testing.B) {
	bu := fill(b, db.NewStore(dbtest.New(b)))
	files := largeTables(480, 150)
	size := 0
	for _, f := range files {
		size += len(f.Data)
	}
	b.ReportMetric(float64(size)/1e6, "MB")
	n := 0
	for b.Loop() {
		n++
		who := bu.people[authz.Designer]
		id := bu.another(b, fmt.Sprintf("large-%d", n), "us")
		began := time.Now()
		p, err := bu.PlanImport(bu.ctx, id, who, files, units.US)
		require.NoError(b, err)
		b.ReportMetric(time.Since(began).Seconds(), "plan-s")
		_, err = bu.Edit(bu.ctx, p.Entry(newID(), id, who))
		require.NoError(b, err)
	}
}

func largeTables(ends, readings int) []exchange.File {
	var supports, spans, table, surveys, rows strings.Builder
	supports.WriteString("code,name,station [ft]\nS1,Abutment 1,0\n")
	spans.WriteString("number,length [ft],girders,spacing [ft],from_support,to_support\n")
	table.WriteString("name,support,section,bearing,fixity,bearing_start [in],bearing_length [in],bearing_width [in],fy [ksi],reaction [kip]\n")
	surveys.WriteString("end,survey_no,kind,taken_at,taken_by\n")
	rows.WriteString("end,survey_no,face,x [in],z [in],t [in]\n")
	for i := 0; i < ends; i++ {
		span, g := i/12+1, i%12/2+1
		if i%12 == 0 {
			fmt.Fprintf(&supports, "S%d,Support %d,%d\n", span+1, span+1, 70*span)
			fmt.Fprintf(&spans, "%d,70,6,7,S%d,S%d\n", span, span, span+1)
		}
		name, at := fmt.Sprintf("%dN-%d", span, g), span
		if i%2 == 1 {
			name, at = fmt.Sprintf("%dF-%d", span, g), span+1
		}
		fmt.Fprintf(&table, "%s,S%d,W36X150,bolster,fixed,3,8,11,33,120\n", name, at)
		for n, kind := range []string{"as_found", "cleaned"} {
			fmt.Fprintf(&surveys, "%s,%d,%s,2024-05-0%d 08:00,I. Wren\n", name, n+1, kind, n+1)
			for k := range readings {
				fmt.Fprintf(&rows, "%s,%d,L,%d,%d,0.%d\n", name, n+1, 1+k%15, 1+k/15, 300+(i*7+k*13)%250)
			}
		}
	}
	return []exchange.File{{Name: "Supports.csv", Data: []byte(supports.String())}, {Name: "Spans.csv", Data: []byte(spans.String())},
		{Name: "Ends.csv", Data: []byte(table.String())}, {Name: "Surveys.csv", Data: []byte(surveys.String())}, {Name: "Readings.csv", Data: []byte(rows.String())}}
}
