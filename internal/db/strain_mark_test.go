package db_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/monitor/truth"
	"endcast/internal/domain/repair"
)

// storedOf is everything that a reading left, without identifiers and times of day.
func (b *bundle) storedOf(t testing.TB, x repair.Recording) string {
	t.Helper()
	var sum string
	require.NoError(t, b.Pool.QueryRow(b.ctx, `select md5(string_agg(format('%s %s %s %s %s %s %s', channel, block, from_ns, to_ns, samples, md5(thin), md5(data)), '|' order by channel, block))
		|| (select md5(string_agg(format('%s %s %s %s', channel, from_ns, to_ns, md5(bins)), '|' order by channel)) from sample_overview where recording_id = $1)
		|| (select md5(data) from recording_found where recording_id = $1) from sample_block where recording_id = $1`, x.ID).Scan(&sum))
	for i := range x.Channels {
		x.Channels[i].Sensor = ""
	}
	rest, err := json.Marshal([]any{x.FromAt, x.ToAt, x.Rows, x.Lost, x.Channels, x.Found, x.FoundTotal, x.SamplesDigest, x.SHA256})
	require.NoError(t, err)
	return sum + string(rest)
}

// A server that ends in the middle of a large file goes on where the last blocks were
// stored, with the same outcome, byte for byte, as one that read it in one go. The
// record has a stuck gauge, a time that comes twice, missing numbers and a pause across
// the break, so that what was seen before it counts after it.
func TestReadingGoesOnAfterABreak(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.StoreBlocksAtOnce(14) // two blocks of six channels and their times
	start := time.Now().UTC().Add(-48 * time.Hour).Truncate(time.Minute)
	rec := truth.Make(truth.Case{Seed: 5, Share: 0.3, Weight: 1, Seconds: 700})
	var f bytes.Buffer
	f.WriteString("t_s,web_ue,panel_ue,stud_ue,slip_um,ctrl_ue,temp_C\n")
	for i, r := range rec.Rows {
		at, panel := float64(i)/100, fmt.Sprintf("%.3f", r[1])
		if i > 50_000 {
			at += 900
		}
		if i%9000 > 7500 {
			panel = "-40.125"
		}
		web := fmt.Sprintf("%.3f", r[0])
		if i%16_384 > 16_000 || i%16_384 < 300 {
			web = "NaN"
		}
		line := fmt.Sprintf("%.2f,%s,%s,%.3f,%.3f,%.3f,%.3f\n", at, web, panel, r[2], r[3], r[4], r[5])
		f.WriteString(line)
		if i%7000 == 6999 {
			f.WriteString(line)
		}
	}
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	_, err := z.Write(f.Bytes())
	require.NoError(t, err)
	require.NoError(t, z.Close())
	none := func(a *db.StrainAsk) { a.Map.NoReading = []string{"NaN"} }
	for _, x := range []struct {
		name, whole, broken string
		file                []byte
	}{{"f.csv", "1N-1", "1N-2", f.Bytes()}, {"f.csv.gz", "1F-1", "1F-2", packed.Bytes()}} {
		b.instrument(t, x.whole, start.Add(-time.Hour))
		b.instrument(t, x.broken, start.Add(-time.Hour))
		b.send(t, x.whole, x.name, x.file, start, none)
		require.NoError(t, b.WorkStrain(b.ctx))
		require.Len(t, b.end(t, x.whole).Recordings, 1)

		id := b.send(t, x.broken, x.name, x.file, start, none)
		j, err := b.StrainJob(b.ctx, b.end(t, x.broken).End.ID, id)
		require.NoError(t, err)
		now := b.Now
		var before, first string
		for _, saves := range []int{2, 1} { // it breaks twice
			ctx, stop := context.WithCancel(b.ctx)
			n := 0
			b.Now = func() time.Time {
				var marked bool // the clock is asked as the work begins and with each mark
				if b.Pool.QueryRow(b.ctx, "select exists(select from strain_mark where job_id = $1)", id).Scan(&marked) == nil && marked {
					if n++; n > saves {
						stop()
					}
				}
				return now()
			}
			require.ErrorIs(t, b.WorkStrain(ctx), context.Canceled)
			stop()
			b.Now = now
			require.Empty(t, b.end(t, x.broken).Recordings, "nothing counts before it is read to its end")
			require.NoError(t, b.Pool.QueryRow(b.ctx, "select string_agg(xmin::text, ',' order by channel) from sample_block where recording_id = $1 and block = 0", j.RecordingID).Scan(&first))
			if before != "" {
				require.Equal(t, before, first, "the first block was not stored again")
			}
			before = first
		}
		require.NoError(t, b.WorkStrain(b.ctx))
		r := b.end(t, x.broken)
		require.Len(t, r.Recordings, 1)
		require.NoError(t, b.Pool.QueryRow(b.ctx, "select string_agg(xmin::text, ',' order by channel) from sample_block where recording_id = $1 and block = 0", j.RecordingID).Scan(&first))
		require.Equal(t, before, first)
		require.Equal(t, b.storedOf(t, b.end(t, x.whole).Recordings[0]), b.storedOf(t, r.Recordings[0]), x.name)
		var marks int
		require.NoError(t, b.Pool.QueryRow(b.ctx, "select count(*) from strain_mark").Scan(&marks))
		require.Zero(t, marks)
	}
	b.sound(t)
}

// Where what was stored is not whole any more, or settings moved, the reading begins
// anew; cancelled, it leaves nothing.
func TestBrokenReadingThatCannotGoOn(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.StoreBlocksAtOnce(14)
	start := time.Now().UTC().Add(-48 * time.Hour).Truncate(time.Minute)
	b.instrument(t, "1N-1", start.Add(-time.Hour))
	file := truth.Make(truth.Case{Seed: 6, Weight: 1, Seconds: 400}).CSV(nil)
	broken := func(name string) db.StrainJob {
		id := b.send(t, "1N-1", name, file, start, nil)
		ctx, stop := context.WithCancel(b.ctx)
		defer stop()
		now := b.Now
		defer func() { b.Now = now }()
		b.Now = func() time.Time {
			var marked bool
			if b.Pool.QueryRow(b.ctx, "select exists(select from strain_mark)").Scan(&marked) == nil && marked {
				stop()
			}
			return now()
		}
		require.ErrorIs(t, b.WorkStrain(ctx), context.Canceled)
		j, err := b.StrainJob(b.ctx, b.end(t, "1N-1").End.ID, id)
		require.NoError(t, err)
		require.Equal(t, db.JobRunning, j.State)
		require.NotZero(t, b.left(t))
		return j
	}
	j := broken("a.csv")
	require.NoError(t, b.CancelStrainJob(b.ctx, j.EndID, j.ID))
	require.NoError(t, b.WorkStrain(b.ctx))
	require.Empty(t, b.end(t, "1N-1").Recordings)
	require.Zero(t, b.left(t), "cancelled while no server worked")

	j = broken("b.csv")
	_, err := b.Pool.Exec(b.ctx, "delete from sample_block where recording_id = $1 and block = 1", j.RecordingID)
	require.NoError(t, err)
	require.NoError(t, b.WorkStrain(b.ctx))
	r := b.end(t, "1N-1")
	require.Len(t, r.Recordings, 1)
	require.EqualValues(t, 40_000, r.Recordings[0].Rows)
	b.sound(t)
}
