package db_test

import (
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/monitor/truth"
	"endcast/internal/domain/repair"
)

// BenchmarkStores stores 30 minutes of six channels at 100 samples a second and reads of
// them one minute of one channel, and a picture of the whole, in two designs: packed
// blocks, as they are used, and a row a sample time with a column a channel under an index
// of recording and time, the leanest table that PostgreSQL gives. Both on one durable
// server; bytes are those of table and indexes.
func BenchmarkStores(b *testing.B) {
	s := durable(b)
	rec := truth.Make(truth.Case{Seed: 22, Share: 0.55, Weight: 1})
	const channels = len(truth.Columns)
	from, period := int64(1_700_000_000e9), int64(1e9/truth.Rate)
	size := func(b *testing.B, tables ...string) (sum int64) {
		for _, t := range tables {
			var n int64
			require.NoError(b, s.Pool.QueryRow(s.ctx, "select pg_total_relation_size($1::regclass)", t).Scan(&n))
			sum += n
		}
		return sum
	}
	samples := float64(len(rec.Rows) * channels)
	minute := func(i int) (int64, int64) {
		at := from + int64(i%28)*int64(time.Minute)
		return at, at + int64(time.Minute)
	}

	var x repair.Recording
	b.Run("packed blocks/write", func(b *testing.B) {
		before := size(b, "sample_block", "sample_overview")
		n := 0
		for b.Loop() {
			n++
			x = repair.Recording{ID: uuid.NewString(), Rate: truth.Rate, Rows: int64(len(rec.Rows))}
			require.NoError(b, db.WriteSamples(s.ctx, s.Pool, x.ID, channels, func(add func(int64, []float64) error) error {
				for i := range rec.Rows {
					if err := add(from+int64(i)*period, rec.Rows[i][:]); err != nil {
						return err
					}
				}
				return nil
			}))
		}
		b.ReportMetric(samples*float64(n)/b.Elapsed().Seconds(), "samples/s")
		b.ReportMetric(float64(size(b, "sample_block", "sample_overview")-before)/samples/float64(n), "B/sample")
	})
	b.Run("packed blocks/a minute", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			a, z := minute(i)
			_, _, err := s.Trace(s.ctx, x, 0, a, z, 700)
			require.NoError(b, err)
		}
	})
	b.Run("packed blocks/the whole", func(b *testing.B) {
		for b.Loop() {
			cols, _, err := s.Trace(s.ctx, x, 0, from, from+int64(len(rec.Rows))*period, 700)
			require.NoError(b, err)
			require.NotEmpty(b, cols)
		}
	})

	_, err := s.Pool.Exec(s.ctx, "create table wide_sample (recording int not null, at bigint not null, c0 float8, c1 float8, c2 float8, c3 float8, c4 float8, c5 float8, primary key (recording, at))")
	require.NoError(b, err)
	k := 0
	b.Run("a row a time/write", func(b *testing.B) {
		before := size(b, "wide_sample")
		n := 0
		for b.Loop() {
			n++
			k++
			i := -1
			_, err := s.Pool.CopyFrom(s.ctx, pgx.Identifier{"wide_sample"}, []string{"recording", "at", "c0", "c1", "c2", "c3", "c4", "c5"}, pgx.CopyFromFunc(func() ([]any, error) {
				if i++; i == len(rec.Rows) {
					return nil, nil
				}
				r := &rec.Rows[i]
				return []any{k, from + int64(i)*period, r[0], r[1], r[2], r[3], r[4], r[5]}, nil
			}))
			require.NoError(b, err)
		}
		b.ReportMetric(samples*float64(n)/b.Elapsed().Seconds(), "samples/s")
		b.ReportMetric(float64(size(b, "wide_sample")-before)/samples/float64(n), "B/sample")
	})
	b.Run("a row a time/a minute", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			a, z := minute(i)
			rows, err := s.Pool.Query(s.ctx, "select at, c0 from wide_sample where recording = $1 and at between $2 and $3 order by at", k, a, z)
			require.NoError(b, err)
			var at int64
			var v float64
			_, err = pgx.ForEachRow(rows, []any{&at, &v}, func() error { return nil })
			require.NoError(b, err)
		}
	})
	b.Run("a row a time/the whole", func(b *testing.B) {
		for b.Loop() {
			rows, err := s.Pool.Query(s.ctx, "select (at - $2) / $3, min(c0), max(c0), count(*) from wide_sample where recording = $1 group by 1 order by 1", k, from, int64(len(rec.Rows))*period/700)
			require.NoError(b, err)
			var bin monitor.Bin
			var at, n int64
			_, err = pgx.ForEachRow(rows, []any{&at, &bin.Min, &bin.Max, &n}, func() error { return nil })
			require.NoError(b, err)
		}
	})
}
