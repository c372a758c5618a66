package db_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

func ptr[T any](v T) *T { return &v }

// sound requires that verify finds nothing.
func (b *bundle) sound(t *testing.T) db.Verified {
	t.Helper()
	v, err := b.Verify(b.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
	return v
}

// change makes an edit that names no end: its change says which it concerns.
func (b *bundle) change(role authz.Role, ch repair.Change) error {
	_, err := b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[role], Change: ch})
	return err
}

func TestAnOpenPourFindsItsEnds(t *testing.T) {
	t.Parallel()
	b := setup(t)
	start := time.Now().UTC().Add(-30 * time.Hour).Truncate(time.Minute)
	one, two := b.end(t, "1N-1").End.ID, b.end(t, "1N-2").End.ID
	_, err := b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Inspector], Ends: []db.EndRef{{ID: one}, {ID: two}},
		Change: repair.OpenPour{StartedAt: start, FormHead: ptr(900 * units.Length(1)), Weather: "dry"}})
	require.NoError(t, err)
	in := repair.BatchIn{MixedAt: start.Add(10 * time.Minute), PlacedAt: ptr(start.Add(22 * time.Minute)), Flow1: ptr(units.Length(220)), Flow2: ptr(units.Length(221.5)),
		PremixMadeOn: ptr(start.AddDate(0, 0, -40)), FiberKg: ptr(11.1), FiberTarget: ptr(11.0), Lot: "A-7", Ends: []repair.BatchEndIn{{EndID: one, VolumeL: ptr(31.5)}}}
	require.NoError(t, b.change(authz.Inspector, repair.AddBatch{Pour: 1, Batch: in, Specimens: []repair.SpecimenSet{{Kind: "cyl_3x6", Curing: "match", NominalDays: 1, Count: 3, Purpose: "strip"}}}))
	require.NoError(t, b.change(authz.Inspector, repair.AddBatch{Pour: 1, Batch: repair.BatchIn{MixedAt: start.Add(30 * time.Minute)}}))
	require.NoError(t, b.change(authz.Inspector, repair.PlaceBatch{Pour: 1, Number: 2, PlacedAt: start.Add(40 * time.Minute)}))
	require.NoError(t, b.change(authz.Inspector, repair.FinishPour{Pour: 1, EndedAt: start.Add(time.Hour)}))
	require.NoError(t, b.change(authz.Engineer, repair.SetSpecimenPlan{Source: "contract", Sets: []repair.PlannedSetIn{{Kind: "cyl_3x6", Curing: "standard", NominalDays: 28, Count: 3, Per: "casting", Purpose: "acceptance"}}}))
	require.NoError(t, b.change(authz.Laboratory, repair.DemoldSpecimens{Marks: []string{"p001-01"}, At: start.Add(20 * time.Hour)}))

	list, err := b.Casting(b.ctx, b.program, 1)
	require.NoError(t, err)
	require.Len(t, list.Batches, 2)
	require.Len(t, list.BatchEnds, 1)
	require.True(t, repair.BatchReached(list.Batches[0], one, list.BatchEnds))
	require.False(t, repair.BatchReached(list.Batches[0], two, list.BatchEnds))
	require.True(t, repair.BatchReached(list.Batches[1], two, list.BatchEnds))
	require.NotNil(t, list.Specimens[0].DemoldedAt)
	b.sound(t)
}

// A failure of the running rule reaches castings of other days through the door, and
// leaves the versions and the history of ends that it does not reach alone.
func TestTheRunningRuleReachesCastingsBesideIt(t *testing.T) {
	t.Parallel()
	b := setup(t)
	first := time.Now().UTC().Add(-60 * 24 * time.Hour).Truncate(time.Minute)
	ends := []string{"1N-1", "1N-2", "1F-1", "1F-2"}
	w := 3 * units.Inch
	crush := func(mark string, at time.Time, ksi float64) repair.RecordBreak {
		return repair.RecordBreak{Mark: mark, BrokenAt: at, Load: units.Force(ksi * float64(units.Ksi) * 3.14159265 / 4 * float64(w) * float64(w)), Width: &w, Depth: &w, EndsGround: true}
	}
	for i, name := range ends {
		start := first.Add(time.Duration(24*i) * time.Hour)
		placed := start.Add(10 * time.Minute)
		_, err := b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Inspector], Ends: []db.EndRef{{ID: b.end(t, name).End.ID}},
			Change: repair.RecordPour{StartedAt: start, Batches: []repair.BatchIn{{MixedAt: start, PlacedAt: &placed}},
				Specimens: []repair.SpecimenSet{{Batch: 1, Kind: "cyl_3x6", Curing: "standard", NominalDays: 28, Count: 3, Purpose: "acceptance"}}}})
		require.NoError(t, err)
	}
	broken := func(pour string, i int, ksi float64) {
		at := first.Add(time.Duration(24*(28+i))*time.Hour + 10*time.Minute)
		require.NoError(t, b.change(authz.Laboratory, repair.RecordBreaks{Breaks: []repair.RecordBreak{crush(pour+"-01", at, ksi), crush(pour+"-02", at, ksi+0.1), crush(pour+"-03", at, ksi-0.1)}}))
	}
	broken("P001", 0, 25)
	broken("P002", 1, 22)
	broken("P003", 2, 21)
	versions := map[string]int64{}
	for _, name := range ends {
		require.Empty(t, b.end(t, name).Nonconformances)
		versions[name] = b.end(t, name).End.Version
	}
	broken("P004", 3, 21.5) // mean of the last three 21.5 ksi, below 21.7
	for _, name := range ends {
		want := 1
		if name == "1N-1" {
			want = 0
		}
		require.Len(t, b.end(t, name).Nonconformances, want, name)
		require.Equal(t, versions[name]+int64(want), b.end(t, name).End.Version, name)
	}
	b.sound(t)
}
