package db

import (
	"context"
	"encoding/binary"
	"fmt"
	"iter"
	"math"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// readingSource hands readings to a copy into the database as it asks for them, and
// digests them on their way.
type readingSource struct {
	row  [3]any // log, instant, temperature
	next func() (uhpc.Temperature, error, bool)
	at   uhpc.Temperature
	err  error
	sum  *repair.ReadingsHash
}

// Next implements pgx.CopyFromSource.
func (s *readingSource) Next() bool {
	t, err, ok := s.next()
	if !ok || err != nil {
		s.err = err
		return false
	}
	s.at = t
	s.sum.Add(t)
	return true
}

// Values implements pgx.CopyFromSource.
func (s *readingSource) Values() ([]any, error) {
	s.row[1], s.row[2] = s.at.At, float64(s.at.Value)
	return s.row[:], nil
}

// Err implements pgx.CopyFromSource.
func (s *readingSource) Err() error { return s.err }

// storeReadings copies the readings that a change brought, one after another, and
// refuses those that are not what its log was summed up from. Their log's row is
// written already.
func storeReadings(ctx context.Context, tx pgx.Tx, r *repair.Readings) error {
	if r == nil {
		return nil
	}
	next, stop := iter.Pull2(r.Open())
	defer stop()
	// The identifier is read once: as a text it would be parted anew for each row.
	id, err := uuid.Parse(r.LogID)
	if err != nil {
		return fmt.Errorf("readings: %w", err)
	}
	src := &readingSource{row: [3]any{pgtype.UUID{Bytes: id, Valid: true}}, next: next, sum: repair.NewReadingsHash()}
	if _, err := tx.CopyFrom(ctx, pgx.Identifier{"curing_reading"}, []string{"log_id", "at", "temp_c"}, src); err != nil {
		if src.err != nil {
			return src.err
		}
		return writeFault(err)
	}
	digest := src.sum.Sum()
	if r.Was > 0 {
		h := repair.NewReadingsHash()
		if err := streamReadings(ctx, tx, r.LogID, func(t uhpc.Temperature) error { h.Add(t); return nil }); err != nil {
			return err
		}
		digest = h.Sum()
	}
	if digest != r.Digest {
		return fault.New(fault.Malformed, "the readings are not those that were summed up; nothing was stored")
	}
	return nil
}

// streamReadings calls f for the readings of a log, in order of time.
func streamReadings(ctx context.Context, q querier, logID string, f func(uhpc.Temperature) error) error {
	rows, err := q.Query(ctx, "select at, temp_c from curing_reading where log_id = $1 order by at", pgx.QueryResultFormats{pgx.BinaryFormatCode, pgx.BinaryFormatCode}, logID)
	if err != nil {
		return fmt.Errorf("readings: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		// A million rows: the binary values are read in place.
		v := rows.RawValues()
		if len(v) != 2 || len(v[0]) != 8 || len(v[1]) != 8 || rows.FieldDescriptions()[0].Format != pgx.BinaryFormatCode {
			return fmt.Errorf("readings: the database answers in another form than was asked for")
		}
		micros := int64(binary.BigEndian.Uint64(v[0])) + epoch2000
		temp := math.Float64frombits(binary.BigEndian.Uint64(v[1]))
		if err := f(uhpc.Temperature{At: time.UnixMicro(micros).UTC(), Value: units.Temperature(temp)}); err != nil {
			return err
		}
	}
	return rows.Err()
}

// epoch2000 is 2000-01-01 UTC, from which PostgreSQL counts, in microseconds since
// 1970.
const epoch2000 = 946684800000000

// StreamReadings calls f for the readings of a curing log, in order of time, without
// holding them all.
func (st *Store) StreamReadings(ctx context.Context, logID string, f func(uhpc.Temperature) error) error {
	return streamReadings(ctx, st.Pool, logID, f)
}

// readings compares the readings of every curing log with the digest in its row.
func (v *Verified) readings(ctx context.Context, tx pgx.Tx) error {
	type held struct {
		ID, Sensor, Digest string
		Rows               int
	}
	rows, err := tx.Query(ctx, "select id::text, sensor, readings_digest, rows from curing_log order by id")
	if err != nil {
		return fmt.Errorf("verify readings: %w", err)
	}
	logs, err := pgx.CollectRows(rows, pgx.RowToStructByPos[held])
	if err != nil {
		return fmt.Errorf("verify readings: %w", err)
	}
	for _, l := range logs {
		h := repair.NewReadingsHash()
		if err := streamReadings(ctx, tx, l.ID, func(t uhpc.Temperature) error { h.Add(t); return nil }); err != nil {
			return err
		}
		if h.Sum() != l.Digest || h.Count() != l.Rows {
			v.say("curing log "+l.Sensor+" "+l.ID, "its %d readings are not the %d that its digest names", h.Count(), l.Rows)
		}
	}
	return nil
}
