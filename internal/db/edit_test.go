package db_test

import (
	"context"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/db/dbtest"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// bundle is a store with a small program: one span, two girders, four ends.
type bundle struct {
	*db.Store
	ctx     context.Context
	program string
	people  map[authz.Role]repair.Actor
}

func newID() string { return uuid.Must(uuid.NewV7()).String() }

func setup(t testing.TB) *bundle {
	t.Helper()
	return fill(t, db.NewStore(dbtest.New(t)))
}

// fill makes the small program in an empty database.
func fill(t testing.TB, store *db.Store) *bundle {
	t.Helper()
	b := &bundle{Store: store, ctx: context.WithoutCancel(t.Context()), program: newID(), people: map[authz.Role]repair.Actor{}}
	for _, role := range authz.Roles() {
		u, err := db.People{Pool: b.Pool}.Create(b.ctx, db.NewUser{Email: string(role) + "@example.org", Name: "Test " + string(role), PasswordHash: "x"})
		require.NoError(t, err)
		b.people[role] = repair.Actor{ID: u.ID.String(), Name: u.Name, Role: role}
	}
	_, err := b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Administrator],
		Change: repair.CreateProgram{Program: repair.Program{ID: b.program, Code: "small", Name: "Small bridge", Units: "us"}}})
	require.NoError(t, err)
	_, err = b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Administrator], Change: repair.ImportBridge{Bridge: smallBridge()}})
	require.NoError(t, err)
	return b
}

func smallBridge() repair.BridgeIn {
	in := repair.BridgeIn{
		Supports: []repair.SupportIn{{Code: "A1", Name: "Abutment 1"}, {Code: "A2", Name: "Abutment 2", Station: 60 * units.Foot}},
		Spans:    []repair.SpanIn{{Number: 1, Length: 60 * units.Foot, Girders: 2, Spacing: 8 * units.Foot, From: "A1", To: "A2"}},
		Sections: []repair.Section{{Name: "W33X130", Kind: "rolled", Depth: 33.1 * units.Inch, FlangeWidth: 11.5 * units.Inch, TopFlangeWidth: 11.5 * units.Inch,
			FlangeThickness: 0.855 * units.Inch, TopFlangeThickness: 0.855 * units.Inch, WebThickness: 0.58 * units.Inch, FilletK: 1.56 * units.Inch, Source: "AISC shapes database v15.0"}},
	}
	for _, side := range []string{"N", "F"} {
		for g := 1; g <= 2; g++ {
			sup, face := "A1", "ahead"
			if side == "F" {
				sup, face = "A2", "back"
			}
			in.Ends = append(in.Ends, repair.EndIn{Span: 1, Side: side, Girder: g, Support: sup, Face: face, Section: "W33X130", Facts: repair.EndFacts{
				BearingKind: "bolster", BearingLength: 8 * units.Inch, BearingWidth: 11 * units.Inch, Fy: 33 * units.Ksi, Fu: 66 * units.Ksi,
				HeldAgainstRoll: true, Reaction: 110 * units.Kip, Access: "open"}})
		}
	}
	return in
}

func someSurvey(loss float64) repair.RecordSurvey {
	ch := repair.RecordSurvey{Facts: repair.SurveyFacts{Kind: "as_found", Method: "ultrasonic"}}
	for i := range 5 {
		for j := range 4 {
			t := 0.58 * (1 - loss/float64(1+j))
			ch.Readings = append(ch.Readings, repair.ReadingIn{Face: "T", X: units.Length(3*i) * units.Inch, Z: units.Length(1+3*j) * units.Inch, T: units.Length(t) * units.Inch})
		}
	}
	return ch
}

func (b *bundle) end(t testing.TB, name string) *repair.Record {
	t.Helper()
	s, err := b.End(b.ctx, b.program, name)
	require.NoError(t, err)
	return s.Ends[0]
}

func (b *bundle) do(role authz.Role, r *repair.Record, ch repair.Change) (db.Receipt, error) {
	return b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[role], Ends: []db.EndRef{{ID: r.End.ID, Version: r.End.Version}}, Change: ch})
}

func TestEditStoresRecomputesAndJournals(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.end(t, "1N-1")
	require.Nil(t, r.State[0].Capacity)
	rec, err := b.do(authz.Inspector, r, someSurvey(0.5))
	require.NoError(t, err)
	require.Equal(t, r.End.Version+1, rec.Versions[r.End.ID])

	now := b.end(t, "1N-1")
	require.Len(t, now.Readings, 20)
	require.NotNil(t, now.State[0].Capacity)
	require.InDelta(t, 0.5, *now.State[0].LossMax, 1e-9)

	lines, err := b.History(b.ctx, b.program, r.End.ID, 0, 10)
	require.NoError(t, err)
	require.Equal(t, "survey.record", lines[0].Kind)

	v, err := b.Verify(b.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
	require.Equal(t, 4, v.Ends)
}

func TestRepeatedEntryGetsTheFirstAnswer(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.end(t, "1N-1")
	e := db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Inspector], Ends: []db.EndRef{{ID: r.End.ID, Version: r.End.Version}}, Change: someSurvey(0.4)}
	first, err := b.Edit(b.ctx, e)
	require.NoError(t, err)
	again, err := b.Edit(b.ctx, e)
	require.NoError(t, err)
	require.True(t, again.Repeated)
	require.Equal(t, first.Seq, again.Seq)
	require.Len(t, b.end(t, "1N-1").Surveys, 1)

	other := e
	other.Change = someSurvey(0.6)
	_, err = b.Edit(b.ctx, other)
	require.ErrorIs(t, err, fault.Duplicate)
	stolen := e
	stolen.Actor = b.people[authz.Designer]
	_, err = b.Edit(b.ctx, stolen)
	require.ErrorIs(t, err, fault.Duplicate)
}

func TestTheSameEntryAtOnceIsCountedOnce(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.end(t, "1N-1")
	e := db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Inspector], Ends: []db.EndRef{{ID: r.End.ID}}, Change: someSurvey(0.4)}
	errs := make(chan error, 8)
	for range 8 {
		go func() { _, err := b.Edit(b.ctx, e); errs <- err }()
	}
	for range 8 {
		require.NoError(t, <-errs)
	}
	require.Len(t, b.end(t, "1N-1").Surveys, 1)
}

func TestStaleEditIsRefusedAndNamed(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.end(t, "1N-1")
	_, err := b.do(authz.Inspector, r, someSurvey(0.4))
	require.NoError(t, err)
	_, err = b.do(authz.Designer, r, someSurvey(0.5))
	var stale *db.Stale
	require.ErrorAs(t, err, &stale)
	require.ErrorIs(t, err, fault.Conflict)
	require.Equal(t, "1N-1", stale.Name)
	require.Equal(t, "Test inspector", stale.By)
	require.Len(t, b.end(t, "1N-1").Surveys, 1)
}

func TestVerifyNamesATamperedRow(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ sql, where string }{
		"reading": {"update reading set t_mm = t_mm + 1 where id = (select min(id::text)::uuid from reading)", "reading"},
		"result":  {"update result set capacity_n = capacity_n + 1000 where subject = 'corroded'", "end 1N-1"},
		"state":   {"update end_state set step_name = 'Closed' where name = '1N-1'", "end 1N-1"},
		"note":    {"update survey set note = 'quietly changed'", "survey"},
		"removed": {"delete from reading where id = (select min(id::text)::uuid from reading)", "record"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := setup(t)
			_, err := b.do(authz.Inspector, b.end(t, "1N-1"), someSurvey(0.4))
			require.NoError(t, err)
			_, err = b.Pool.Exec(b.ctx, c.sql)
			require.NoError(t, err)
			v, err := b.Verify(b.ctx)
			require.NoError(t, err)
			require.NotEmpty(t, v.Differences)
			require.Contains(t, v.Differences[0].Where, c.where)
		})
	}
}

func TestVerifyNamesATamperedJournalEntry(t *testing.T) {
	t.Parallel()
	b := setup(t)
	_, err := b.do(authz.Inspector, b.end(t, "1N-1"), someSurvey(0.4))
	require.NoError(t, err)
	_, err = b.Pool.Exec(b.ctx, "update journal set actor = 'Nobody' where seq = 2")
	require.ErrorContains(t, err, "append-only")
	_, err = b.Pool.Exec(b.ctx, "alter table journal disable trigger journal_no_change")
	require.NoError(t, err)
	_, err = b.Pool.Exec(b.ctx, "update journal set actor = 'Nobody' where seq = 2")
	require.NoError(t, err)
	v, err := b.Verify(b.ctx)
	require.NoError(t, err)
	require.Len(t, v.Differences, 1)
	require.Equal(t, "journal entry 2", v.Differences[0].Where)
}

func TestRefusedChangeWritesNothing(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.end(t, "1N-1")
	_, err := b.do(authz.Inspector, r, repair.RecordSurvey{Facts: repair.SurveyFacts{Kind: "guessed"}})
	require.ErrorIs(t, err, fault.Fields)
	_, err = b.do(authz.Contractor, r, repair.StepAct{StepID: newID(), Act: "completed"})
	require.Error(t, err)
	now := b.end(t, "1N-1")
	require.Equal(t, r, now)
	_, err = b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Inspector], Ends: []db.EndRef{{ID: newID()}}, Change: someSurvey(0.1)})
	require.ErrorIs(t, err, fault.NotFound)
}
