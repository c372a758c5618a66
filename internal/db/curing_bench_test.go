package db_test

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"runtime/debug"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/logfile"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// peak is the largest memory that this process held since reset, in megabytes, as
// the kernel counted it; 0 where the kernel does not say.
func peak() float64 {
	text, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	for line := range bytes.Lines(text) {
		if rest, ok := bytes.CutPrefix(line, []byte("VmHWM:")); ok {
			kb, err := strconv.ParseFloat(string(bytes.TrimSpace(bytes.TrimSuffix(bytes.TrimSpace(rest), []byte("kB")))), 64)
			if err == nil {
				return kb / 1024
			}
		}
	}
	return 0
}

func resetPeak() {
	debug.FreeOSMemory()
	_ = os.WriteFile("/proc/self/clear_refs", []byte("5"), 0o600)
}

// BenchmarkMillionLoggerRows takes a file of a million rows the whole way: read and
// checked, kept as it came and stored with its readings through the one door, and
// read back, summed up by every method and thinned for the drawing of its page.
func BenchmarkMillionLoggerRows(b *testing.B) {
	const rows = 1_000_000
	s := durable(b)
	start := time.Now().UTC().Add(-24 * 24 * time.Hour).Truncate(time.Minute)
	placed := start.Add(10 * time.Minute)
	_, err := s.Edit(s.ctx, db.Entry{ID: newID(), ProgramID: s.program, Actor: s.people[authz.Contractor], Ends: []db.EndRef{{ID: s.end(b, "1N-1").End.ID}},
		Change: repair.RecordPour{StartedAt: start, Batches: []repair.BatchIn{{MixedAt: start, PlacedAt: &placed}}}})
	require.NoError(b, err)
	name := filepath.Join(b.TempDir(), "log.csv")
	file, err := os.Create(name)
	require.NoError(b, err)
	sum := sha256.New()
	w := bufio.NewWriter(io.MultiWriter(file, sum))
	fmt.Fprintln(w, "time,core (°C)")
	for i := range rows {
		fmt.Fprintf(w, "%s,%.2f\n", start.Add(time.Duration(i)*2*time.Second).Format("2006-01-02 15:04:05"), 20+30*float64(i)/rows+float64(i%37)/50)
	}
	require.NoError(b, w.Flush())
	info, err := file.Stat()
	require.NoError(b, err)
	m := logfile.Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 1, Clock: logfile.Clock{Kind: logfile.Dates, Index: 1, Order: "ymd", Zone: "UTC"},
		Values: []logfile.Column{{Index: 2, Unit: "C"}}}
	rules := logfile.Rules{Zone: time.UTC, Ranges: map[logfile.Quantity][2]float64{logfile.Temperature: {-40, 120}}, Stuck: 12 * time.Hour}
	n := 0
	ch := func() repair.RecordCuringLog {
		n++
		return repair.RecordCuringLog{LogHead: repair.LogHead{Pour: 1, Sensor: fmt.Sprint("T", n), Place: "core", CoveredAt: start}, FileName: "log.csv", SHA256: hex.EncodeToString(sum.Sum(nil)),
			Map:  repair.Typed{"n": fmt.Sprint(n)},
			File: func() (io.ReadCloser, error) { return io.NopCloser(io.NewSectionReader(file, 0, info.Size())), nil },
			Open: func() iter.Seq2[uhpc.Temperature, error] {
				return func(yield func(uhpc.Temperature, error) bool) {
					r := logfile.Read(io.NewSectionReader(file, 0, info.Size()), m, rules)
					for r.Next() {
						if !yield(uhpc.Temperature{At: r.At(), Value: units.Temperature(r.Values()[0])}, nil) {
							return
						}
					}
					if r.Err() != nil {
						yield(uhpc.Temperature{}, r.Err())
					}
				}
			}}
	}
	perSecond := func(b *testing.B) {
		b.ReportMetric(rows*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
		b.ReportMetric(peak(), "peak-MB")
	}
	b.Run("read-checked-stored", func(b *testing.B) {
		b.ReportAllocs()
		resetPeak()
		for b.Loop() {
			require.NoError(b, s.change(authz.Contractor, ch()))
		}
		perSecond(b)
	})
	list, err := s.Casting(s.ctx, s.program, 1)
	require.NoError(b, err)
	l := list.CuringLogs[0]
	b.Run("plotted", func(b *testing.B) {
		b.ReportAllocs()
		resetPeak()
		for b.Loop() {
			a := uhpc.NewAccumulator(l.CoveredAt, basis.Basis{})
			thin := logfile.NewThin(*l.FirstAt, *l.LastAt, 500, 2*time.Hour)
			require.NoError(b, s.StreamReadings(s.ctx, l.ID, func(t uhpc.Temperature) error {
				thin.Add(t.At, float64(t.Value))
				return a.Add(t.At, t.Value)
			}))
			require.Equal(b, rows, a.Result(basis.Basis{}).Readings)
			require.Len(b, thin.Lines(), 1)
		}
		perSecond(b)
	})
}
