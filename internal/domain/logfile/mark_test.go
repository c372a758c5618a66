package logfile

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

type readRow struct {
	line int
	at   int64
	v    string
}

func allRows(r *Reader, most int) (out []readRow) {
	for len(out) < most && r.Next() {
		out = append(out, readRow{r.Line(), r.nano, fmt.Sprint(r.Values())})
	}
	return out
}

// A reading that goes on at a mark gives the rows, the findings and the refusal of one
// that was never interrupted, wherever it was interrupted.
func TestResumedReadingIsTheSame(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		end := rapid.SampledFrom([]string{"\n", "\r\n", "\r"}).Draw(t, "end")
		n := rapid.IntRange(3, 400).Draw(t, "rows")
		text := func(from, n int) string {
			var b strings.Builder
			b.WriteString("a logger" + end + "time,a,b" + end)
			for i := range n {
				a := fmt.Sprintf("%.2f", 20+float64((from+i)%7))
				switch rapid.IntRange(0, 20).Draw(t, "what") {
				case 0:
					a = "NaN"
				case 1:
					a = "24.50"
				case 2:
					b.WriteString(end) // an empty line
				case 3:
					b.WriteString("time,a,b" + end) // started anew
				}
				fmt.Fprintf(&b, "%s,%s,%d%s", time.Unix(int64(1e9)+int64(from+i)*60, 0).UTC().Format("2006-01-02 15:04:05"), a, i, end)
			}
			return b.String()
		}
		texts := []string{text(0, n), text(n+5, 30)}
		packed := rapid.Bool().Draw(t, "packed")
		var parts []Part
		for i, s := range texts {
			parts = append(parts, Part{Name: fmt.Sprint(i), Open: func() (io.ReadCloser, error) {
				if !packed {
					return io.NopCloser(strings.NewReader(s)), nil
				}
				var b bytes.Buffer
				z := gzip.NewWriter(&b)
				_, _ = z.Write([]byte(s))
				_ = z.Close()
				r, err := gzip.NewReader(&b)
				return r, err
			}})
		}
		m := Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 2, Names: 2, Clock: Clock{Kind: Dates, Index: 1, Order: "ymd", Zone: "UTC"},
			Values: []Column{{Index: 2, Name: "a", Unit: "C"}, {Index: 3, Name: "b"}}}
		rules := Rules{Zone: time.UTC, Stuck: time.Hour}
		whole := ReadParts(parts, m, rules)
		want := allRows(whole, 1e9)
		at := rapid.IntRange(1, len(want)).Draw(t, "at")
		first := ReadParts(parts, m, rules)
		got := allRows(first, at)
		k, err := first.Mark()
		if err != nil {
			t.Fatal(err)
		}
		first.Close()
		second, err := ResumeParts(parts, m, rules, k)
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, allRows(second, 1e9)...)
		require.Equal(t, want, got)
		require.Equal(t, whole.Err(), second.Err())
		a, b := whole.Report(), second.Report()
		require.Equal(t, fmt.Sprintf("%+v", a), fmt.Sprintf("%+v", b))
	})
	_, err := ResumeParts(nil, Map{}, Rules{}, []byte("no mark"))
	require.Error(t, err)
}
