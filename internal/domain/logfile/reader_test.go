package logfile_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/logfile"
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	require.NoError(t, err)
	return z
}

// plain is a map for "time,temperature" in degrees Celsius below one line of names.
func plain() logfile.Map {
	return logfile.Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 1, Names: 1,
		Clock: logfile.Clock{Kind: logfile.Dates, Index: 1, Order: "ymd", Zone: "UTC"}, Values: []logfile.Column{{Index: 2, Name: "T", Unit: "C"}}}
}

func concrete(z *time.Location) logfile.Rules {
	return logfile.Rules{Zone: z, Ranges: map[logfile.Quantity][2]float64{logfile.Temperature: {-40, 120}}, Stuck: 6 * time.Hour}
}

type read struct {
	at     []time.Time
	values [][]float64
	report logfile.Report
	err    error
}

func readAll(text string, m logfile.Map, rules logfile.Rules) read {
	var out read
	r := logfile.Read(strings.NewReader(text), m, rules)
	for r.Next() {
		out.at = append(out.at, r.At())
		out.values = append(out.values, append([]float64(nil), r.Values()...))
	}
	out.report, out.err = r.Report(), r.Err()
	return out
}

// every writes rows of local times at a step, without a word on the zone.
func every(start time.Time, step time.Duration, temps ...float64) string {
	b := &strings.Builder{}
	b.WriteString("time,T\n")
	for i, v := range temps {
		fmt.Fprintf(b, "%s,%.2f\n", start.Add(time.Duration(i)*step).Format("2006-01-02 15:04:05"), v)
	}
	return b.String()
}

func steady(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = 20 + float64(i%7)/4
	}
	return out
}

func TestReadsRows(t *testing.T) {
	t.Parallel()
	got := readAll("time,T\n2026-05-03 10:00,21.5\n2026-05-03 10:30:00,22\n\n2026-05-03T11:00:00Z,22.25 °C\n2026-05-03 13:30+02:00,23\n", plain(), concrete(time.UTC))
	require.NoError(t, got.err)
	start := time.Date(2026, 5, 3, 10, 0, 0, 0, time.UTC)
	for i, at := range got.at {
		require.Equal(t, start.Add(time.Duration(i)*30*time.Minute), at)
	}
	require.Equal(t, [][]float64{{21.5}, {22}, {22.25}, {23}}, got.values)
	require.Equal(t, 4, got.report.Rows)
	require.Equal(t, 30*time.Minute, got.report.Step)
	require.Equal(t, []float64{21.5}, got.report.Low)
	require.Equal(t, []float64{23}, got.report.High)
	require.Empty(t, got.report.Findings)
}

// Temperatures become Celsius exactly as the unit's definition says (NIST Special
// Publication 811, appendix B: t/°C = (t/°F - 32)/1.8; t/°C = T/K - 273.15).
func TestUnits(t *testing.T) {
	t.Parallel()
	for unit, want := range map[string]float64{"C": 50, "F": 10, "K": -223.15} {
		m := plain()
		m.Values[0].Unit = unit
		got := readAll("time,T\n2026-05-03 10:00,50\n", m, logfile.Rules{Zone: time.UTC})
		require.NoError(t, got.err)
		require.InDelta(t, want, got.values[0][0], 1e-12, unit)
	}
}

// Each text is refused at the line and column named, for the reason named, and as
// a refusal that package fault knows.
func TestRefuses(t *testing.T) {
	t.Parallel()
	head := "time,T\n2026-05-03 10:00,21.5\n2026-05-03 10:30,22\n2026-05-03 11:00,22\n"
	for name, c := range map[string]struct {
		text         string
		kind         logfile.Kind
		line, column int
		says         string
	}{
		"text in a number":   {head + "2026-05-03 11:30,abc\n", logfile.BadNumber, 5, 2, `"abc" is not a number`},
		"decimal comma":      {head + "2026-05-03 11:30,\"21,5\"\n", logfile.BadNumber, 5, 2, "with a decimal point"},
		"too many columns":   {head + "2026-05-03 11:30,21,5\n", logfile.Shape, 5, 0, "3 columns where the first row has 2"},
		"too few columns":    {head + "2026-05-03 11:30\n2026-05-03 12:00,22\n", logfile.Shape, 5, 0, "1 column where the map reads column 2"},
		"another separator":  {"time,T\n2026-05-03 10:00;21.5\n2026-05-03 10:30;22\n", logfile.Shape, 2, 0, "separated by a semicolon, not by a comma"},
		"an open quote":      {head + "2026-05-03 11:30,\"22\n", logfile.Shape, 5, 0, "not closed"},
		"no time":            {head + "yesterday,22\n", logfile.BadTime, 5, 1, "not a date and time in the order year, month, day"},
		"another order":      {head + "13/05/2026 10:00,22\n", logfile.BadTime, 5, 1, "one in the order day, month, year"},
		"no such day":        {head + "2026-02-29 10:00,22\n", logfile.BadTime, 5, 1, "2026-02-29"},
		"backwards":          {head + "2026-05-03 10:10,22\n", logfile.Backwards, 5, 1, "goes back by 50 min after line 4"},
		"twelve-hour clock":  {"time,T\n2026-05-03 12:30,22\n2026-05-03 01:00,22\n", logfile.Backwards, 3, 1, "without AM and PM"},
		"the same time":      {head + "2026-05-03 11:00,25\n", logfile.Repeated, 5, 1, "that of line 4"},
		"too hot":            {head + "2026-05-03 11:30,130\n", logfile.Impossible, 5, 2, "must be from -40 to 120 °C"},
		"mark of a fault":    {head + "2026-05-03 11:30,-127\n", logfile.Impossible, 5, 2, "when it has no reading"},
		"Fahrenheit cell":    {head + "2026-05-03 11:30,72 F\n", logfile.MixedUnits, 5, 2, `"72 F" is in °F where the map reads °C`},
		"Fahrenheit header":  {head + "time,T (°F)\n2026-05-03 11:30,72\n", logfile.BadTime, 5, 1, "time"},
		"bytes of no text":   {head + "2026-05-03 11:30,\x00\x01\n", logfile.NotText, 5, 0, "no text"},
		"no rows":            {"time,T\n", logfile.NoRows, 0, 0, "no row of readings"},
		"a line without end": {"time,T\n" + strings.Repeat("9", 300<<10), logfile.NotText, 2, 0, "longer than"},
		"infinite":           {head + "2026-05-03 11:30,inf\n", logfile.BadNumber, 5, 2, "inf"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			got := readAll(c.text, plain(), concrete(time.UTC))
			var p *logfile.Problem
			require.ErrorAs(t, got.err, &p)
			require.Equal(t, c.kind, p.Kind, p.Error())
			require.Equal(t, [2]int{c.line, c.column}, [2]int{p.Line, p.Column}, p.Error())
			require.Contains(t, p.Error(), c.says)
			require.ErrorIs(t, got.err, fault.Refused)
			require.Equal(t, p.Error(), fault.Message(got.err))
			if c.line > 0 {
				require.Contains(t, p.Error(), fmt.Sprintf("line %d", c.line))
			}
		})
	}
}

// A series whose unit changes midway is refused at the row of the change, in both
// directions; a spike that comes back is listed; a person may say that it is true.
func TestMixedUnits(t *testing.T) {
	t.Parallel()
	start := time.Date(2026, 5, 3, 10, 0, 0, 0, time.UTC)
	c := steady(40)
	toF, toC := append([]float64(nil), c...), append([]float64(nil), c...)
	for i := range c {
		if i >= 20 {
			toF[i] = c[i]*1.8 + 32
		} else {
			toC[i] = c[i]*1.8 + 32
		}
	}
	for name, temps := range map[string][]float64{"to Fahrenheit": toF, "from Fahrenheit": toC} {
		text := every(start, 15*time.Minute, temps...)
		got := readAll(text, plain(), concrete(time.UTC))
		var p *logfile.Problem
		require.ErrorAs(t, got.err, &p, name)
		require.Equal(t, logfile.MixedUnits, p.Kind, name)
		require.Equal(t, 22, p.Line, name)
		require.Equal(t, 2, p.Column, name)
		rules := concrete(time.UTC)
		rules.Allow = []logfile.Kind{logfile.MixedUnits}
		require.NoError(t, readAll(text, plain(), rules).err, name)
	}
	atEnd := every(start, 15*time.Minute, toF[:21]...)
	require.ErrorIs(t, readAll(atEnd, plain(), concrete(time.UTC)).err, fault.Refused, "a change in the last row")

	spike := append([]float64(nil), c...)
	spike[20] = c[20]*1.8 + 32
	got := readAll(every(start, 15*time.Minute, spike...), plain(), concrete(time.UTC))
	require.NoError(t, got.err)
	require.Equal(t, 1, got.report.Counts[logfile.Spike])
	require.Equal(t, 22, got.report.Findings[0].Line)

	heat := make([]float64, 100) // a panel that heats fast: 15 degrees in an hour
	for i := range heat {
		heat[i] = 20 + math.Min(float64(i)*3.75, 60)
	}
	require.NoError(t, readAll(every(start, 15*time.Minute, heat...), plain(), concrete(time.UTC)).err, "heat of hydration is no change of units")
}

func TestListsWhatIsOdd(t *testing.T) {
	t.Parallel()
	text := "time,T\n2026-05-03 10:00,21\n2026-05-03 10:10,21.5\n2026-05-03 10:20,22\n2026-05-03 10:20,22\n2026-05-03 10:33,22.5\n" +
		"2026-05-03 12:40,23\n2026-05-03 12:50,\n2026-05-03 13:00,NaN\n2026-05-03 13:10,OPEN\ntime,T\n2026-05-03 13:20,24\n2026-05-03 13:30"
	m := plain()
	m.NoReading = []string{"open"}
	got := readAll(text, m, concrete(time.UTC))
	require.NoError(t, got.err)
	require.Equal(t, map[logfile.Kind]int{logfile.SameRow: 1, logfile.Jitter: 1, logfile.Gap: 1, logfile.Missing: 1, logfile.AgainHeader: 1, logfile.CutShort: 1}, got.report.Counts)
	for _, f := range got.report.Findings {
		switch f.Kind {
		case logfile.Gap:
			require.Equal(t, 7, f.Line)
			require.Equal(t, 11, f.Rows)
			require.Equal(t, "no rows for 2 h 7 min, where they come every 10 min", f.Text)
		case logfile.Missing:
			require.Equal(t, [3]int{8, 2, 3}, [3]int{f.Line, f.Column, f.Rows})
		case logfile.CutShort:
			require.Equal(t, 13, f.Line)
		}
	}
	require.Len(t, got.values, 9)
	require.True(t, math.IsNaN(got.values[5][0]))
}

func TestStuckSensor(t *testing.T) {
	t.Parallel()
	temps := steady(30)
	for i := 10; i < 22; i++ {
		temps[i] = 21.75
	}
	got := readAll(every(time.Date(2026, 5, 3, 10, 0, 0, 0, time.UTC), time.Hour, temps...), plain(), concrete(time.UTC))
	require.NoError(t, got.err)
	require.Len(t, got.report.Findings, 1)
	f := got.report.Findings[0]
	require.Equal(t, logfile.Stuck, f.Kind)
	require.Equal(t, 12, f.Line)
	require.Equal(t, "the reading stays at 21.75 °C for 11 h", f.Text)
}

// A number whose end was lost with the power must not pass for a reading.
func TestCutNumber(t *testing.T) {
	t.Parallel()
	got := readAll("time,T\n2026-05-03 10:00,21.5\n2026-05-03 10:30,22.5\n2026-05-03 11:00,2", plain(), concrete(time.UTC))
	require.NoError(t, got.err)
	require.Len(t, got.values, 2)
	require.Equal(t, 1, got.report.Counts[logfile.CutShort])
}

func TestManyFindingsAreCountedNotKept(t *testing.T) {
	t.Parallel()
	b := &strings.Builder{}
	b.WriteString("time,T\n")
	at := time.Date(2026, 5, 3, 10, 0, 0, 0, time.UTC)
	for i := range 1000 {
		fmt.Fprintf(b, "%s,%d\n", at.Format("2006-01-02 15:04:05"), 20+i%2)
		at = at.Add(time.Minute)
		if i%3 == 2 {
			at = at.Add(20 * time.Second)
		}
	}
	got := readAll(b.String(), plain(), concrete(time.UTC))
	require.NoError(t, got.err)
	require.Equal(t, 333, got.report.Counts[logfile.Jitter])
	require.Len(t, got.report.Findings, 20)
}
