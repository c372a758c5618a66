package logfile_test

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"testing"
	"time"

	"endcast/internal/domain/logfile"
)

// millionRows is a log of a reading every two seconds for 23 days.
func millionRows() []byte {
	b := &bytes.Buffer{}
	w := bufio.NewWriter(b)
	fmt.Fprintln(w, "time,core (°C)")
	at := time.Date(2026, 5, 3, 10, 0, 0, 0, time.UTC)
	for i := range 1_000_000 {
		fmt.Fprintf(w, "%s,%.2f\n", at.Format("2006-01-02 15:04:05"), 20+30*float64(i)/1e6+float64(i%37)/50)
		at = at.Add(2 * time.Second)
	}
	_ = w.Flush()
	return b.Bytes()
}

func BenchmarkMillionRows(b *testing.B) {
	file := millionRows()
	newYork, err := time.LoadLocation("America/New_York")
	if err != nil {
		b.Fatal(err)
	}
	m := plain()
	m.Clock.Zone = "America/New_York"
	b.Run("read and checked", func(b *testing.B) {
		b.SetBytes(int64(len(file)))
		b.ReportAllocs()
		for b.Loop() {
			r := logfile.Read(bytes.NewReader(file), m, concrete(newYork))
			n := 0
			for r.Next() {
				n++
			}
			if r.Err() != nil || n != 1_000_000 {
				b.Fatal(n, r.Err())
			}
		}
		b.ReportMetric(1e6*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
	})
	b.Run("encoding csv and time.Parse", func(b *testing.B) {
		b.SetBytes(int64(len(file)))
		b.ReportAllocs()
		for b.Loop() {
			r := csv.NewReader(bytes.NewReader(file))
			r.ReuseRecord = true
			_, _ = r.Read()
			n := 0
			for {
				f, err := r.Read()
				if err == io.EOF {
					break
				}
				if err != nil {
					b.Fatal(err)
				}
				if _, err := time.ParseInLocation("2006-01-02 15:04:05", f[0], newYork); err != nil {
					b.Fatal(err)
				}
				if _, err := strconv.ParseFloat(f[1], 64); err != nil {
					b.Fatal(err)
				}
				n++
			}
		}
		b.ReportMetric(1e6*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
	})
	b.Run("encoding csv and ParseFloat alone", func(b *testing.B) {
		b.SetBytes(int64(len(file)))
		b.ReportAllocs()
		for b.Loop() {
			r := csv.NewReader(bytes.NewReader(file))
			r.ReuseRecord = true
			_, _ = r.Read()
			for {
				f, err := r.Read()
				if err == io.EOF {
					break
				}
				if err != nil {
					b.Fatal(err)
				}
				if _, err := strconv.ParseFloat(f[1], 64); err != nil {
					b.Fatal(err)
				}
			}
		}
		b.ReportMetric(1e6*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
	})
}

// BenchmarkChannels reads 30 minutes of six channels at 100 Hz, beside a plain parser of columns.
func BenchmarkChannels(b *testing.B) {
	w := &bytes.Buffer{}
	w.WriteString("t,1,2,3,4,5,6\n")
	for i := range 180_000 {
		fmt.Fprintf(w, "%.2f", float64(i)/100)
		for k := range 6 {
			fmt.Fprintf(w, ",%.4f", float64((i*(k+3))%997)/7)
		}
		w.WriteByte('\n')
	}
	start := time.Date(2026, 5, 3, 10, 0, 0, 0, time.UTC)
	m := plain()
	m.Clock = logfile.Clock{Kind: logfile.ElapsedS, Index: 1, Start: &start}
	m.Values = nil
	for k := range 6 {
		m.Values = append(m.Values, logfile.Column{Index: k + 2, Unit: "ue"})
	}
	rate := func(b *testing.B) { b.ReportMetric(180_000*6*float64(b.N)/b.Elapsed().Seconds(), "samples/s") }
	b.Run("read and checked", func(b *testing.B) {
		b.SetBytes(int64(w.Len()))
		b.ReportAllocs()
		for b.Loop() {
			r := logfile.Read(bytes.NewReader(w.Bytes()), m, logfile.Rules{})
			for r.Next() {
			}
			if r.Err() != nil {
				b.Fatal(r.Err())
			}
		}
		rate(b)
	})
	b.Run("encoding csv and ParseFloat", func(b *testing.B) {
		b.SetBytes(int64(w.Len()))
		b.ReportAllocs()
		for b.Loop() {
			r := csv.NewReader(bytes.NewReader(w.Bytes()))
			r.ReuseRecord = true
			_, _ = r.Read()
			for {
				f, err := r.Read()
				if err == io.EOF {
					break
				}
				if err != nil {
					b.Fatal(err)
				}
				for _, x := range f {
					if _, err := strconv.ParseFloat(x, 64); err != nil {
						b.Fatal(err)
					}
				}
			}
		}
		rate(b)
	})
}
