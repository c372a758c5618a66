package repair_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

func ptr[T any](v T) *T { return &v }

// opened begins a casting some hours before the story's clock.
func opened(t *testing.T, s *story, hours float64) time.Time {
	start := s.now.Add(-time.Duration(hours * float64(time.Hour)))
	require.NoError(t, s.do(authz.Inspector, repair.OpenPour{StartedAt: start, Weather: "dry, 50 °F"}))
	return start
}

func mixed(at time.Time) repair.BatchIn {
	return repair.BatchIn{MixedAt: at, StartedAt: ptr(at.Add(-12 * time.Minute)), Flow1: ptr(9 * units.Inch), Flow2: ptr(8.6 * units.Inch)}
}

func TestBatchesComeInWhileAPourIsOpen(t *testing.T) {
	t.Parallel()
	s := begin(t)
	start := opened(t, s, 30)
	end := s.Ends[0].End.ID
	require.True(t, s.Pours[0].Open)
	f, err := s.Ends[0].Facts(s.Scope)
	require.NoError(t, err)
	require.Zero(t, f.Pours, "a pour that is still open is no record of one")
	require.ErrorContains(t, s.do(authz.Inspector, repair.OpenPour{StartedAt: start}), "still open")

	first := repair.AddBatch{Pour: 1, Batch: mixed(start.Add(20 * time.Minute)), Specimens: []repair.SpecimenSet{{Kind: "cyl_3x6", Curing: "match", NominalDays: 1, Count: 3, Purpose: "strip"}}}
	require.NoError(t, s.do(authz.Inspector, first))
	require.InDelta(t, 8.8*25.4, float64(*s.Batches[0].Flow), 1e-9, "the mean of two diameters")
	require.Len(t, s.Specimens, 3)
	require.Equal(t, s.Batches[0].MixedAt, s.Specimens[0].CastAt, "not placed yet")

	require.NoError(t, s.do(authz.Inspector, repair.AddBatch{Pour: 1, Batch: mixed(start.Add(40 * time.Minute))}))
	require.ErrorContains(t, s.do(authz.Inspector, repair.FinishPour{Pour: 1, EndedAt: start.Add(time.Hour)}), "batch 1 has no time")
	placed := start.Add(35 * time.Minute)
	require.NoError(t, s.do(authz.Inspector, repair.PlaceBatch{Pour: 1, Number: 1, PlacedAt: placed, Ends: []repair.BatchEndIn{{EndID: end, VolumeL: ptr(61.0)}}}))
	require.Equal(t, placed, s.Specimens[0].CastAt, "specimens go with the time of placing")
	require.ErrorContains(t, s.do(authz.Inspector, repair.PlaceBatch{Pour: 1, Number: 1, PlacedAt: placed}), "correction")
	require.ErrorContains(t, s.do(authz.Inspector, repair.RefuseBatch{Pour: 1, Number: 1, Why: "too late"}), "in the form")
	require.NoError(t, s.do(authz.Inspector, repair.RefuseBatch{Pour: 1, Number: 2, Why: "stiff"}))
	require.NoError(t, s.do(authz.Inspector, repair.FinishPour{Pour: 1, EndedAt: start.Add(time.Hour), Note: "full at both vents", VolumeL: map[string]float64{end: 60}}))
	require.False(t, s.Pours[0].Open)
	require.InDelta(t, 60, *s.PourEnds[0].VolumeL, 0)
	require.ErrorContains(t, s.do(authz.Inspector, first), "not open")
	f, err = s.Ends[0].Facts(s.Scope)
	require.NoError(t, err)
	require.Equal(t, 1, f.Pours)
}

func TestImpossibleBatchesAreRefusedAtTheirField(t *testing.T) {
	t.Parallel()
	base := begin(t)
	start := opened(t, base, 30)
	for field, spoil := range map[string]func(*repair.BatchIn){
		"flow_1":           func(b *repair.BatchIn) { b.Flow1 = ptr(102 * units.Inch) },
		"flow_2":           func(b *repair.BatchIn) { b.Flow2 = nil },
		"started":          func(b *repair.BatchIn) { b.MixedAt = b.StartedAt.Add(-time.Minute) },
		"place_start":      func(b *repair.BatchIn) { b.PlaceStart = ptr(b.MixedAt.Add(-time.Minute)) },
		"placed":           func(b *repair.BatchIn) { b.PlacedAt = ptr(base.now.Add(time.Hour)) },
		"steel_temp":       func(b *repair.BatchIn) { b.SteelTemp = ptr(units.Temperature(200)) },
		"fiber":            func(b *repair.BatchIn) { b.FiberKg = ptr(-1.0) },
		"water":            func(b *repair.BatchIn) { b.WaterKg = ptr(1e9) },
		"premix":           func(b *repair.BatchIn) { b.PremixKg = ptr(-1.0) },
		"made":             func(b *repair.BatchIn) { b.PremixMadeOn = ptr(b.MixedAt.AddDate(0, 0, 3)) },
		"ends":             func(b *repair.BatchIn) { b.Ends = []repair.BatchEndIn{{EndID: "elsewhere"}} },
		"why":              func(b *repair.BatchIn) { b.Refused = true },
		"mixed":            func(b *repair.BatchIn) { b.MixedAt = base.now.Add(time.Hour) },
		"specimens-1-kind": nil,
	} {
		s := &story{Scope: base.Scope.Clone(), now: base.now}
		ch := repair.AddBatch{Pour: 1, Batch: mixed(start.Add(20 * time.Minute))}
		if spoil == nil {
			ch.Specimens = []repair.SpecimenSet{{Kind: "cyl_2x4", Curing: "field", NominalDays: 1, Count: 1}}
		} else {
			spoil(&ch.Batch)
		}
		if field == "started" { // the later of the two is named
			field = "mixed"
		}
		var bad *fault.Invalid
		require.ErrorAs(t, s.do(authz.Inspector, ch), &bad, field)
		require.NotNil(t, bad.Of(field), "%s: %v", field, bad)
		require.Empty(t, s.Batches)
	}
}

// A batch outside a stop limit stops its ends until the engineer lets it stand, and a
// correction of its values takes that word away.
func TestAStoppedBatchWaitsForADecision(t *testing.T) {
	t.Parallel()
	s := begin(t)
	start := opened(t, s, 30)
	b := mixed(start.Add(20 * time.Minute))
	b.PlacedAt = ptr(b.MixedAt.Add(45 * time.Minute)) // beyond the limit of 30 minutes
	require.NoError(t, s.do(authz.Inspector, repair.AddBatch{Pour: 1, Batch: b}))
	undecided := func() int {
		f, err := s.Ends[0].Facts(s.Scope)
		require.NoError(t, err)
		return f.BatchesUndecided
	}
	require.Equal(t, 1, undecided())
	require.ErrorContains(t, s.do(authz.Engineer, repair.DecideBatch{Pour: 1, Number: 1}), "why")
	require.NoError(t, s.do(authz.Engineer, repair.DecideBatch{Pour: 1, Number: 1, Why: "flow repeated at 40 minutes: 8.4 in"}))
	require.Zero(t, undecided())
	require.Equal(t, "Test engineer, owner's engineer", s.Batches[0].DecidedBy)

	require.ErrorContains(t, s.do(authz.Inspector, repair.CorrectBatch{Pour: 1, Number: 1, Batch: b}), "reason")
	require.NoError(t, s.do(authz.Inspector, repair.CorrectBatch{Pour: 1, Number: 1, Batch: b, Reason: "typed note"}))
	require.Zero(t, undecided(), "nothing moved")
	b.PlacedAt = ptr(b.MixedAt.Add(50 * time.Minute))
	require.NoError(t, s.do(authz.Inspector, repair.CorrectBatch{Pour: 1, Number: 1, Batch: b, Reason: "read the card again"}))
	require.Equal(t, 1, undecided())
	b.PlacedAt = ptr(b.MixedAt.Add(15 * time.Minute))
	require.NoError(t, s.do(authz.Inspector, repair.CorrectBatch{Pour: 1, Number: 1, Batch: b, Reason: "the hour was wrong"}))
	require.Zero(t, undecided())
	require.ErrorContains(t, s.do(authz.Engineer, repair.DecideBatch{Pour: 1, Number: 1, Why: "x"}), "within its limits")
}

func TestThePlanOfSpecimens(t *testing.T) {
	t.Parallel()
	s := begin(t)
	plan, isDefault := s.Plan()
	require.True(t, isDefault)
	total := 0
	for _, x := range repair.PlannedFor(plan, 1, true) {
		total += x.Count
	}
	require.Equal(t, 12, total, "four sets of three, from memory of what agencies ask")
	in := []repair.PlannedSetIn{{Kind: "cube_70", Curing: "match", NominalDays: 1, Count: 3, Per: "batch", Purpose: "strip"}, {Kind: "cube_70", Curing: "standard", NominalDays: 28, Count: 3, Per: "casting", Purpose: "acceptance"}}
	require.ErrorContains(t, s.do(authz.Engineer, repair.SetSpecimenPlan{Sets: in}), "source")
	require.NoError(t, s.do(authz.Engineer, repair.SetSpecimenPlan{Sets: in, Source: "special provision 904.7"}))
	plan, isDefault = s.Plan()
	require.False(t, isDefault)
	require.Len(t, repair.PlannedFor(plan, 2, false), 1, "only what is made of each batch")
	in[1].Curing = "field"
	require.ErrorContains(t, s.do(authz.Engineer, repair.SetSpecimenPlan{Sets: in, Source: "x"}), "standard-cured")
	require.NoError(t, s.do(authz.Engineer, repair.SetSpecimenPlan{Source: "taken out again"}))
	_, isDefault = s.Plan()
	require.True(t, isDefault)
	require.Len(t, s.SpecimenPlan, 2, "retired lines stay on record")
	for _, p := range uhpc.Purposes() {
		require.True(t, p.Known())
		require.NotEmpty(t, p.Words())
	}
	require.False(t, uhpc.Purpose("none").Known())
}
