package db_test

import (
	"encoding/base64"
	"encoding/json"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/demo"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// asJSON is any value as its JSON, without what is empty: a list of none and no list are
// the same in a table. The counters of edits are in no JSON of the record.
func asJSON(t *testing.T, v any) any {
	t.Helper()
	b, err := json.Marshal(v)
	require.NoError(t, err)
	var out any
	require.NoError(t, json.Unmarshal(b, &out))
	return withoutEmpty(out)
}

func withoutEmpty(v any) any {
	switch x := v.(type) {
	case map[string]any:
		for k, y := range x {
			if b, err := base64.StdEncoding.DecodeString(fmt.Sprint(y)); k == "checks" && err == nil {
				_ = json.Unmarshal(b, &y) // stored checks are JSON, which a table keeps in an order of its own
			}
			if y = withoutEmpty(y); y == nil {
				delete(x, k)
			} else {
				x[k] = y
			}
		}
	case []any:
		if len(x) == 0 {
			return nil
		}
		for i := range x {
			x[i] = withoutEmpty(x[i])
		}
	}
	return v
}

// sameRecord asks that two records are the same, rows and what follows from them.
func sameRecord(t *testing.T, want, got *repair.Scope, msg ...any) {
	t.Helper()
	require.Equal(t, asJSON(t, want.Ends[0]), asJSON(t, got.Ends[0]), msg...)
	require.Equal(t, asJSON(t, rowsOf(want)), asJSON(t, rowsOf(got)), msg...)
}

// rowsOf is the part of a scope that was read from tables.
func rowsOf(s *repair.Scope) []any {
	return []any{s.Program, s.Settings, s.Steps, s.Supports, s.Spans, s.Sections, s.Windows, s.Pours, s.PourEnds, s.Batches, s.BatchEnds, s.Specimens, s.SetReviews, s.CuringLogs,
		s.SpanDemands, s.LoadParts, s.Trucks, s.Procedures, s.Assumptions, s.Mockups, s.MockupDecisions, s.SpecimenPlan, s.LoggerMaps}
}

// pastWatch reads whole ends from the tables at moments of the story of the demonstration
// while it is told, and asks the journal for the same moments afterwards.
type pastWatch struct {
	t       *testing.T
	st      *db.Store
	names   []string
	steps   int
	moments []pastMoment
}

type pastMoment struct {
	seq int64
	end string
	was *repair.Scope
}

func watchThePast(t *testing.T, st *db.Store) *pastWatch { return &pastWatch{t: t, st: st} }

func (w *pastWatch) look(tx pgx.Tx, _ demo.Step) error {
	w.steps++
	if w.steps%150 != 0 {
		return nil
	}
	ctx := w.t.Context()
	if len(w.names) == 0 { // some ends from all over the bridge
		rows, err := tx.Query(ctx, "select name from girder_end where hashtext(name) % 9 = 0 order by name")
		if err != nil {
			return err
		}
		if w.names, err = pgx.CollectRows(rows, pgx.RowTo[string]); err != nil {
			return err
		}
	}
	name := w.names[len(w.moments)%len(w.names)]
	var seq int64
	var id string
	if err := tx.QueryRow(ctx, "select (select max(seq) from journal), id::text from girder_end where name = $1", name).Scan(&seq, &id); err != nil {
		return err
	}
	was, err := db.ScopeIn(ctx, tx, demo.ProgramID(), id)
	w.moments = append(w.moments, pastMoment{seq, name, was})
	return err
}

func (w *pastWatch) compare() {
	ctx, t := w.t.Context(), w.t
	require.Greater(t, len(w.moments), 5)
	states, poured := map[string]bool{}, 0
	for _, m := range w.moments {
		p, err := w.st.EndAt(ctx, demo.ProgramID(), m.end, m.seq)
		require.NoError(t, err)
		require.Equal(t, m.seq, p.Seq)
		sameRecord(t, m.was, p.Scope, "%s after entry %d", m.end, m.seq)
		states[m.was.Ends[0].State[0].StepName] = true
		poured += len(m.was.PourEnds)
	}
	require.Greater(t, len(states), 2, "the moments differ")
	require.NotZero(t, poured, "castings are among them")
	for _, name := range w.names {
		now, err := w.st.End(ctx, demo.ProgramID(), name)
		require.NoError(t, err)
		p, err := w.st.EndAt(ctx, demo.ProgramID(), name, math.MaxInt64)
		require.NoError(t, err)
		require.Zero(t, p.Later)
		sameRecord(t, now, p.Scope, "%s now", name)
	}
}

func TestThePastIsFoundByTimeAndEndsWhereTheRecordBegins(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.end(t, "1N-1")
	first, err := b.do(authz.Inspector, r, someSurvey(0.5))
	require.NoError(t, err)
	withSurvey, err := b.End(b.ctx, b.program, "1N-1")
	require.NoError(t, err)
	facts := repair.FactsOf(withSurvey.Ends[0].End)
	facts.Reaction = 140 * units.Kip
	_, err = b.do(authz.Designer, withSurvey.Ends[0], repair.EditEnd{Facts: facts, Reason: "new rating"})
	require.NoError(t, err)

	before, err := b.EndAt(b.ctx, b.program, "1N-1", first.Seq-1)
	require.NoError(t, err)
	require.Empty(t, before.Scope.Ends[0].Surveys)
	require.Equal(t, 2, before.Later)
	then, err := b.EndAt(b.ctx, b.program, "1n-1", first.Seq)
	require.NoError(t, err)
	sameRecord(t, withSurvey, then.Scope)
	require.Equal(t, 110*units.Kip, then.Scope.Ends[0].End.Reaction)
	byTime, err := b.EndAtTime(b.ctx, b.program, "1N-1", then.At)
	require.NoError(t, err)
	require.Equal(t, first.Seq, byTime.Seq)
	sameRecord(t, withSurvey, byTime.Scope)

	_, err = b.EndAt(b.ctx, b.program, "1N-1", 1) // the program was opened, the bridge not yet told
	require.ErrorIs(t, err, fault.NotFound)
	_, err = b.EndAtTime(b.ctx, b.program, "1N-1", time.Date(1990, 1, 1, 0, 0, 0, 0, time.UTC))
	require.ErrorIs(t, err, fault.NotFound)
	_, err = b.EndAt(b.ctx, b.program, "9N-9", first.Seq)
	require.ErrorIs(t, err, fault.NotFound)
	_, err = b.EndAt(b.ctx, newID(), "1N-1", first.Seq)
	require.ErrorIs(t, err, fault.NotFound)
}
