package repair_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"iter"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// every yields a reading each step from a start, of one temperature.
func every(start time.Time, step time.Duration, n int, temp units.Temperature) func() iter.Seq2[uhpc.Temperature, error] {
	return func() iter.Seq2[uhpc.Temperature, error] {
		return func(yield func(uhpc.Temperature, error) bool) {
			for i := range n {
				if !yield(uhpc.Temperature{At: start.Add(time.Duration(i) * step), Value: temp}, nil) {
					return
				}
			}
		}
	}
}

func logOf(sensor, place string, covered time.Time, open func() iter.Seq2[uhpc.Temperature, error]) repair.RecordCuringLog {
	raw := []byte(sensor + place + covered.String())
	sum := sha256.Sum256(raw)
	return repair.RecordCuringLog{LogHead: repair.LogHead{Pour: 1, Sensor: sensor, Place: place, CoveredAt: covered}, FileName: sensor + ".csv", SHA256: hex.EncodeToString(sum[:]),
		Map: repair.Typed{"time": "1", "value": "2"}, File: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(raw)), nil }, Open: open}
}

// Curing is complete once somebody says when it ended and two sensors, one at the
// coldest point, cover the time from placing until then.
func TestCuringIsCompleteByItsLogs(t *testing.T) {
	t.Parallel()
	s := begin(t)
	ch := castAgo(s, 100)
	require.NoError(t, s.do(authz.Inspector, ch))
	covered := *ch.EndedAt
	lacks := func() string { _, w := s.Ends[0].Curing(s.Scope); return w }
	require.Contains(t, lacks(), "nobody said")
	require.NoError(t, s.do(authz.Contractor, repair.EndCuring{Pour: 1, At: covered.Add(72 * time.Hour), Note: "covers off"}))
	require.Contains(t, lacks(), "0 of 2 sensors")
	require.NoError(t, s.do(authz.Contractor, logOf("T1", "core", covered, every(covered.Add(-3*time.Hour), 30*time.Minute, 160, 31))))
	l := s.CuringLogs[0]
	require.Equal(t, 154, l.Rows, "what it felt before it was covered is left out")
	require.True(t, l.FirstAt.Equal(covered))
	require.InDelta(t, 31, float64(l.Hottest), 0)
	require.Contains(t, lacks(), "none of them at the coldest point")
	require.NoError(t, s.do(authz.Contractor, logOf("T2", "air", covered, every(covered, 30*time.Minute, 160, 12))))
	require.Contains(t, lacks(), "1 of 2", "air is no sensor in the concrete")
	require.NoError(t, s.do(authz.Contractor, logOf("T3", "coldest", covered, every(covered, 30*time.Minute, 100, 22))))
	require.Contains(t, lacks(), "T3 ends before curing did")
	require.NoError(t, s.do(authz.Contractor, logOf("T4", "coldest", covered, every(covered, 7*time.Hour, 12, 22))))
	require.Contains(t, lacks(), "T4 has a gap of 7 h")
	require.NoError(t, s.do(authz.Contractor, logOf("T5", "coldest", covered, every(covered, 30*time.Minute, 145, 22))))
	require.Empty(t, lacks())
	f, err := s.Ends[0].Facts(s.Scope)
	require.NoError(t, err)
	require.True(t, f.CuringComplete)
	require.NoError(t, s.do(authz.Contractor, repair.WithdrawCuringLog{Pour: 1, Log: l.ID, Why: "came loose"}))
	require.Contains(t, lacks(), "1 of 2")

	// A signed inspection counts as well, and one that does not accept takes it away.
	require.NoError(t, s.do(authz.Inspector, repair.RecordInspection{Subject: "curing", Outcome: "accepted", Note: "paper log looked through"}))
	require.Empty(t, lacks())
	require.NoError(t, s.do(authz.Inspector, repair.RecordInspection{Subject: "curing", Outcome: "not_accepted", Note: "gap on the second night"}))
	require.Contains(t, lacks(), "not accepted")
}

func TestImpossibleLogsAreRefused(t *testing.T) {
	t.Parallel()
	base := begin(t)
	ch := castAgo(base, 100)
	require.NoError(t, base.do(authz.Inspector, ch))
	covered := *ch.EndedAt
	good := func() repair.RecordCuringLog {
		return logOf("T1", "coldest", covered, every(covered, time.Hour, 50, 22))
	}
	for want, spoil := range map[string]func(*repair.RecordCuringLog){
		"covered_at":      func(c *repair.RecordCuringLog) { c.CoveredAt = ch.StartedAt.Add(-2 * time.Hour) },
		"place":           func(c *repair.RecordCuringLog) { c.Place = "somewhere" },
		"sensor":          func(c *repair.RecordCuringLog) { c.Sensor = " " },
		"file":            func(c *repair.RecordCuringLog) { c.SHA256 = "x" },
		"end_id":          func(c *repair.RecordCuringLog) { c.EndID = "elsewhere" },
		"no reading from": func(c *repair.RecordCuringLog) { c.Open = every(covered.Add(-90*time.Hour), time.Hour, 20, 22) },
		"temperature":     func(c *repair.RecordCuringLog) { c.Open = every(covered, time.Hour, 20, 850) },
		"two readings":    func(c *repair.RecordCuringLog) { c.Open = every(covered, 0, 20, 22) },
		"before":          func(c *repair.RecordCuringLog) { c.Open = every(covered.Add(10*time.Hour), -time.Hour, 9, 22) },
		"clock":           func(c *repair.RecordCuringLog) { c.Open = every(covered, time.Hour, 500, 22) },
	} {
		s := &story{Scope: base.Scope.Clone(), now: base.now}
		in := good()
		spoil(&in)
		err := s.do(authz.Contractor, in)
		require.Error(t, err, want)
		var bad *fault.Invalid
		if errors.As(err, &bad) {
			require.NotNil(t, bad.Of(want), "%s: %v", want, err)
		} else {
			require.ErrorContains(t, err, want)
		}
		require.Empty(t, s.CuringLogs)
	}
	s := &story{Scope: base.Scope.Clone(), now: base.now}
	require.NoError(t, s.do(authz.Contractor, good()))
	require.ErrorContains(t, s.do(authz.Contractor, good()), "on record already")
}

func TestReadingsByHandJoinTheirLog(t *testing.T) {
	t.Parallel()
	s := begin(t)
	ch := castAgo(s, 100)
	require.NoError(t, s.do(authz.Inspector, ch))
	covered := *ch.EndedAt
	read := func(h float64, temp units.Temperature) repair.HandReading {
		return repair.HandReading{At: covered.Add(time.Duration(h * float64(time.Hour))), Temp: temp}
	}
	head := repair.LogHead{Pour: 1, Sensor: "probe at the toe", Place: "coldest", CoveredAt: covered}
	require.NoError(t, s.do(authz.Inspector, repair.AddHandReadings{LogHead: head, Readings: []repair.HandReading{read(6, 26), read(1, 20)}}))
	l := s.CuringLogs[0]
	require.Equal(t, 2, l.Rows)
	require.InDelta(t, 5, l.LongestGapH, 1e-9)
	// The store brings what is on record when readings are added.
	for t, err := range s.Scope.Readings.Open() {
		_ = err
		s.HandReadings = append(s.HandReadings, repair.CuringReading{LogID: l.ID, At: t.At, Temp: t.Value})
	}
	more := repair.AddHandReadings{LogHead: repair.LogHead{Pour: 1}, Log: l.ID, Readings: []repair.HandReading{read(3, 23)}}
	require.NoError(t, s.do(authz.Inspector, more))
	require.InDelta(t, 3, s.CuringLogs[0].LongestGapH, 1e-9, "a reading found later closes the gap")
	require.Equal(t, 2, s.Scope.Readings.Was)
	require.ErrorContains(t, s.do(authz.Inspector, repair.AddHandReadings{LogHead: repair.LogHead{Pour: 1}, Log: l.ID, Readings: []repair.HandReading{read(6, 30)}}), "already")
	require.ErrorContains(t, s.do(authz.Inspector, repair.AddHandReadings{LogHead: repair.LogHead{Pour: 1}, Log: l.ID, Readings: []repair.HandReading{read(-1, 30)}}), "covered")
	require.ErrorContains(t, s.do(authz.Inspector, repair.AddHandReadings{LogHead: head, Readings: []repair.HandReading{read(2, 200)}}), "temperature")
}
