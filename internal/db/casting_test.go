package db_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// cast records a pour of one batch with three specimens at ends.
func (b *bundle) cast(t *testing.T, hoursAgo int, ends ...string) db.Receipt {
	t.Helper()
	start := time.Now().UTC().Add(-time.Duration(hoursAgo) * time.Hour).Truncate(time.Minute)
	placed := start.Add(10 * time.Minute)
	var refs []db.EndRef
	for _, name := range ends {
		refs = append(refs, db.EndRef{ID: b.end(t, name).End.ID})
	}
	rec, err := b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Contractor], Ends: refs, Change: repair.RecordPour{StartedAt: start,
		Batches: []repair.BatchIn{{MixedAt: start, PlacedAt: &placed}}, Specimens: []repair.SpecimenSet{{Batch: 1, Kind: "cyl_3x6", Curing: "field", NominalDays: 4, Count: 3}}}})
	require.NoError(t, err)
	return rec
}

func TestCastingsAreListedAndFound(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.cast(t, 50, "1N-1")
	b.cast(t, 200, "1N-2", "1F-2")
	last := b.cast(t, 10, "1F-1", "1N-1")
	number, err := b.PourOfEntry(b.ctx, last.EntryID)
	require.NoError(t, err)
	require.Equal(t, 3, number)
	_, err = b.PourOfEntry(b.ctx, newID())
	require.Error(t, err)

	page, total, err := b.CastingPage(b.ctx, b.program, 1, 2, false)
	require.NoError(t, err)
	require.Equal(t, 3, total)
	require.Len(t, page.Pours, 2)
	require.Len(t, page.Specimens, 6)
	page, _, err = b.CastingPage(b.ctx, b.program, 2, 2, false)
	require.NoError(t, err)
	require.Equal(t, 2, page.Pours[0].Number, "the oldest comes last")
	page, _, err = b.CastingPage(b.ctx, b.program, 9, 2, false)
	require.NoError(t, err)
	require.Empty(t, page.Pours)

	one, err := b.Casting(b.ctx, b.program, 3)
	require.NoError(t, err)
	require.Len(t, one.PourEnds, 2)
	require.Equal(t, "1F-1", one.EndNames[b.end(t, "1F-1").End.ID])
	_, err = b.Casting(b.ctx, b.program, 4)
	require.ErrorIs(t, err, fault.NotFound)
	_, err = b.Casting(b.ctx, newID(), 1)
	require.ErrorIs(t, err, fault.NotFound)
}

func TestTableOfBreaksIsOneEntry(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.cast(t, 97, "1N-1", "1N-2")
	b.cast(t, 97, "1F-1")
	marks := []string{"P001-01", " p002-03", "P009-99"}
	refs, err := b.EndsOfSpecimens(b.ctx, b.program, marks)
	require.NoError(t, err)
	require.Len(t, refs, 3)
	w, h := 3*units.Inch, 6*units.Inch
	var ch repair.RecordBreaks
	for _, m := range marks {
		ch.Breaks = append(ch.Breaks, repair.RecordBreak{Mark: m, BrokenAt: time.Now().Add(-time.Minute), Load: 110 * units.Kip, Width: &w, Depth: &w, Height: &h, EndsGround: true})
	}
	_, err = b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Laboratory], Ends: refs, Change: ch})
	var bad *fault.Invalid
	require.ErrorAs(t, err, &bad)
	require.NotNil(t, bad.Of("breaks-3-mark"))
	waiting, err := b.SpecimenMarks(b.ctx, b.program, true)
	require.NoError(t, err)
	require.Len(t, waiting, 6, "all or nothing")

	ch.Breaks = ch.Breaks[:2]
	_, err = b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Laboratory], Ends: refs, Change: ch})
	require.NoError(t, err)
	waiting, err = b.SpecimenMarks(b.ctx, b.program, true)
	require.NoError(t, err)
	require.Equal(t, []string{"P001-02", "P001-03", "P002-01", "P002-02"}, waiting)
	all, err := b.SpecimenMarks(b.ctx, b.program, false)
	require.NoError(t, err)
	require.Len(t, all, 6)

	list, err := b.Laboratory(b.ctx, b.program, time.Now().Add(-time.Hour))
	require.NoError(t, err)
	require.Len(t, list.Specimens, 6)
	list, err = b.Laboratory(b.ctx, b.program, time.Now().Add(time.Hour))
	require.NoError(t, err)
	require.Len(t, list.Specimens, 4)
	require.Len(t, list.Pours, 2)
	v, err := b.Verify(b.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}
