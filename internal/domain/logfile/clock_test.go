package logfile_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/logfile"
)

// wallEvery writes what a clock that follows a zone shows at equal steps.
func wallEvery(start time.Time, step time.Duration, n int) string {
	b := &strings.Builder{}
	b.WriteString("time,T\n")
	for i := range n {
		fmt.Fprintf(b, "%s,%.2f\n", start.Add(time.Duration(i)*step).Format("2006-01-02 15:04:05"), 20+float64(i%7)/4)
	}
	return b.String()
}

// The nights in which clocks change are those of 2026 in the IANA time zone
// database: New York 8 March and 1 November, Berlin 29 March and 25 October.
func TestClockThatFollowsItsZone(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		zone  string
		start time.Time
	}{
		{"America/New_York", time.Date(2026, 3, 8, 2, 0, 0, 0, time.UTC)},
		{"America/New_York", time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC)},
		{"Europe/Berlin", time.Date(2026, 3, 28, 20, 0, 0, 0, time.UTC)},
		{"Europe/Berlin", time.Date(2026, 10, 24, 20, 0, 0, 0, time.UTC)},
	} {
		z := zone(t, c.zone)
		for _, step := range []time.Duration{time.Second, time.Minute, 10 * time.Minute, 15 * time.Minute, 30 * time.Minute, time.Hour, 2 * time.Hour} {
			n := min(int(14*time.Hour/step)+1, 30000)
			start := c.start
			if step == time.Second {
				start = start.Add(3 * time.Hour)
			}
			got := readAll(wallEvery(start.In(z), step, n), plain(), concrete(z))
			require.NoError(t, got.err, "%s %s", c.zone, step)
			require.Len(t, got.at, n)
			for i, at := range got.at {
				require.Equal(t, start.Add(time.Duration(i)*step), at, "%s %s row %d", c.zone, step, i)
			}
			require.Zero(t, got.report.Counts[logfile.Gap])
		}
	}
}

// A clock that does not follow the zone that was named for it, and one that follows
// a change that its zone does not know, are refused at the line, with what to do.
func TestClockAgainstItsZone(t *testing.T) {
	t.Parallel()
	newYork := zone(t, "America/New_York")
	standard := time.FixedZone("UTC-05:00", -5*3600)
	spring, autumn := time.Date(2026, 3, 8, 4, 0, 0, 0, time.UTC), time.Date(2026, 11, 1, 2, 0, 0, 0, time.UTC)
	for name, c := range map[string]struct {
		kept, named *time.Location
		start       time.Time
		step        time.Duration
		line        int
		says        string
	}{
		"spring, clock ran on":        {standard, newYork, spring, 15 * time.Minute, 14, "no 02:00 on 8 March 2026 in America/New_York: clocks went from 02:00 to 03:00"},
		"spring, ran on, two hours":   {time.FixedZone("", -6*3600), newYork, spring.Add(-9 * time.Hour), 2 * time.Hour, 9, "did not follow"},
		"autumn, clock ran on":        {time.FixedZone("", -4*3600), newYork, autumn, 15 * time.Minute, 18, "did not follow. Name the offset that it ran at (UTC-04:00)"},
		"spring, zone without change": {newYork, standard, spring, 15 * time.Minute, 14, "an hour is missing after line 13"},
		"autumn, zone without change": {newYork, standard, autumn, 15 * time.Minute, 18, "goes back by an hour after line 17"},
		"spring, UTC named":           {newYork, time.UTC, spring, 30 * time.Minute, 8, "an hour is missing"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			got := readAll(wallEvery(c.start.In(c.kept), c.step, 80), plain(), concrete(c.named))
			var p *logfile.Problem
			require.ErrorAs(t, got.err, &p)
			require.Equal(t, logfile.ClockChange, p.Kind, p.Error())
			require.Contains(t, p.Error(), c.says)
			require.Equal(t, c.line, p.Line, p.Error())
			require.Equal(t, 1, p.Column)
		})
	}
	// A pause that happens to be an hour may be said to be real.
	rules := concrete(standard)
	rules.Allow = []logfile.Kind{logfile.ClockChange}
	got := readAll(wallEvery(spring.In(newYork), 15*time.Minute, 80), plain(), rules)
	require.NoError(t, got.err)
	require.Equal(t, 1, got.report.Counts[logfile.Gap])
}

func TestFileThatBeginsInTheRepeatedHour(t *testing.T) {
	t.Parallel()
	got := readAll(wallEvery(time.Date(2026, 11, 1, 5, 15, 0, 0, time.UTC).In(zone(t, "America/New_York")), 15*time.Minute, 20), plain(), concrete(zone(t, "America/New_York")))
	require.ErrorContains(t, got.err, "line 2, column 1: 01:15 on 1 November 2026 came twice in America/New_York")
	require.ErrorContains(t, got.err, "UTC-04:00 or UTC-05:00")
}

func TestWaysToWriteATime(t *testing.T) {
	t.Parallel()
	want := time.Date(2026, 5, 3, 14, 5, 6, 0, time.UTC)
	minute := want.Truncate(time.Minute)
	start := want.Add(-90 * time.Minute)
	dates := func(order string) logfile.Clock {
		return logfile.Clock{Kind: logfile.Dates, Index: 1, Order: order, Zone: "UTC"}
	}
	since := func(kind string) logfile.Clock { return logfile.Clock{Kind: kind, Index: 1, Start: &start} }
	for _, c := range []struct {
		cell  string
		clock logfile.Clock
		want  time.Time
	}{
		{"2026-05-03T14:05:06Z", dates("ymd"), want},
		{"2026-05-03T09:05:06-05:00", dates("ymd"), want},
		{"2026-05-03 16:05:06+0200", dates("ymd"), want},
		{"2026/5/3 14:05:06.000", dates("ymd"), want},
		{"20260503T14:05:06", dates("ymd"), want},
		{"26-05-03 14:05:06", dates("ymd"), want},
		{"03.05.2026 14:05:06", dates("dmy"), want},
		{"3.5.26 14:05:06", dates("dmy"), want},
		{"03-May-2026 14:05:06", dates("dmy"), want},
		{"May 3, 2026 02:05:06 PM", dates("mdy"), want},
		{"3 May 2026 14:05:06", dates("mdy"), want},
		{"05/03/2026 2:05:06 PM", dates("mdy"), want},
		{"05/03/26 02:05:06 p.m.", dates("mdy"), want},
		{"5/3/2026 14:05", dates("mdy"), minute},
		{"2026-05-02 24:00", dates("ymd"), time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC)},
		{"2026-05-03 12:05 AM", dates("ymd"), time.Date(2026, 5, 3, 0, 5, 0, 0, time.UTC)},
		{"2026-05-03", dates("ymd"), time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC)},
		{"2026-05-03 14:05:06 UTC", dates("ymd"), want},
		{"2026-05-03 14:05:06.25", dates("ymd"), want.Add(250 * time.Millisecond)},
		{"1777817106", logfile.Clock{Kind: logfile.EpochS, Index: 1}, want},
		{"1777817106.5", logfile.Clock{Kind: logfile.EpochS, Index: 1}, want.Add(500 * time.Millisecond)},
		{"1777817106000", logfile.Clock{Kind: logfile.EpochMS, Index: 1}, want},
		{"46145.586875", logfile.Clock{Kind: logfile.Serial, Index: 1, Zone: "UTC"}, want},
		{"5400", since(logfile.ElapsedS), want},
		{"90.0", since(logfile.ElapsedM), want},
		{"1.5", since(logfile.ElapsedH), want},
		{"1:30:00", since(logfile.ElapsedC), want},
		{"0.01", since(logfile.ElapsedS), start.Add(10 * time.Millisecond)},
	} {
		m := plain()
		m.Clock, m.Separator, m.Header, m.Names = c.clock, ";", 0, 0
		got := readAll(c.cell+";21\n", m, concrete(time.UTC))
		require.NoError(t, got.err, c.cell)
		require.Equal(t, c.want, got.at[0], c.cell)
	}
	for _, cell := range []string{"2026-13-01 10:00", "2026-05-32 10:00", "2026-05-03 25:00", "2026-05-03 10:61", "2026-05-03 13:00 PM", "05-03 10:00", "2026-05-03 10:00 nonsense",
		"2026-05-03 10:00+99:00", "", "1777817106", "2026-0o-03 10:00", "3026-05-03 10:00"} {
		m := plain()
		m.Header, m.Names = 0, 0
		require.Error(t, readAll(cell+",21\n", m, concrete(time.UTC)).err, cell)
	}
}

func TestDateAndTimeInTwoColumns(t *testing.T) {
	t.Parallel()
	m := plain()
	m.Clock.Time, m.Values[0].Index, m.Header, m.Names = 2, 3, 0, 0
	got := readAll("2026-05-03,14:05:06,21\n2026-05-03 00:00,14:06:06,22\n", m, concrete(time.UTC))
	require.NoError(t, got.err)
	require.Equal(t, time.Date(2026, 5, 3, 14, 6, 6, 0, time.UTC), got.at[1])
	require.ErrorContains(t, readAll("2026-05-03 10:00,14:05:06,21\n", m, concrete(time.UTC)).err, "line 1, column 1")
}

func TestCountedRows(t *testing.T) {
	t.Parallel()
	start := time.Date(2026, 5, 3, 14, 0, 0, 0, time.UTC)
	m := plain()
	m.Clock = logfile.Clock{Kind: logfile.Counted, Start: &start, Every: 0.01}
	m.Values[0].Index = 1
	got := readAll("T\n20\n21\n22\n23\n", m, concrete(time.UTC))
	require.NoError(t, got.err)
	require.Equal(t, start.Add(30*time.Millisecond), got.at[3])
	require.Equal(t, 10*time.Millisecond, got.report.Step)
}

func TestZoneOfAFixedOffset(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]int{"UTC": 0, "z": 0, "+05:30": 19800, "UTC-5": -18000, "-0500": -18000, "GMT+1": 3600} {
		z, ok := logfile.Zone(name)
		require.True(t, ok, name)
		_, off := time.Date(2026, 7, 1, 0, 0, 0, 0, z).Zone()
		require.Equal(t, want, off, name)
	}
	for _, name := range []string{"America/New_York", "", "EST", "+25:00", "UTC+"} {
		_, ok := logfile.Zone(name)
		require.False(t, ok, name)
	}
}
