package db

import (
	"bytes"
	"context"
	"encoding/gob"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/logfile"
	"endcast/internal/domain/monitor"
)

// How a reading that was interrupted goes on.
//
// Whenever a few hundred blocks are stored, a mark is stored with them in the same
// transaction: where the reader stands, what the screening has seen, and the rows that
// are in no full block yet. What else follows from the rows, their digest, the overview
// and the passages, is made again from the stored blocks, which is much quicker than
// reading text; the text before the mark is passed over. The outcome is that of a
// reading without a break, byte for byte. Sensors or settings that moved in between
// begin it anew.

// strainMark is what the state column holds.
type strainMark struct {
	Reader, Screen []byte
	Times          []byte // of the rows at hand, packed
	Cols           [][]byte
}

// readBy names what the screening and the search go by.
func (in *strainImport) readBy() (string, error) {
	plan, err := in.rec.Planned(in.basis, in.ask.Change.Channels, "")
	if err != nil {
		return "", err
	}
	b, err := json.Marshal([]any{plan.Digest, in.basis.Changed(), in.ask.Map, in.ask.Allow, in.ask.Change.Rate})
	return string(b), err
}

// save stores the blocks that wait and the mark after the row just added.
func (in *strainImport) save(ctx context.Context, r *logfile.Reader, rows int64) error {
	by, err := in.readBy()
	if err != nil {
		return err
	}
	w := in.to
	m := strainMark{Times: monitor.PackTimes(w.times)}
	for _, c := range w.cols {
		m.Cols = append(m.Cols, monitor.PackValues(c))
	}
	if m.Reader, err = r.Mark(); err != nil {
		return err
	}
	if m.Screen, err = in.screen.Mark(); err != nil {
		return err
	}
	var state bytes.Buffer
	if err := gob.NewEncoder(&state).Encode(m); err != nil {
		return fmt.Errorf("mark: %w", err)
	}
	return pgx.BeginFunc(ctx, in.st.Pool, func(tx pgx.Tx) error {
		if err := w.save(ctx, tx); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `insert into strain_mark (job_id, row_count, blocks, basis, state, at) values ($1, $2, $3, $4, $5, $6)
			on conflict (job_id) do update set row_count = excluded.row_count, blocks = excluded.blocks, basis = excluded.basis, state = excluded.state, at = excluded.at`,
			in.job.ID, rows, w.block, by, state.Bytes(), in.st.Now().UTC())
		return err
	})
}

// resume goes on at the mark of the work. It returns nil where there is none that can
// be gone on from; what was stored is then to be let go, and the reading begins anew.
func (in *strainImport) resume(ctx context.Context, parts []logfile.Part, rules logfile.Rules) (*logfile.Reader, int64, error) {
	var rows int64
	var blocks int
	var by string
	var state []byte
	err := in.st.Pool.QueryRow(ctx, "select row_count, blocks, basis, state from strain_mark where job_id = $1", in.job.ID).Scan(&rows, &blocks, &by, &state)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, 0, nil
	}
	if err != nil {
		return nil, 0, fmt.Errorf("mark: %w", err)
	}
	now, err := in.readBy()
	if err != nil {
		return nil, 0, err
	}
	var m strainMark
	if by != now || gob.NewDecoder(bytes.NewReader(state)).Decode(&m) != nil || len(m.Cols) != len(in.to.cols) || in.screen.Resume(m.Screen) != nil {
		return nil, 0, nil
	}
	if _, err := in.st.Pool.Exec(ctx, "delete from sample_block where recording_id = $1 and block >= $2", in.job.RecordingID, blocks); err != nil {
		return nil, 0, fmt.Errorf("mark: %w", err)
	}
	values, seen := make([]float64, len(m.Cols)), int64(0)
	pass := func(times []int64, cols [][]float64) error {
		for i, t := range times {
			for c := range cols {
				values[c] = cols[c][i]
			}
			in.sum.Add(t, values)
			if err := in.search.Row(t, values); err != nil {
				return err
			}
		}
		seen += int64(len(times))
		return in.st.told(ctx, in.job, seen, in.job.Bytes)
	}
	have, err := streamBlocks(ctx, in.st.Pool, in.job.RecordingID, len(m.Cols), blocks, func(times []int64, cols [][]float64) error {
		for c := range cols {
			in.to.over[c].block(times, cols[c])
		}
		return pass(times, cols)
	})
	if err != nil {
		return nil, 0, err
	}
	in.to.block = blocks
	if in.to.times, err = monitor.UnpackTimes(in.to.times, m.Times); err != nil {
		return nil, 0, err
	}
	for c := range m.Cols {
		if in.to.cols[c], err = monitor.UnpackValues(in.to.cols[c], m.Cols[c]); err != nil {
			return nil, 0, err
		}
	}
	if err := pass(slices.Clone(in.to.times), in.to.cols); err != nil {
		return nil, 0, err
	}
	if have != blocks || seen != rows {
		return nil, 0, nil // some of it is gone
	}
	r, err := logfile.ResumeParts(parts, in.ask.Map, rules, m.Reader)
	return r, rows, err
}
