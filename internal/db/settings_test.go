package db_test

import (
	"fmt"
	"math"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
)

func TestPreviewTellsAndStoresNothing(t *testing.T) {
	t.Parallel()
	b := setup(t)
	actor := b.people[authz.Administrator]
	frame, err := b.Frame(b.ctx, b.program)
	require.NoError(t, err)
	steps := frame.Sequence()
	p, err := b.Preview(b.ctx, b.program, actor, repair.EditSequence{Steps: steps[1:]})
	require.NoError(t, err)
	require.True(t, p.Known)
	require.Equal(t, 4, p.Ends)
	require.Equal(t, []repair.Move{{From: "Access set", To: "Cleaned", Ends: []string{"1N-1", "1N-2", "1F-1", "1F-2"}}}, p.Moves)
	require.Equal(t, "ACC", b.end(t, "1N-1").State[0].StepCode)

	_, err = b.Preview(b.ctx, b.program, actor, repair.EditSequence{})
	require.ErrorIs(t, err, fault.Fields)
	_, err = b.Preview(b.ctx, newID(), actor, repair.EditSequence{Steps: steps})
	require.ErrorIs(t, err, fault.NotFound)
}

// Two administrators who edit the sequence of one page each: one is taken and the
// other told, also where there is no end yet whose row could be locked.
func TestSequenceEditedAtOnceIsTakenOnce(t *testing.T) {
	t.Parallel()
	b := setup(t)
	empty := newID()
	_, err := b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: empty, Actor: b.people[authz.Administrator],
		Change: repair.CreateProgram{Program: repair.Program{ID: empty, Code: "empty", Name: "No ends yet", Units: "si"}}})
	require.NoError(t, err)
	for _, program := range []string{b.program, empty} {
		frame, err := b.Frame(b.ctx, program)
		require.NoError(t, err)
		stored, from := frame.Sequence(), frame.SequenceDigest()
		const writers = 4
		errs := make([]error, writers)
		var all sync.WaitGroup
		for i := range writers {
			all.Go(func() {
				steps := append([]sequence.Step(nil), stored...)
				steps[i].Name += ", edited"
				_, errs[i] = b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: program, Actor: b.people[authz.Administrator], AllEnds: true,
					Change: repair.EditSequence{Steps: steps, From: from}})
			})
		}
		all.Wait()
		taken := 0
		for _, err := range errs {
			if err == nil {
				taken++
				continue
			}
			require.ErrorIs(t, err, fault.Conflict)
		}
		require.Equal(t, 1, taken)
	}
}

func TestSettingChangesAreReadFromTheJournal(t *testing.T) {
	t.Parallel()
	b := setup(t)
	for _, v := range []float64{0.9, 0.8} {
		_, err := b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Engineer], AllEnds: true,
			Change: repair.EditBasis{Key: string(basis.WebPhiYielding), Value: v, Typed: "x", Source: "letter"}})
		require.NoError(t, err)
	}
	list, err := b.SettingChanges(b.ctx, b.program, []string{"basis.edit"}, 10)
	require.NoError(t, err)
	require.Len(t, list, 2)
	require.InDelta(t, 0.9, list[0].Changes[0].Old["value"], 0)
	require.Equal(t, "engineer", list[0].Role)
	uses, err := b.StepUses(b.ctx, b.program)
	require.NoError(t, err)
	require.Len(t, uses, len(sequence.DefaultSequence()))
	access, err := b.AccessUses(b.ctx, b.program)
	require.NoError(t, err)
	require.Equal(t, []db.AccessUse{{Kind: "open", Ends: 4}}, access)
}

// A rule of acceptance judges the strengths on record as soon as it is chosen, and
// what it raises is on record with its choice.
func TestAnotherRuleOfAcceptanceJudgesWhatIsOnRecord(t *testing.T) {
	t.Parallel()
	b := setup(t)
	at := time.Now().Add(-60 * 24 * time.Hour).UTC().Truncate(time.Hour)
	for i, ksi := range []float64{22, 21.3} {
		start := at.Add(time.Duration(24*i) * time.Hour)
		placed, end := start.Add(10*time.Minute), start.Add(time.Hour)
		_, err := b.do(authz.Inspector, b.end(t, "1N-1"), repair.RecordPour{StartedAt: start, EndedAt: &end, Batches: []repair.BatchIn{{MixedAt: start, PlacedAt: &placed}},
			Specimens: []repair.SpecimenSet{{Batch: 1, Kind: "cyl_3x6", Curing: "standard", NominalDays: 28, Count: 3, Purpose: "acceptance"}}})
		require.NoError(t, err)
		for k := range 3 {
			w := 3 * units.Inch
			require.NoError(t, b.change(authz.Laboratory, repair.RecordBreak{Mark: fmt.Sprintf("P%03d-%02d", i+1, k+1), BrokenAt: placed.Add(28 * 24 * time.Hour), Width: &w, Depth: &w, EndsGround: true,
				Load: units.Force(ksi * 9 * math.Pi / 4 * float64(units.Kip))}))
		}
	}
	require.Empty(t, b.end(t, "1N-1").Nonconformances)
	_, err := b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Engineer], AllEnds: true,
		Change: repair.EditBasis{Key: string(basis.AcceptanceRule), Value: 2, Typed: "2", Source: "special provision 12.4"}})
	require.NoError(t, err)
	// 21.65 ksi is below 21.7 ksi and 1 MPa, which is 21.85 ksi.
	require.Len(t, b.end(t, "1N-1").Nonconformances, 1)
	require.Contains(t, b.end(t, "1N-1").Nonconformances[0].Found, "mean of 2 tests 21.65")
	list, err := b.Strengths(b.ctx, b.program)
	require.NoError(t, err)
	require.Equal(t, "mean", list.Tests[1].Low)
	b.sound(t)
}

// Administrators who take each other out at once leave one.
func TestAProgramKeepsOneAdministratorWhateverTheOrder(t *testing.T) {
	t.Parallel()
	b := setup(t)
	actor := b.people[authz.Administrator]
	var ids []uuid.UUID
	for _, role := range []authz.Role{authz.Administrator, authz.Engineer, authz.Designer, authz.Inspector} {
		id := uuid.MustParse(b.people[role].ID)
		ids = append(ids, id)
		_, err := b.EditPeople(b.ctx, db.PeopleEntry{ID: newID(), ProgramID: b.program, Actor: actor, Act: db.PeopleAdd, UserID: id, Role: authz.Administrator})
		require.NoError(t, err)
	}
	errs := make([]error, len(ids))
	var all sync.WaitGroup
	for i, id := range ids {
		all.Go(func() {
			_, errs[i] = b.EditPeople(b.ctx, db.PeopleEntry{ID: newID(), ProgramID: b.program, Actor: actor, Act: db.PeopleRemove, UserID: id})
		})
	}
	all.Wait()
	refused := 0
	for _, err := range errs {
		if err != nil {
			require.ErrorIs(t, err, fault.Refused)
			refused++
		}
	}
	require.Equal(t, 1, refused)
	members, err := db.People{Pool: b.Pool}.Members(b.ctx, uuid.MustParse(b.program))
	require.NoError(t, err)
	require.Len(t, members, 1)
	v, err := b.Verify(b.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

func TestAnEntryOfPeopleSentTwiceCountsOnce(t *testing.T) {
	t.Parallel()
	b := setup(t)
	e := db.PeopleEntry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Administrator], Act: db.PeopleAdd, Role: authz.Manager,
		New: &db.NewUser{Email: "new@example.org", Name: "New", PasswordHash: "one"}}
	first, err := b.EditPeople(b.ctx, e)
	require.NoError(t, err)
	e.New.PasswordHash = "another"
	again, err := b.EditPeople(b.ctx, e)
	require.NoError(t, err)
	require.True(t, again.Repeated)
	require.Equal(t, first.Seq, again.Seq)
	e.Role = authz.Engineer
	_, err = b.EditPeople(b.ctx, e)
	require.ErrorIs(t, err, fault.Duplicate)
	_, err = b.EditPeople(b.ctx, db.PeopleEntry{ID: newID(), ProgramID: newID(), Actor: e.Actor, Act: db.PeopleAdd, UserID: uuid.New(), Role: authz.Manager})
	require.ErrorIs(t, err, fault.NotFound)
}
