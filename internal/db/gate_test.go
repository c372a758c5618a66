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

// A gate and a waiver go through the door, are journaled, and verify finds them as
// they were written.
func TestGatesAndWaiversThroughTheDoor(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.cast(t, 97, "1N-1")
	w := 3 * units.Inch
	list, err := b.Casting(b.ctx, b.program, 1)
	require.NoError(t, err)
	var breaks []repair.RecordBreak
	for _, sp := range list.Specimens {
		breaks = append(breaks, repair.RecordBreak{Mark: sp.Mark, BrokenAt: sp.CastAt.Add(96 * time.Hour), Load: 110 * units.Kip, Width: &w, Depth: &w, EndsGround: true})
	}
	require.NoError(t, b.change(authz.Laboratory, repair.RecordBreaks{Breaks: breaks}))
	at := func(role authz.Role, ch repair.Change) error {
		_, err := b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[role], Ends: []db.EndRef{{ID: b.end(t, "1N-1").End.ID}}, Change: ch})
		return err
	}
	require.ErrorContains(t, at(authz.Engineer, repair.DecideGate{Gate: "strip", Decision: "passed"}), "curing log is not complete")
	require.NoError(t, at(authz.Inspector, repair.RecordInspection{Subject: "curing", Outcome: "accepted", Note: "looked through"}))
	require.NoError(t, at(authz.Engineer, repair.DecideGate{Gate: "strip", Decision: "passed"}))
	sc, err := b.End(b.ctx, b.program, "1N-1")
	require.NoError(t, err)
	for _, st := range sc.Sequence() {
		if st.Code == "REL" {
			require.NoError(t, at(authz.Engineer, repair.Waive{StepID: st.ID, Condition: "mockup_accepted", Reason: "accepted on the contract before"}))
		}
	}
	r := b.end(t, "1N-1")
	require.Len(t, r.Gates, 1)
	require.NotEmpty(t, r.Gates[0].Evidence)
	require.Len(t, r.Waivers, 1)
	sc, err = b.End(b.ctx, b.program, "1N-1")
	require.NoError(t, err)
	f, err := sc.Ends[0].Facts(sc)
	require.NoError(t, err)
	require.True(t, f.Strip.Passed)
	b.sound(t)
}
