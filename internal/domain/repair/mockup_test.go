package repair_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// alone makes a change with no end in the scope, as the store does.
func (s *story) alone(role authz.Role, ch repair.Change) error {
	ends := s.Ends
	s.Scope.Ends = nil
	err := s.do(role, ch)
	s.Scope.Ends = ends
	return err
}

func mockedUp(s *story) repair.MockupIn {
	return repair.MockupIn{CastAt: s.now.Add(-40 * 24 * time.Hour), StandsFor: "all ends", Width: ptr(36 * units.Inch), Height: ptr(30 * units.Inch), Flow: ptr(9 * units.Inch),
		FillMin: ptr(12.0), LeakFree: true, SectionsCut: 3, Voids: "none", FiberSpread: "even"}
}

func TestAMockupIsAcceptedByTwoPersonsOnItsRecord(t *testing.T) {
	t.Parallel()
	s := begin(t)
	accept := repair.DecideMockup{Number: 1, Decision: "accepted"}
	require.ErrorIs(t, s.do(authz.Engineer, accept), fault.NotFound)
	in := mockedUp(s)
	require.NoError(t, s.alone(authz.Inspector, repair.RecordMockup{MockupIn: in}))
	require.NoError(t, s.alone(authz.Inspector, repair.OpenPour{StartedAt: in.CastAt, Mockup: 1}))
	placed := in.CastAt.Add(20 * time.Minute)
	require.NoError(t, s.alone(authz.Inspector, repair.AddBatch{Pour: 1, Batch: repair.BatchIn{MixedAt: in.CastAt.Add(5 * time.Minute), PlacedAt: &placed},
		Specimens: []repair.SpecimenSet{{Kind: "cyl_3x6", Curing: "standard", NominalDays: 28, Count: 3}}}))
	require.NoError(t, s.alone(authz.Inspector, repair.FinishPour{Pour: 1, EndedAt: in.CastAt.Add(time.Hour)}))

	var bad *fault.Invalid
	require.ErrorAs(t, s.do(authz.Engineer, accept), &bad)
	require.NotNil(t, bad.Of("waived"), "no strength is proven")
	require.ErrorContains(t, s.do(authz.Contractor, accept), "owner's engineer and inspector")
	for _, m := range []string{"P001-01", "P001-02", "P001-03"} {
		require.NoError(t, s.alone(authz.Laboratory, breakAt(m, placed.Add(28*24*time.Hour), 22)))
	}
	require.Empty(t, s.Tests, "a mock-up's strengths are no test of the castings of the bridge")
	require.NoError(t, s.do(authz.Engineer, accept))
	require.Equal(t, "recorded", s.Mockups[0].State, "one of two")
	require.Nil(t, s.Program.MockupAcceptedAt)

	// A correction before the second acceptance asks the first anew.
	in.Note = "vents kept open"
	require.ErrorContains(t, s.alone(authz.Inspector, repair.CorrectMockup{Number: 1, MockupIn: in}), "put right")
	require.NoError(t, s.alone(authz.Inspector, repair.CorrectMockup{Number: 1, MockupIn: in, Reason: "note of the vents"}))
	require.Empty(t, s.CurrentDecisions(s.Mockups[0]))
	require.NoError(t, s.do(authz.Inspector, repair.DecideMockup{Number: 1, Decision: "not_accepted", Reasons: "second cut missing"}))
	require.Equal(t, "not_accepted", s.Mockups[0].State)
	require.Contains(t, s.Mockups[0].StateWhy, "second cut")
	require.NoError(t, s.do(authz.Engineer, accept))
	require.Equal(t, "not_accepted", s.Mockups[0].State, "one who does not accept is enough")
	require.NoError(t, s.do(authz.Inspector, accept))
	require.Equal(t, "accepted", s.Mockups[0].State)
	require.NotNil(t, s.Program.MockupAcceptedAt)
	f, err := s.Ends[0].Facts(s.Scope)
	require.NoError(t, err)
	require.True(t, f.MockupAccepted)
	require.ErrorContains(t, s.alone(authz.Inspector, repair.CorrectMockup{Number: 1, MockupIn: in, Reason: "x"}), "stays as it was decided")

	require.NoError(t, s.do(authz.Engineer, repair.WithdrawMockup{Reason: "another mix"}))
	require.Equal(t, "withdrawn", s.Mockups[0].State)
	require.ErrorContains(t, s.do(authz.Engineer, accept), "withdrawn")
	require.ErrorContains(t, s.alone(authz.Inspector, repair.OpenPour{StartedAt: in.CastAt, Mockup: 1}), "withdrawn")
}

func TestImpossibleMockupsAreRefusedAtTheirField(t *testing.T) {
	t.Parallel()
	base := begin(t)
	for field, spoil := range map[string]func(*repair.MockupIn){
		"cast_at":      func(m *repair.MockupIn) { m.CastAt = base.now.Add(time.Hour) },
		"stands_for":   func(m *repair.MockupIn) { m.StandsFor = "" },
		"flow":         func(m *repair.MockupIn) { m.Flow = ptr(102 * units.Inch) },
		"width":        func(m *repair.MockupIn) { m.Width = ptr(units.Length(-1)) },
		"fill_min":     func(m *repair.MockupIn) { m.FillMin = ptr(0.0) },
		"leaks":        func(m *repair.MockupIn) { m.LeakFree = false },
		"voids":        func(m *repair.MockupIn) { m.Voids = "" },
		"fiber_spread": func(m *repair.MockupIn) { m.FiberSpread = "" },
		"sections_cut": func(m *repair.MockupIn) { m.SectionsCut = -1 },
	} {
		in := mockedUp(base)
		spoil(&in)
		var bad *fault.Invalid
		require.ErrorAs(t, base.alone(authz.Inspector, repair.RecordMockup{MockupIn: in}), &bad, field)
		require.NotNil(t, bad.Of(field), "%s: %v", field, bad)
	}
	require.ErrorContains(t, base.alone(authz.Administrator, repair.SetMockupRoles{Roles: []string{"manager"}}), "decides on a mock-up")
	require.ErrorContains(t, base.alone(authz.Administrator, repair.SetMockupRoles{}), "at least one")
	require.NoError(t, base.alone(authz.Administrator, repair.SetMockupRoles{Roles: []string{"engineer"}}))
	require.Len(t, base.MockupRoles(), 1)
}
