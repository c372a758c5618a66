package db_test

import (
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/repair"
)

// littleHolds asks Little's law of the demonstration. The number in work, counted day
// by day from the sums that edits keep, must be the rate at which ends are begun times
// the mean time in work, which is read here from the entries of each end by itself. The
// days on the program's calendar round each end's time to whole days, so the two sides
// may differ by one day for each end over the days of the job.
func littleHolds(t *testing.T, st *db.Store, p repair.Program) {
	t.Helper()
	ctx := t.Context()
	frame, err := st.Frame(ctx, p.ID)
	require.NoError(t, err)
	marks, err := st.Marks(ctx, p.ID)
	require.NoError(t, err)
	today := p.Day(st.Today(p))
	board := repair.ReadBoard(marks, frame.Steps, frame.Supports, today)
	got := board.InWork

	// What forecasts stand on is counted twice: by the sums that edits keep, and from the
	// records of each end and window.
	yields, outside, err := st.WindowYields(ctx, p.ID)
	require.NoError(t, err)
	inside, off := board.Yields(frame.Windows)
	steps := 0
	for _, y := range yields {
		require.Equal(t, y.Steps, inside[y.ID], "%s from %s", y.Kind, y.StartsAt)
		steps += y.Steps
	}
	require.Greater(t, steps, 100)
	require.Equal(t, outside, off)
	left, of, err := st.Remaining(ctx, p.ID)
	require.NoError(t, err)
	require.Equal(t, left, board.ToGo)
	require.Equal(t, of, board.ToGoEnds)

	rows, err := st.Pool.Query(ctx, `select s.closed, min(f.at), max(f.at) from end_state s
		join (select end_id, step_id, max(captured_at) as at from step_record where kind in ('completed', 'released') group by 1, 2) f on f.end_id = s.end_id
		where s.program_id = $1::uuid group by s.end_id, s.closed`, p.ID)
	require.NoError(t, err)
	var closed bool
	var first, last, start time.Time
	var stay, took float64 // days in work of all, and of the closed
	ends, done := 0, 0
	y, m, d := today.Date()
	midnight := time.Date(y, m, d, 0, 0, 0, 0, p.Zone())
	_, err = pgx.ForEachRow(rows, []any{&closed, &first, &last}, func() error {
		ends++
		if start.IsZero() || first.Before(start) {
			start = first
		}
		if closed {
			done++
			took += last.Sub(first).Hours() / 24
		} else {
			last = midnight
		}
		stay += last.Sub(first).Hours() / 24
		return nil
	})
	require.NoError(t, err)
	require.Greater(t, done, 20, "a job of which little is done shows little")
	require.Greater(t, ends-done, 20)

	days := today.Sub(p.Day(start)).Hours() / 24
	rate, mean := float64(ends)/days, stay/float64(ends)
	t.Logf("in work on average %.2f, counted day by day; %d begun in %.0f days × %.2f days each = %.2f; of the closed %.4f a day × %.2f days = %.2f, apart %.2f, of which %d in work are %.2f",
		got.Average, ends, days, mean, rate*mean, got.Rate, got.Took, got.ByLaw, got.Apart(), got.InWork, got.Apart()-got.Unsaid())
	require.InDelta(t, days, got.Days, 0)
	require.InDelta(t, rate*mean, got.Average, float64(ends)/days, "L = λ·W, to a day an end")
	require.EqualValues(t, ends-done, got.InWork)
	require.InDelta(t, float64(done)/days, got.Rate, 1e-9)
	require.InDelta(t, took/float64(done), got.Took, 0.5)
	require.True(t, got.Holds())
	require.Greater(t, got.Apart(), 1.0, "with ends in work the closed ones alone must say too little, or the page explains nothing")
}
