package logfile_test

import (
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/logfile"
)

func fields(doubts []logfile.Doubt) []string {
	out := []string{}
	for _, d := range doubts {
		out = append(out, d.Field)
	}
	return out
}

// wideText writes a text as UTF-16 with a byte order mark.
func wideText(s string, big bool) string {
	b := []byte{}
	for _, u := range utf16.Encode([]rune("\ufeff" + s)) {
		if big {
			b = append(b, byte(u>>8), byte(u))
		} else {
			b = append(b, byte(u), byte(u>>8))
		}
	}
	return string(b)
}

// Each text is mapped as named, and asks about what it leaves open and nothing else.
// The texts are invented after the habits of common loggers.
func TestGuess(t *testing.T) {
	t.Parallel()
	dates := func(order string) logfile.Clock { return logfile.Clock{Kind: logfile.Dates, Index: 1, Order: order} }
	col := func(i int, name, unit string) []logfile.Column {
		return []logfile.Column{{Index: i, Name: name, Unit: unit}}
	}
	for name, c := range map[string]struct {
		text   string
		want   logfile.Map
		doubts []string
	}{
		"plain": {"time,temp (°C)\n2026-05-03T10:00:00Z,21.5\n2026-05-03T10:30:00Z,22\n",
			logfile.Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 1, Names: 1, Clock: dates("ymd"), Values: col(2, "temp (°C)", "C")}, []string{}},
		"no zone": {"time,temp degC\n2026-05-03 10:00,21.5\n2026-05-03 10:30,22\n",
			logfile.Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 1, Names: 1, Clock: dates("ymd"), Values: col(2, "temp degC", "C")}, []string{"clock.zone"}},
		"zone in the name": {"Date Time (GMT-05:00),Temp [F]\n2026-05-03 10:00,71.5\n2026-05-03 10:30,72\n",
			logfile.Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 1, Names: 1,
				Clock: logfile.Clock{Kind: logfile.Dates, Index: 1, Order: "ymd", Zone: "GMT-05:00"}, Values: col(2, "Temp [F]", "F")}, []string{}},
		"semicolons and commas": {"\ufeffLogger 7\r\nKanal 1\r\n\r\nZeit;Temperatur (°C)\r\n13.05.2026 10:00;21,5\r\n13.05.2026 10:30;22,0\r\n",
			logfile.Map{Encoding: "utf-8", Separator: ";", Decimal: ",", Header: 4, Names: 4, Clock: dates("dmy"), Values: col(2, "Temperatur (°C)", "C")}, []string{"clock.zone"}},
		"which is the day": {"time,T (C)\n05/03/2026 10:00,21.5\n05/03/2026 10:30,22\n",
			logfile.Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 1, Names: 1, Clock: dates("dmy"), Values: col(2, "T (C)", "C")}, []string{"clock.order", "clock.zone"}},
		"the day shows later": {"time,T (C)\n05/12/2026 23:00,21.5\n05/13/2026 00:00,22\n",
			logfile.Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 1, Names: 1, Clock: dates("mdy"), Values: col(2, "T (C)", "C")}, []string{"clock.zone"}},
		"no unit": {"2026-05-03T10:00Z\t70.5\n2026-05-03T10:30Z\t71\n",
			logfile.Map{Encoding: "utf-8", Separator: "\t", Decimal: ".", Clock: dates("ymd"), Values: col(2, "column 2", "")}, []string{"values.0.unit"}},
		"unit in the cells": {"when,reading\n2026-05-03T10:00Z,70.5 F\n2026-05-03T10:30Z,71 F\n",
			logfile.Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 1, Names: 1, Clock: dates("ymd"), Values: col(2, "reading", "F")}, []string{}},
		"two columns of time": {"\"No.\",\"Date\",\"Time\",\"Temp\"\n\"\",\"\",\"\",\"Deg F\"\n1,2026-05-13,10:00:00,70.5\n2,2026-05-13,10:30:00,71\n3,2026-05-13,11:00:00,71\n",
			logfile.Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 2, Names: 1, Units: 2,
				Clock: logfile.Clock{Kind: logfile.Dates, Index: 2, Time: 3, Order: "ymd"}, Values: col(4, "Temp", "F")}, []string{"clock.zone"}},
		"lines of names, units and ways": {"\"station\",\"A\"\n\"TIMESTAMP\",\"T1\"\n\"TS\",\"Deg C\"\n\"\",\"Avg\"\n\"2026-05-13 10:00:00\",21.5\n\"2026-05-13 10:15:00\",22\n",
			logfile.Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 4, Names: 2, Units: 3, Clock: dates("ymd"), Values: col(2, "T1", "C")}, []string{"clock.zone"}},
		"elapsed": {"minutes,core °C\n0,21.5\n15,22\n30,23.5\n",
			logfile.Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 1, Names: 1, Clock: logfile.Clock{Kind: logfile.ElapsedM, Index: 1}, Values: col(2, "core °C", "C")}, []string{"clock.start"}},
		"milliseconds": {"t,core °C\n1778060000000,21.5\n1778060900000,22\n",
			logfile.Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 1, Names: 1, Clock: logfile.Clock{Kind: logfile.EpochMS, Index: 1}, Values: col(2, "core °C", "C")}, []string{}},
		"old signs": {"time;T (\xb0C)\n2026-05-13T10:00Z;21,5\n2026-05-13T10:30Z;22,5\n",
			logfile.Map{Encoding: "latin-1", Separator: ";", Decimal: ",", Header: 1, Names: 1, Clock: dates("ymd"), Values: col(2, "T (°C)", "C")}, []string{}},
		"wide signs": {wideText("time\tT (°C)\n2026-05-13T10:00Z\t21.5\n2026-05-13T10:30Z\t22.5\n", false),
			logfile.Map{Encoding: "utf-16le", Separator: "\t", Decimal: ".", Header: 1, Names: 1, Clock: dates("ymd"), Values: col(2, "T (°C)", "C")}, []string{}},
		"wide signs, other way": {wideText("time\tT (°C)\n2026-05-13T10:00Z\t21.5\n2026-05-13T10:30Z\t22.5\n", true),
			logfile.Map{Encoding: "utf-16be", Separator: "\t", Decimal: ".", Header: 1, Names: 1, Clock: dates("ymd"), Values: col(2, "T (°C)", "C")}, []string{}},
		"many channels": {"time,W1 (ue),P1 (ue),T1 (°C)\n2026-05-13T10:00:00.00Z,1.5,-0.25,21\n2026-05-13T10:00:00.01Z,2.5,-0.5,21\n",
			logfile.Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 1, Names: 1, Clock: dates("ymd"),
				Values: []logfile.Column{{Index: 2, Name: "W1 (ue)", Unit: "ue"}, {Index: 3, Name: "P1 (ue)", Unit: "ue"}, {Index: 4, Name: "T1 (°C)", Unit: "C"}}}, []string{"values"}},
		"old line ends": {"time,T (C)\r2026-05-13T10:00Z,21\r2026-05-13T10:30Z,22\r",
			logfile.Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 1, Names: 1, Clock: dates("ymd"), Values: col(2, "T (C)", "C")}, []string{}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			m, doubts, err := logfile.Guess([]byte(c.text))
			require.NoError(t, err)
			require.Equal(t, c.want, m)
			require.Equal(t, c.doubts, fields(doubts))
			start := time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC)
			m.Clock.Start = &start
			got := readAll(c.text, m, logfile.Rules{Zone: time.UTC})
			require.NoError(t, got.err, "the file can be read by the map that was guessed")
			require.GreaterOrEqual(t, got.report.Rows, 2)
		})
	}
}

// A row that cannot be read must not pass for the end of a header: the rows above it
// would be lost in silence.
func TestGuessKeepsTheFirstRows(t *testing.T) {
	t.Parallel()
	m, _, err := logfile.Guess([]byte("time,T (C)\n2026-05-13T10:00Z,21\n2026-05-13T10:30Z,22\nstopped by hand\n2026-05-13T11:00Z,22\n2026-05-13T11:30Z,22\n"))
	require.NoError(t, err)
	require.Equal(t, 1, m.Header)
}

func TestGuessRefusesWhatIsNoTable(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ head, says string }{
		"photo":    {"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + strings.Repeat("\x00\x81", 200), "a picture"},
		"drawing":  {"\x89PNG\r\n\x1a\n\x00\x00", "a picture"},
		"document": {"%PDF-1.7\n", "a PDF document"},
		"workbook": {"PK\x03\x04\x14\x00\x00\x00[Content_Types].xml", "save the sheet as CSV"},
		"nothing":  {"", "empty"},
		"bytes":    {strings.Repeat("\x00\x01\x02\x03", 50), "not a text table"},
		"prose":    {"Dear all,\nthe logger was moved on Tuesday.\nRegards\n", "no table was found"},
		"names":    {"time,temperature\n", "no table was found"},
		"one line": {"21.5\n22.5\n", "no table was found"},
	} {
		_, _, err := logfile.Guess([]byte(c.head))
		require.ErrorIs(t, err, fault.Refused, name)
		require.ErrorContains(t, err, c.says, name)
	}
}

func TestPreviewAndCells(t *testing.T) {
	t.Parallel()
	head := []byte("time,T (C)\n2026-05-13T10:00Z,21\n2026-05-13T10:30Z,22\n2026-05-13T11:00Z,x\n")
	m, _, err := logfile.Guess(head)
	require.NoError(t, err)
	require.Equal(t, [][]string{{"time", "T (C)"}, {"2026-05-13T10:00Z", "21"}}, logfile.Cells(head, m, 2))
	rows, err := logfile.Preview(head, m, logfile.Rules{}, 2)
	require.NoError(t, err)
	require.Len(t, rows, 2)
	require.Equal(t, 3, rows[1].Line)
	_, err = logfile.Preview(head, m, logfile.Rules{}, 10)
	require.ErrorContains(t, err, "line 4, column 2")
}

func TestValidateNamesEveryField(t *testing.T) {
	t.Parallel()
	m := logfile.Map{Encoding: "ebcdic", Separator: "ab", Decimal: "'", Header: -1, Clock: logfile.Clock{Kind: "moon"},
		Values: []logfile.Column{{Index: 0, Unit: "furlong"}, {Index: 2}, {Index: 2}}}
	var v *fault.Invalid
	require.ErrorAs(t, m.Validate(), &v)
	for _, f := range []string{"encoding", "separator", "decimal", "header", "clock.kind", "values.0.index", "values.0.unit", "values.2.index"} {
		require.NotNil(t, v.Of(f), f)
	}
	m = plain()
	m.Decimal = ","
	require.ErrorContains(t, m.Validate(), "decimal comma")
	require.NoError(t, plain().Validate())
}
