package tablet_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/tablet"
	"endcast/internal/domain/units"
)

const good = `{"format":1,"id":"0190a5c2-2f6e-7c3a-9d1b-6c0f5a1e2b3d","by":"0190a5c2-2f6e-7c3a-9d1b-6c0f5a1e2b3e","kind":"collar","end_id":"x","end":"1N-1",
	"against":{"design_id":"d","revision":1},"captured_at":"2026-04-30T21:15:00-04:00","units":"us","body":{"mark":"L-1-1","outcome":"gap","gap_clock":4,"gap_length":"3/8"}}`

func TestDecode(t *testing.T) {
	t.Parallel()
	e, err := tablet.Decode([]byte(good))
	require.NoError(t, err)
	require.Equal(t, time.Date(2026, 5, 1, 1, 15, 0, 0, time.UTC), e.Captured.UTC())
	ch, err := e.Change(0)
	require.NoError(t, err)
	require.Equal(t, "collar.record", ch.Kind())
	for _, x := range [][2]string{{`"format":1`, `"format":2`}, {`"units":"us"`, `"units":"ft"`}, {"2026-04-30T21:15:00-04:00", "2026-04-30 21:15"},
		{"0190a5c2-2f6e-7c3a-9d1b-6c0f5a1e2b3d", "1"}, {`"end":"1N-1"`, `"end":""`}, {`"units":"us"`, `"units":"us","more":1`}, {"L-1-1", `L\u0000`},
		{"2026-04-30T21:15:00-04:00", "9999-04-30T21:15:00-04:00"}} {
		bad := strings.Replace(good, x[0], x[1], 1)
		require.NotEqual(t, good, bad)
		_, err := tablet.Decode([]byte(bad))
		require.Error(t, err, x[1])
	}
	for _, x := range [][2]string{{`"gap_length":"3/8"`, `"gap_length":"x"`}, {`"mark"`, `"marc"`}, {`"kind":"collar"`, `"kind":"photo"`}, {`"kind":"collar"`, `"kind":"song"`}} {
		e, err := tablet.Decode([]byte(strings.Replace(good, x[0], x[1], 1)))
		require.NoError(t, err)
		_, err = e.Change(0)
		require.Error(t, err, x[1])
	}
}

func TestClock(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 4, 30, 22, 0, 0, 0, time.UTC)
	seen := now.Add(-3 * time.Hour)
	ms := func(d time.Duration) *float64 { v := float64(d / time.Millisecond); return &v }
	day := 24 * time.Hour
	for name, x := range map[string]struct {
		captured, sent time.Time
		off            *float64
		want           time.Time
		marked         bool
	}{
		"right":                          {seen, now, ms(0), seen, false},
		"some minutes off":               {seen.Add(4 * time.Minute), now.Add(4 * time.Minute), nil, seen.Add(4 * time.Minute), false},
		"a day ahead":                    {seen.Add(day), now.Add(day), nil, seen, true},
		"a day behind":                   {seen.Add(-day), now.Add(-day), ms(-day), seen, true},
		"a day ahead, set right since":   {seen.Add(day), now, ms(day), seen, true},
		"right, then set a day ahead":    {seen, now.Add(day), ms(0), seen, true},
		"after its arrival, all unknown": {now.Add(time.Hour), now, nil, now, true},
		"a minute after its arrival":     {now.Add(time.Minute), now.Add(time.Minute), nil, now, false},
	} {
		c := tablet.Read(x.captured, x.sent, now, now, x.off)
		require.Equal(t, x.want, c.At, name)
		require.Equal(t, x.marked, c.Marked, name)
		demo := tablet.Read(x.captured, x.sent, now, now.Add(-400*day), x.off)
		require.Equal(t, x.want.Add(-400*day), demo.At, name)
	}
}

// Whatever a clock says, nothing is seen after it arrived.
func TestNothingIsSeenAfterItArrived(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		now := time.Unix(1_800_000_000, 0).UTC()
		at := func(name string) time.Time {
			return now.Add(time.Duration(rapid.Int64Range(-1e6, 1e6).Draw(t, name)) * time.Second)
		}
		var off *float64
		if rapid.Bool().Draw(t, "known") {
			v := rapid.Float64Range(-1e9, 1e9).Draw(t, "off")
			off = &v
		}
		c := tablet.Read(at("captured"), at("sent"), now, now, off)
		require.False(t, c.At.After(now))
	})
}

func FuzzDecode(f *testing.F) {
	f.Add([]byte(good))
	f.Add([]byte(`{"format":1,"sent_at":"2026-01-01T00:00:00Z","entries":[` + good + `]}`))
	f.Add([]byte(strings.Replace(good, `"kind":"collar"`, `"kind":"pour"`, 1)))
	head := strings.Replace(good[:strings.Index(good, `"body":`)], `"kind":"collar"`, `"kind":"%KIND"`, 1)
	for kind, body := range map[string]string{"test_stud": studsBody, "form_check": formBody, "deck_core": coreBody,
		"pour": `{"started":"2026-04-30T20:00:00-04:00","ends":[{"id":"x","name":"1N-1"}],"batches":[{"mixed":"2026-04-30T20:10:00-04:00","flow_1":"9","flow_2":"9","water_kg":"19"}]}`} {
		f.Add([]byte(strings.Replace(head, "%KIND", kind, 1) + `"body":` + body + `}`))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		if b, err := tablet.DecodeBatch(raw); err == nil {
			require.LessOrEqual(t, len(b.Entries), tablet.MaxBatch)
			for _, e := range b.Entries {
				_ = tablet.Named(e)
			}
		}
		e, err := tablet.Decode(raw)
		if err != nil {
			return
		}
		require.NotEqual(t, uuid.Nil.String(), e.ID)
		require.False(t, e.Captured.IsZero())
		require.Contains(t, []units.System{units.US, units.SI}, e.Units)
		_ = e.Print()
		require.LessOrEqual(t, len(e.EndIDs()), 21)
		if _, err := e.PhotoOf(); err == nil {
			require.Equal(t, tablet.Photo, e.Kind)
		}
		ch, err := e.Change(time.Hour)
		if err != nil {
			return
		}
		_, err = json.Marshal(ch)
		require.NoError(t, err, "what was read can be written to the journal")
	})
}
