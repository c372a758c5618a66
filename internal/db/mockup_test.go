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

// A mock-up serves no end until it is accepted, and then reaches every one.
func TestMockupThroughTheDoor(t *testing.T) {
	t.Parallel()
	b := setup(t)
	cast := time.Now().UTC().Add(-40 * 24 * time.Hour).Truncate(time.Minute)
	require.NoError(t, b.change(authz.Inspector, repair.RecordMockup{MockupIn: repair.MockupIn{CastAt: cast, StandsFor: "all ends", Height: ptr(units.Length(760)), LeakFree: true,
		SectionsCut: 2, Voids: "none", FiberSpread: "even"}}))
	require.NoError(t, b.change(authz.Inspector, repair.OpenPour{StartedAt: cast, Mockup: 1}))
	placed := cast.Add(20 * time.Minute)
	require.NoError(t, b.change(authz.Inspector, repair.AddBatch{Pour: 1, Batch: repair.BatchIn{MixedAt: cast.Add(5 * time.Minute), PlacedAt: &placed},
		Specimens: []repair.SpecimenSet{{Kind: "cyl_3x6", Curing: "standard", NominalDays: 28, Count: 3}}}))
	require.NoError(t, b.change(authz.Inspector, repair.FinishPour{Pour: 1, EndedAt: cast.Add(time.Hour)}))
	w := 3 * units.Inch
	var breaks []repair.RecordBreak
	for _, mark := range []string{"P001-01", "P001-02", "P001-03"} {
		breaks = append(breaks, repair.RecordBreak{Mark: mark, BrokenAt: placed.Add(28 * 24 * time.Hour), Load: 160 * units.Kip, Width: &w, Depth: &w, EndsGround: true})
	}
	require.NoError(t, b.change(authz.Laboratory, repair.RecordBreaks{Breaks: breaks}))
	before := b.end(t, "1N-1").End.Version
	require.NoError(t, b.change(authz.Inspector, repair.DecideMockup{Number: 1, Decision: "accepted"}))
	frame, err := b.Frame(b.ctx, b.program)
	require.NoError(t, err)
	require.Nil(t, frame.Program.MockupAcceptedAt)
	require.Len(t, frame.CurrentDecisions(frame.Mockups[0]), 1, "the record reads the same when it is loaded")
	entry := db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Engineer], Change: repair.DecideMockup{Number: 1, Decision: "accepted"}}
	_, err = b.Edit(b.ctx, entry)
	require.NoError(t, err)
	again, err := b.Edit(b.ctx, entry)
	require.NoError(t, err)
	require.True(t, again.Repeated)
	frame, err = b.Frame(b.ctx, b.program)
	require.NoError(t, err)
	require.NotNil(t, frame.Program.MockupAcceptedAt)
	require.Equal(t, repair.MockupAccepted, frame.Mockups[0].State)
	require.Equal(t, before, b.end(t, "1N-1").End.Version, "nobody's open form goes stale by it")
	require.NoError(t, b.change(authz.Administrator, repair.SetMockupRoles{Roles: []string{"engineer", "inspector", "designer"}}))
	b.sound(t)
}
