package logfile_test

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/logfile"
)

// write writes a series as a logger with the map's habits would.
func write(m logfile.Map, z *time.Location, at []time.Time, values [][]float64, lineEnd string, bom bool) []byte {
	width := max(m.Clock.Index, m.Clock.Time)
	for _, c := range m.Values {
		width = max(width, c.Index)
	}
	b := &strings.Builder{}
	for i := range m.Header {
		fmt.Fprintf(b, "header %d%s", i+1, lineEnd)
	}
	number := func(v float64) string {
		return strings.Replace(strconv.FormatFloat(v, 'g', -1, 64), ".", m.Decimal, 1)
	}
	for i := range at {
		cells := make([]string, width)
		for k := range cells {
			cells[k] = "x y"
			if m.Separator == " " {
				cells[k] = "x"
			}
		}
		local := at[i].In(z)
		switch c := m.Clock; c.Kind {
		case logfile.Dates:
			day := local.Format(map[string]string{"ymd": "2006-01-02", "dmy": "2.1.2006", "mdy": "01/02/2006"}[c.Order])
			if c.Time > 0 {
				cells[c.Index-1], cells[c.Time-1] = day, local.Format("15:04:05.000")
			} else {
				cells[c.Index-1] = day + "T" + local.Format("15:04:05.000")
			}
		case logfile.EpochS:
			cells[c.Index-1] = strings.Replace(fmt.Sprintf("%d.%03d", at[i].Unix(), at[i].Nanosecond()/1e6), ".", m.Decimal, 1)
		case logfile.EpochMS:
			cells[c.Index-1] = strconv.FormatInt(at[i].UnixMilli(), 10)
		case logfile.ElapsedS:
			cells[c.Index-1] = number(at[i].Sub(*c.Start).Seconds())
		case logfile.ElapsedM:
			cells[c.Index-1] = number(at[i].Sub(*c.Start).Minutes())
		}
		for k, c := range m.Values {
			if v := values[i][k]; math.IsNaN(v) {
				cells[c.Index-1] = "NaN"
			} else {
				cells[c.Index-1] = number(v)
			}
		}
		b.WriteString(strings.Join(cells, m.Separator))
		b.WriteString(lineEnd)
	}
	text := b.String()
	if strings.HasPrefix(m.Encoding, "utf-16") {
		out := []byte{}
		for _, u := range utf16.Encode([]rune(text)) {
			if m.Encoding == "utf-16be" {
				out = append(out, byte(u>>8), byte(u))
			} else {
				out = append(out, byte(u), byte(u>>8))
			}
		}
		return out
	}
	if bom && m.Encoding == "utf-8" {
		text = "\ufeff" + text
	}
	return []byte(text)
}

// A series written in any way that a map can describe is read back to the last bit.
func TestWhatIsWrittenIsReadBack(t *testing.T) {
	t.Parallel()
	newYork := zone(t, "America/New_York")
	rapid.Check(t, func(t *rapid.T) {
		m := logfile.Map{
			Encoding:  rapid.SampledFrom(logfile.Encodings).Draw(t, "encoding"),
			Separator: rapid.SampledFrom(logfile.Separators).Draw(t, "separator"),
			Decimal:   rapid.SampledFrom([]string{".", ","}).Draw(t, "decimal"),
			Header:    rapid.IntRange(0, 5).Draw(t, "header"),
		}
		if m.Separator == "," {
			m.Decimal = "."
		}
		width := rapid.IntRange(3, 12).Draw(t, "width")
		places := rapid.Permutation(seq(width)).Draw(t, "places")
		kind := rapid.SampledFrom([]string{logfile.Dates, logfile.EpochS, logfile.EpochMS, logfile.ElapsedS, logfile.ElapsedM}).Draw(t, "kind")
		m.Clock = logfile.Clock{Kind: kind, Index: places[0]}
		used := 1
		z := time.UTC
		if kind == logfile.Dates {
			m.Clock.Order = rapid.SampledFrom([]string{"ymd", "dmy", "mdy"}).Draw(t, "order")
			m.Clock.Zone = "America/New_York"
			z = newYork
			if rapid.Bool().Draw(t, "apart") {
				m.Clock.Time, used = places[1], 2
			}
		}
		for i := range rapid.IntRange(1, width-used).Draw(t, "columns") {
			m.Values = append(m.Values, logfile.Column{Index: places[used+i], Unit: ""})
		}
		step := time.Duration(rapid.IntRange(1, 3600_000).Draw(t, "step")) * time.Millisecond
		start := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(rapid.IntRange(0, 86400_000).Draw(t, "start")) * time.Millisecond)
		m.Clock.Start = &start
		n := rapid.IntRange(1, 40).Draw(t, "rows")
		at, values := make([]time.Time, n), make([][]float64, n)
		for i := range at {
			at[i] = start.Add(time.Duration(i) * step)
			for range m.Values {
				v := rapid.Float64().Filter(func(v float64) bool { return !math.IsInf(v, 0) }).Draw(t, "value")
				if rapid.Bool().Draw(t, "short") {
					v = float64(rapid.IntRange(-100000, 100000).Draw(t, "hundredths")) / 100
				}
				values[i] = append(values[i], v)
			}
		}
		file := write(m, z, at, values, rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(t, "end"), rapid.Bool().Draw(t, "bom"))
		r := logfile.Read(bytes.NewReader(file), m, logfile.Rules{Zone: z})
		i := 0
		for r.Next() {
			require.Equal(t, at[i], r.At(), "row %d", i)
			for k, v := range r.Values() {
				if math.IsNaN(values[i][k]) {
					require.True(t, math.IsNaN(v))
				} else {
					require.Equal(t, math.Float64bits(values[i][k]+0), math.Float64bits(v+0), "row %d column %d", i, k)
				}
			}
			i++
		}
		require.NoError(t, r.Err(), "%q", file[:min(len(file), 400)])
		require.Equal(t, n, i)
	})
}

func seq(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i + 1
	}
	return out
}

// What is guessed of a series whose habits leave nothing open reads it back.
func TestGuessReadsWhatIsWritten(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		sep := rapid.SampledFrom([]string{",", ";", "\t"}).Draw(t, "separator")
		dec := "."
		if sep != "," && rapid.Bool().Draw(t, "comma") {
			dec = ","
		}
		n := rapid.IntRange(3, 60).Draw(t, "rows")
		b := &strings.Builder{}
		for range rapid.IntRange(0, 3).Draw(t, "lines above") {
			b.WriteString("made by a logger\n")
		}
		b.WriteString("time" + sep + "core (°C)\n")
		start := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)
		want := make([]float64, n)
		for i := range want {
			want[i] = 20 + float64(rapid.IntRange(0, 20).Draw(t, "quarter"))/4
			fmt.Fprintf(b, "%s%s%s\n", start.Add(time.Duration(i)*time.Hour).Format(time.RFC3339), sep, strings.Replace(strconv.FormatFloat(want[i], 'f', 2, 64), ".", dec, 1))
		}
		m, doubts, err := logfile.Guess([]byte(b.String()))
		require.NoError(t, err)
		require.Empty(t, doubts)
		r := logfile.Read(strings.NewReader(b.String()), m, logfile.Rules{})
		var got []float64
		for r.Next() {
			got = append(got, r.Values()[0])
		}
		require.NoError(t, r.Err())
		require.Equal(t, want, got)
	})
}
