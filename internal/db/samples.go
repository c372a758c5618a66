package db

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/repair"
)

// How samples lie in the database.
//
// Six months of six channels at 100 Hz are 9e9 samples. A block holds blockRows samples
// of one channel, packed without loss (monitor.PackValues), and beside them the least
// and greatest of each thinSamples; one row of sample_overview a channel holds those of
// the whole recording. A minute is two or three blocks found by an index, a whole
// recording is drawn from its overview.
//
// Why blocks and not a row a sample: a row of PostgreSQL has a head of 23 bytes and an
// entry in an index, where a packed sample of a usual logger takes a byte or two. Why not
// files beside the database: they would need a backup of their own and a rule of what is
// half written. Beside a row a sample time with a column a channel, the leanest table, blocks
// took a ninth of the room, a sixth of the time to write, a third to read a minute, and a
// hundredth to draw the whole (BenchmarkStores; figures in README.md).
const (
	blockRows    = 8192
	thinSamples  = 64
	overviewBins = 1024
	timesChannel = -1
)

// sampleStore takes rows: the pool, or a transaction.
type sampleStore interface {
	querier
	CopyFrom(ctx context.Context, table pgx.Identifier, columns []string, rows pgx.CopyFromSource) (int64, error)
}

// sampleWriter packs rows into blocks and stores them some at a time.
type sampleWriter struct {
	to     sampleStore
	id     pgtype.UUID
	times  []int64
	cols   [][]float64
	apart  int64 // a pause that begins another block, ns
	hold   bool  // blocks wait until save is called
	atOnce int   // rows of blocks that are stored at once
	block  int
	wait   [][]any
	over   []overview
}

// overview keeps at most twice overviewBins columns of a channel; when they are full,
// two become one.
type overview struct {
	cols []TraceColumn
	size int // columns of thinSamples that make one
	part TraceColumn
	n    int
}

func (o *overview) add(c TraceColumn) {
	if o.n == 0 {
		o.part = c
	} else {
		o.part = o.part.with(c)
	}
	if o.n++; o.n < o.size {
		return
	}
	o.cols, o.n = append(o.cols, o.part), 0
	if len(o.cols) < 2*overviewBins {
		return
	}
	for i := range overviewBins {
		o.cols[i] = o.cols[2*i].with(o.cols[2*i+1])
	}
	o.cols, o.size = o.cols[:overviewBins], o.size*2
}

// block adds a block, and returns it thinned.
func (o *overview) block(times []int64, values []float64) []monitor.Bin {
	n := len(times)
	bins := make([]monitor.Bin, 0, (n+thinSamples-1)/thinSamples)
	for i := 0; i < n; i += thinSamples {
		b := monitor.Thin(values[i:min(i+thinSamples, n)], 1)[0]
		bins = append(bins, b)
		o.add(TraceColumn{From: times[i], To: times[min(i+thinSamples, n)-1], Bin: b})
	}
	return bins
}

func (c TraceColumn) with(o TraceColumn) TraceColumn {
	return TraceColumn{From: min(c.From, o.From), To: max(c.To, o.To), Bin: c.Bin.With(o.Bin)}
}

// packColumns writes columns down, and unpackColumns reads them.
func packColumns(cols []TraceColumn) []byte {
	out := binary.BigEndian.AppendUint32(nil, uint32(len(cols)))
	bins := make([]monitor.Bin, len(cols))
	for i, c := range cols {
		out = binary.BigEndian.AppendUint64(out, uint64(c.From))
		out = binary.BigEndian.AppendUint64(out, uint64(c.To))
		bins[i] = c.Bin
	}
	return append(out, monitor.PackBins(bins)...)
}

func unpackColumns(b []byte) []TraceColumn {
	if len(b) < 4 {
		return nil
	}
	n := int(binary.BigEndian.Uint32(b))
	if b = b[4:]; len(b) < 28*n {
		return nil
	}
	out := make([]TraceColumn, n)
	for i, bin := range monitor.UnpackBins(nil, b[16*n:28*n]) {
		out[i] = TraceColumn{From: int64(binary.BigEndian.Uint64(b[16*i:])), To: int64(binary.BigEndian.Uint64(b[16*i+8:])), Bin: bin}
	}
	return out
}

func newSampleWriter(to sampleStore, id string, channels int, rate float64) (*sampleWriter, error) {
	u, err := uuid.Parse(id)
	if err != nil {
		return nil, fmt.Errorf("samples: %w", err)
	}
	w := &sampleWriter{to: to, atOnce: blocksAtOnce, apart: max(leastPause, int64(4e9/rate)), id: pgtype.UUID{Bytes: u, Valid: true}, times: make([]int64, 0, blockRows), cols: make([][]float64, channels), over: make([]overview, channels)}
	for c := range w.cols {
		w.cols[c], w.over[c] = make([]float64, 0, blockRows), overview{size: 1}
	}
	return w, nil
}

// leastPause is the shortest pause that begins another block, so that a block is even
// in time, ns; of loggers that write less than twice a second it is four rows.
const leastPause = int64(2e9)

func (w *sampleWriter) add(ctx context.Context, t int64, values []float64) error {
	if n := len(w.times); n > 0 && t-w.times[n-1] > w.apart {
		if err := w.pack(ctx, false); err != nil {
			return err
		}
	}
	w.times = append(w.times, t)
	for c := range w.cols {
		w.cols[c] = append(w.cols[c], values[c])
	}
	if len(w.times) < blockRows {
		return nil
	}
	return w.pack(ctx, false)
}

var blockColumns = []string{"recording_id", "channel", "block", "from_ns", "to_ns", "samples", "thin", "data"}

// pack closes the block at hand; last stores what waits.
func (w *sampleWriter) pack(ctx context.Context, last bool) error {
	if n := len(w.times); n > 0 {
		from, to := w.times[0], w.times[n-1]
		w.wait = append(w.wait, []any{w.id, int16(timesChannel), w.block, from, to, n, []byte{}, monitor.PackTimes(w.times)})
		for c, v := range w.cols {
			w.wait = append(w.wait, []any{w.id, int16(c), w.block, from, to, n, monitor.PackBins(w.over[c].block(w.times, v)), monitor.PackValues(v)})
			w.cols[c] = v[:0]
		}
		w.times = w.times[:0]
		w.block++
	}
	if !last && (w.hold || !w.full()) || len(w.wait) == 0 {
		return nil
	}
	return w.save(ctx, w.to)
}

// blocksAtOnce is how many rows of blocks are stored at once.
const blocksAtOnce = 256

// full tells that as many blocks wait as are stored at once.
func (w *sampleWriter) full() bool { return len(w.wait) >= w.atOnce }

// save stores the blocks that wait.
func (w *sampleWriter) save(ctx context.Context, to sampleStore) error {
	if _, err := to.CopyFrom(ctx, pgx.Identifier{"sample_block"}, blockColumns, pgx.CopyFromRows(w.wait)); err != nil {
		return writeFault(err)
	}
	w.wait = w.wait[:0]
	return nil
}

// end stores the last block and the overviews of rows from one time to another.
func (w *sampleWriter) end(ctx context.Context, from, to int64) error {
	if err := w.pack(ctx, true); err != nil {
		return err
	}
	b := &pgx.Batch{}
	for c := range w.over {
		o := &w.over[c]
		if o.n > 0 {
			o.cols = append(o.cols, o.part)
		}
		b.Queue("insert into sample_overview (recording_id, channel, from_ns, to_ns, bins) values ($1, $2, $3, $4, $5)", w.id, c, from, to, packColumns(o.cols))
	}
	return w.to.SendBatch(ctx, b).Close()
}

// dropSamples lets go of what was stored of a recording that did not become one.
func (st *Store) dropSamples(ctx context.Context, id string) error {
	b := &pgx.Batch{}
	const unless = " and not exists (select from recording where id = $1)"
	b.Queue("delete from sample_block where recording_id = $1"+unless, id)
	b.Queue("delete from sample_overview where recording_id = $1"+unless, id)
	b.Queue("delete from recording_found where recording_id = $1"+unless, id)
	b.Queue("delete from strain_mark where job_id in (select id from strain_job where recording_id = $1)", id)
	if err := st.Pool.SendBatch(ctx, b).Close(); err != nil {
		return fmt.Errorf("drop samples: %w", err)
	}
	return nil
}

// requireSamples refuses recordings whose samples or file are not all there.
func requireSamples(ctx context.Context, tx pgx.Tx, list []repair.StoredSamples) error {
	for _, s := range list {
		var rows, size *int64
		var channels int
		err := tx.QueryRow(ctx, `select (select sum(samples) from sample_block where recording_id = $1 and channel = $3),
			(select count(*) from sample_overview where recording_id = $1), (select sum(length(bytes)) from raw_file where sha256 = $2)`, s.RecordingID, s.SHA256, timesChannel).Scan(&rows, &channels, &size)
		if err != nil {
			return fmt.Errorf("samples: %w", err)
		}
		if rows == nil || *rows != s.Rows || channels != s.Channels || size == nil || *size != s.Size {
			return fault.New(fault.Malformed, "the samples or the file of the recording are not all stored; nothing was put on record")
		}
	}
	return nil
}

// StreamSamples calls f for every row of a recording of so many channels, in order of
// time, as the file had them. values is used again.
func (st *Store) StreamSamples(ctx context.Context, id string, channels int, f func(t int64, values []float64) error) error {
	return streamSamples(ctx, st.Pool, id, channels, f)
}

func streamSamples(ctx context.Context, q querier, id string, channels int, f func(t int64, values []float64) error) error {
	values := make([]float64, channels)
	_, err := streamBlocks(ctx, q, id, channels, math.MaxInt32, func(times []int64, cols [][]float64) error {
		for i, t := range times {
			for c := range cols {
				values[c] = cols[c][i]
			}
			if err := f(t, values); err != nil {
				return err
			}
		}
		return nil
	})
	return err
}

// streamBlocks calls f for every block of a recording below so many, in their order, and
// returns how many there were. times and columns are used again.
func streamBlocks(ctx context.Context, q querier, id string, channels, below int, f func(times []int64, cols [][]float64) error) (int, error) {
	cols := make([][]float64, channels)
	var times []int64
	// Block by block: a connection that streams would be held for as long as f takes.
	for block := 0; block < below; block++ {
		rows, err := q.Query(ctx, "select channel, data from sample_block where recording_id = $1 and block = $2 and channel between -1 and $3 order by channel", id, block, channels-1)
		if err != nil {
			return block, fmt.Errorf("samples: %w", err)
		}
		n := 0
		for rows.Next() {
			var c int
			var data []byte
			if err := rows.Scan(&c, &data); err != nil {
				rows.Close()
				return block, fmt.Errorf("samples: %w", err)
			}
			if c == timesChannel {
				times, err = monitor.UnpackTimes(times[:0], data)
			} else {
				cols[c], err = monitor.UnpackValues(cols[c][:0], data)
			}
			if err != nil {
				rows.Close()
				return block, fmt.Errorf("samples of recording %s: %w", id, err)
			}
			n++
		}
		if err := rows.Err(); err != nil {
			return block, fmt.Errorf("samples: %w", err)
		}
		if n == 0 {
			return block, nil
		}
		if n != channels+1 {
			return block, fmt.Errorf("samples of recording %s: block %d has %d of %d channels", id, block, n-1, channels)
		}
		for c := range cols {
			if len(cols[c]) < len(times) {
				return block, fmt.Errorf("samples of recording %s: block %d is short", id, block)
			}
		}
		if err := f(times, cols); err != nil {
			return block, err
		}
	}
	return below, nil
}

// TraceColumn is one column of a picture: the extremes of a stretch of time.
type TraceColumn struct {
	From, To int64
	Bin      monitor.Bin
}

// exactTrace is how many samples of a stretch are drawn one by one.
const exactTrace = 4 * blockRows

// Trace returns a channel of a recording between two times, thinned to about so many
// columns of which each keeps its extremes, values as the file had them. exact tells
// that every column is one sample.
func (st *Store) Trace(ctx context.Context, x repair.Recording, channel int, from, to int64, columns int) (out []TraceColumn, exact bool, err error) {
	span := float64(to - from)
	width := span / float64(max(columns, 1))
	if span*x.Rate/1e9 <= exactTrace {
		out, err = st.traceExact(ctx, x.ID, channel, from, to)
		if len(out) <= 2*columns {
			return out, true, err
		}
		return gathered(out, from, to, columns), false, err
	}
	o, err := st.overviewOf(ctx, x.ID, channel)
	if err != nil {
		return nil, false, err
	}
	// An overview that is fine enough for the width of a column is all that is read.
	if len(within(o, from, to)) >= columns/2 || float64(x.Rows)*width/max(span, 1) > float64(x.Rows)/overviewBins {
		return gathered(within(o, from, to), from, to, columns), false, nil
	}
	rows, err := st.Pool.Query(ctx, "select from_ns, to_ns, samples, thin from sample_block where recording_id = $1 and channel = $2 and to_ns >= $3 and from_ns <= $4 order by block", x.ID, channel, from, to)
	if err != nil {
		return nil, false, fmt.Errorf("trace: %w", err)
	}
	defer rows.Close()
	var bins []monitor.Bin
	for rows.Next() {
		var a, b int64
		var n int
		var thin []byte
		if err := rows.Scan(&a, &b, &n, &thin); err != nil {
			return nil, false, fmt.Errorf("trace: %w", err)
		}
		bins = monitor.UnpackBins(bins[:0], thin)
		out = append(out, spread(bins, a, b)...)
	}
	return gathered(within(out, from, to), from, to, columns), false, rows.Err()
}

// spread lays bins evenly over a time.
func spread(bins []monitor.Bin, from, to int64) []TraceColumn {
	out := make([]TraceColumn, len(bins))
	step := float64(to-from) / float64(max(len(bins), 1))
	for i, b := range bins {
		out[i] = TraceColumn{From: from + int64(float64(i)*step), To: from + int64(float64(i+1)*step), Bin: b}
	}
	return out
}

func within(list []TraceColumn, from, to int64) []TraceColumn {
	var out []TraceColumn
	for _, c := range list {
		if c.To >= from && c.From <= to && c.Bin.N > 0 {
			out = append(out, c)
		}
	}
	return out
}

// gathered joins columns to at most so many.
func gathered(list []TraceColumn, from, to int64, columns int) []TraceColumn {
	if len(list) <= columns {
		return list
	}
	var out []TraceColumn
	last := int64(-1)
	for _, c := range list {
		k := int64(float64(columns) * float64(c.From-from) / float64(max(to-from, 1)))
		if k != last || len(out) == 0 {
			out, last = append(out, c), k
			continue
		}
		o := &out[len(out)-1]
		o.To, o.Bin = c.To, o.Bin.With(c.Bin)
	}
	return out
}

func (st *Store) overviewOf(ctx context.Context, id string, channel int) ([]TraceColumn, error) {
	var packed []byte
	err := st.Pool.QueryRow(ctx, "select bins from sample_overview where recording_id = $1 and channel = $2", id, channel).Scan(&packed)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, fault.New(fault.NotFound, "there is no such channel")
	}
	if err != nil {
		return nil, fmt.Errorf("trace: %w", err)
	}
	return unpackColumns(packed), nil
}

func (st *Store) traceExact(ctx context.Context, id string, channel int, from, to int64) ([]TraceColumn, error) {
	rows, err := st.Pool.Query(ctx, `select t.data, v.data from sample_block t join sample_block v on v.recording_id = t.recording_id and v.block = t.block and v.channel = $2
		where t.recording_id = $1 and t.channel = $5 and t.to_ns >= $3 and t.from_ns <= $4 order by t.block`, id, channel, from, to, timesChannel)
	if err != nil {
		return nil, fmt.Errorf("trace: %w", err)
	}
	defer rows.Close()
	var out []TraceColumn
	var times []int64
	var values []float64
	for rows.Next() {
		var a, b []byte
		if err := rows.Scan(&a, &b); err != nil {
			return nil, fmt.Errorf("trace: %w", err)
		}
		if times, err = monitor.UnpackTimes(times[:0], a); err != nil {
			return nil, err
		}
		if values, err = monitor.UnpackValues(values[:0], b); err != nil {
			return nil, err
		}
		for i, t := range times {
			if v := values[i]; t >= from && t <= to && v == v {
				out = append(out, TraceColumn{From: t, To: t, Bin: monitor.Bin{Min: v, Max: v, N: 1}})
			}
		}
	}
	return out, rows.Err()
}

// samples compares the samples of every recording with the digest in its row.
func (v *Verified) samples(ctx context.Context, tx pgx.Tx) error {
	var list []repair.Recording
	b := &pgx.Batch{}
	recordings.queue(b, &list, "true")
	if err := tx.SendBatch(ctx, b).Close(); err != nil {
		return fmt.Errorf("verify recordings: %w", err)
	}
	for _, x := range list {
		h, n := monitor.NewSamplesHash(), int64(0)
		err := streamSamples(ctx, tx, x.ID, len(x.Channels), func(t int64, values []float64) error { h.Add(t, values); n++; return nil })
		switch {
		case errors.Is(err, monitor.ErrPacked):
			v.say("recording "+x.FileName+" "+x.ID, "%s", err.Error())
		case err != nil:
			return err
		case h.Sum() != x.SamplesDigest || n != x.Rows:
			v.say("recording "+x.FileName+" "+x.ID, "its %d rows are not the %d that its digest names", n, x.Rows)
		}
	}
	return nil
}
