package logfile_test

import (
	"bytes"
	"encoding/json"
	"math"
	"testing"
	"time"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/logfile"
)

var seeds = []string{
	"time,T (C)\n2026-05-03T10:00Z,21.5\n2026-05-03T10:30Z,22\n",
	"\ufeffa;b\r\n13.05.2026 10:00;21,5\r\n13.05.2026 10:30;\"22\"\r\n",
	"t,T\n0,21\n60,22\n", "\xff\xfet\x00,\x001\x00", "\xff\xd8\xff\xe0", "\"\"\"", "1778060000000\t1e308\n1778060000001\t-1e-308\n", "05/03/2026 11:59 PM,3\n",
}

// Guess never panics, and a map that it proposes is one that can be followed.
func FuzzGuess(f *testing.F) {
	for _, s := range seeds {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, head []byte) {
		m, _, err := logfile.Guess(head)
		if err != nil {
			if fault.KindOf(err) != fault.Refused {
				t.Fatalf("refused as %v: %v", fault.KindOf(err), err)
			}
			return
		}
		start := time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC)
		m.Clock.Start = &start
		if err := m.Validate(); err != nil {
			t.Fatalf("%v: %+v", err, m)
		}
		text, err := json.Marshal(m)
		if err != nil {
			t.Fatal(err)
		}
		var back logfile.Map
		if err := json.Unmarshal(text, &back); err != nil || len(back.Values) != len(m.Values) {
			t.Fatalf("%v: %s", err, text)
		}
		logfile.Cells(head, m, 10)
		_, _ = logfile.Preview(head, m, logfile.Rules{Zone: time.UTC}, 10)
	})
}

// The reader never panics, yields times that only go forward and numbers that are
// finite or missing, and ends in a refusal or at the end.
func FuzzReader(f *testing.F) {
	for i, s := range seeds {
		f.Add([]byte(s), byte(i), byte(i*7), byte(i*3))
	}
	f.Fuzz(func(t *testing.T, data []byte, a, b, c byte) {
		start := time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC)
		kinds := []string{logfile.Dates, logfile.EpochS, logfile.EpochMS, logfile.Serial, logfile.ElapsedS, logfile.ElapsedM, logfile.ElapsedH, logfile.ElapsedC, logfile.Counted}
		m := logfile.Map{Encoding: logfile.Encodings[int(a)%4], Separator: logfile.Separators[int(b)%5], Decimal: ".", Header: int(c) % 3,
			Clock:  logfile.Clock{Kind: kinds[int(a/4)%len(kinds)], Index: 1, Order: []string{"ymd", "dmy", "mdy"}[int(c/3)%3], Zone: "UTC", Start: &start, Every: 0.5},
			Values: []logfile.Column{{Index: 2, Unit: []string{"C", "F", ""}[int(b/5)%3], Full: 1000}}, NoReading: []string{"-999"}}
		if m.Separator != "," && c > 128 {
			m.Decimal = ","
		}
		r := logfile.Read(bytes.NewReader(data), m, concrete(time.UTC))
		last := time.Time{}
		for r.Next() {
			if !r.At().After(last) {
				t.Fatalf("%v after %v", r.At(), last)
			}
			last = r.At()
			if math.IsInf(r.Values()[0], 0) {
				t.Fatal("infinite")
			}
		}
		if err := r.Err(); err != nil && fault.KindOf(err) != fault.Refused {
			t.Fatalf("%v: %v", fault.KindOf(err), err)
		}
		_ = r.Report()
	})
}
