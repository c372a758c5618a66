package db_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"iter"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// logged is a log of n readings of pour 1, each step apart, with a file of its own.
func logged(covered time.Time, step time.Duration, n int, raw []byte) repair.RecordCuringLog {
	sum := sha256.Sum256(raw)
	return repair.RecordCuringLog{LogHead: repair.LogHead{Pour: 1, Sensor: "T1", Place: "coldest", CoveredAt: covered}, FileName: "t1.csv", SHA256: hex.EncodeToString(sum[:]),
		Map: repair.Typed{"value": "2", "time": "1"}, Remember: "site logger",
		File: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(raw)), nil },
		Open: func() iter.Seq2[uhpc.Temperature, error] {
			return func(yield func(uhpc.Temperature, error) bool) {
				for i := range n {
					if !yield(uhpc.Temperature{At: covered.Add(time.Duration(i) * step), Value: 20 + units.Temperature(i%7)/3}, nil) {
						return
					}
				}
			}
		}}
}

func TestCuringLogsAreHeldToTheirDigest(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.cast(t, 97, "1N-1", "1N-2")
	list, err := b.Casting(b.ctx, b.program, 1)
	require.NoError(t, err)
	covered := list.Pours[0].StartedAt.Add(20 * time.Minute)
	raw := bytes.Repeat([]byte("2030-01-01 00:00,21.5\n"), 60_000) // more than one piece
	ch := logged(covered, time.Minute, 5000, raw)
	require.NoError(t, b.change(authz.Contractor, ch))
	require.NoError(t, b.change(authz.Contractor, repair.AddHandReadings{LogHead: repair.LogHead{Pour: 1, Sensor: "probe", Place: "core", CoveredAt: covered},
		Readings: []repair.HandReading{{At: covered.Add(5 * time.Hour), Temp: 24}, {At: covered.Add(time.Hour), Temp: 21}}}))
	list, err = b.Casting(b.ctx, b.program, 1)
	require.NoError(t, err)
	require.Len(t, list.CuringLogs, 2)
	hand := list.CuringLogs[1]
	require.NoError(t, b.change(authz.Contractor, repair.AddHandReadings{LogHead: repair.LogHead{Pour: 1}, Log: hand.ID, Readings: []repair.HandReading{{At: covered.Add(3 * time.Hour), Temp: 23}}}))
	require.NoError(t, b.change(authz.Contractor, repair.EndCuring{Pour: 1, At: covered.Add(70 * time.Hour)}))
	b.sound(t)

	var back bytes.Buffer
	require.NoError(t, b.RawFile(b.ctx, ch.SHA256, &back))
	require.Equal(t, raw, back.Bytes(), "the file stays as it came")
	n := 0
	require.NoError(t, b.StreamReadings(b.ctx, list.CuringLogs[0].ID, func(uhpc.Temperature) error { n++; return nil }))
	require.Equal(t, 5000, n)

	// A file that is not what its digest says, and readings that move between the two
	// walks, are refused whole.
	other := logged(covered, time.Minute, 400, []byte("other"))
	other.SHA256 = ch.SHA256[:63] + "0"
	require.ErrorContains(t, b.change(authz.Contractor, other), "not the one that was read")
	moving := logged(covered, time.Minute, 400, []byte("moving"))
	open, walks := moving.Open, 0
	moving.Open = func() iter.Seq2[uhpc.Temperature, error] {
		if walks++; walks == 2 {
			return logged(covered, 2*time.Minute, 400, nil).Open()
		}
		return open()
	}
	require.ErrorContains(t, b.change(authz.Contractor, moving), "not those that were summed up")
	b.sound(t)

	// Nobody changes a reading unseen.
	_, err = b.Pool.Exec(b.ctx, "update curing_reading set temp_c = temp_c + 0.1 where log_id = $1 and at = $2", hand.ID, covered.Add(time.Hour))
	require.NoError(t, err)
	v, err := b.Verify(b.ctx)
	require.NoError(t, err)
	require.Len(t, v.Differences, 1)
	require.Contains(t, v.Differences[0].What, "digest")
}

// A million readings go through the door one after another.
func BenchmarkRecordMillionReadings(bm *testing.B) {
	b := setup(bm)
	start := time.Now().UTC().Add(-30 * 24 * time.Hour).Truncate(time.Minute)
	for i := range bm.N {
		at := start.Add(time.Duration(i) * time.Minute)
		placed := at.Add(10 * time.Minute)
		_, err := b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Contractor], Ends: []db.EndRef{{ID: b.end(bm, "1N-1").End.ID}},
			Change: repair.RecordPour{StartedAt: at, Batches: []repair.BatchIn{{MixedAt: at, PlacedAt: &placed}}}})
		require.NoError(bm, err)
		ch := logged(at, time.Second, 1_000_000, []byte(at.String()))
		ch.Pour = i + 1
		require.NoError(bm, b.change(authz.Contractor, ch))
	}
	bm.ReportMetric(1_000_000*float64(bm.N)/bm.Elapsed().Seconds(), "rows/s")
}
