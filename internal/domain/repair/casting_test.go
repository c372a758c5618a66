package repair_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// castAgo is a sound pour of two batches some hours before the story's clock.
func castAgo(s *story, hours float64) repair.RecordPour {
	start := s.now.Add(-time.Duration(hours * float64(time.Hour)))
	placed, later, end := start.Add(12*time.Minute), start.Add(30*time.Minute), start.Add(time.Hour)
	flow := 9 * units.Inch
	return repair.RecordPour{StartedAt: start, EndedAt: &end, Batches: []repair.BatchIn{{MixedAt: start, PlacedAt: &placed, Flow: &flow}, {MixedAt: start.Add(20 * time.Minute), PlacedAt: &later}},
		Specimens: []repair.SpecimenSet{{Batch: 2, Kind: "cyl_3x6", Curing: "field", NominalDays: 4, Count: 3}}}
}

func crushed(s *story, mark string) repair.RecordBreak {
	w, h := 3*units.Inch, 6*units.Inch
	return repair.RecordBreak{Mark: mark, BrokenAt: s.now.Add(-time.Hour), Load: 110 * units.Kip, Width: &w, Depth: &w, Height: &h, EndsGround: true}
}

func TestImpossiblePoursAreRefusedAtTheirField(t *testing.T) {
	t.Parallel()
	base := begin(t)
	hot, flow := units.Temperature(200), 102*units.Inch
	for field, spoil := range map[string]func(*repair.RecordPour){
		"started_at":         func(c *repair.RecordPour) { c.StartedAt = noon.Add(1000 * time.Hour) },
		"ended_at":           func(c *repair.RecordPour) { *c.EndedAt = noon.Add(1000 * time.Hour) },
		"batches":            func(c *repair.RecordPour) { c.Batches = nil; c.Specimens = nil },
		"batch-1-flow":       func(c *repair.RecordPour) { c.Batches[0].Flow = &flow },
		"batch-2-mix_temp":   func(c *repair.RecordPour) { c.Batches[1].MixTemp = &hot },
		"batch-2-air_temp":   func(c *repair.RecordPour) { c.Batches[1].AirTemp = &hot },
		"batch-2-placed":     func(c *repair.RecordPour) { p := c.EndedAt.Add(time.Minute); c.Batches[1].PlacedAt = &p },
		"batch-1-mixed":      func(c *repair.RecordPour) { c.Batches[0].MixedAt = c.StartedAt.Add(-7 * time.Hour) },
		"batch-1-why":        func(c *repair.RecordPour) { c.Batches[0].Refused = true },
		"specimens-1-batch":  func(c *repair.RecordPour) { c.Specimens[0].Batch = 3 },
		"specimens-1-kind":   func(c *repair.RecordPour) { c.Specimens[0].Kind = "cyl_2x4" },
		"specimens-1-curing": func(c *repair.RecordPour) { c.Specimens[0].Curing = "none" },
		"specimens-1-days":   func(c *repair.RecordPour) { c.Specimens[0].NominalDays = math.NaN() },
		"specimens-1-count":  func(c *repair.RecordPour) { c.Specimens[0].Count = 0 },
		"volume-1N-1":        func(c *repair.RecordPour) { c.VolumeL = map[string]float64{base.Ends[0].End.ID: math.Inf(1)} },
	} {
		s := &story{Scope: base.Scope.Clone(), now: base.now}
		ch := castAgo(s, 100)
		spoil(&ch)
		var bad *fault.Invalid
		require.ErrorAs(t, s.do(authz.Inspector, ch), &bad, field)
		require.NotNil(t, bad.Of(field), "%s: %v", field, bad)
		require.Empty(t, s.Pours)
	}
	s := &story{Scope: base.Scope.Clone(), now: base.now}
	ch := castAgo(s, 100)
	ch.Batches[0].Flow = &flow
	require.ErrorContains(t, s.do(authz.Inspector, ch), "16.000")
}

// Times may come in the zone of the program; they are stored in UTC and told in
// the zone of the entry.
func TestTimesAreToldInTheZoneOfTheEntry(t *testing.T) {
	t.Parallel()
	s := begin(t)
	zone := time.FixedZone("site", -5*3600)
	ch := castAgo(s, 100)
	ch.StartedAt = ch.StartedAt.In(zone)
	for i := range ch.Batches {
		ch.Batches[i].MixedAt = ch.Batches[i].MixedAt.In(zone)
		*ch.Batches[i].PlacedAt = ch.Batches[i].PlacedAt.In(zone)
	}
	require.NoError(t, s.do(authz.Inspector, ch))
	for _, at := range []time.Time{s.Pours[0].StartedAt, s.Batches[0].MixedAt, *s.Batches[1].PlacedAt, s.Specimens[0].CastAt} {
		require.Equal(t, time.UTC, at.Location())
	}
	early := crushed(s, "P001-01")
	early.BrokenAt = s.Specimens[0].CastAt.Add(-time.Hour).In(zone)
	require.ErrorContains(t, s.do(authz.Laboratory, early), s.Specimens[0].CastAt.In(zone).Format("2006-01-02 15:04"))
}

func TestFindingsOfABatchBeforeItIsStored(t *testing.T) {
	t.Parallel()
	s := begin(t)
	ch := castAgo(s, 10)
	require.Empty(t, ch.Batches[0].Findings(1, s.Basis()))
	wet, none := 10.4*units.Inch, 102*units.Inch
	ch.Batches[0].Flow = &wet
	list := ch.Batches[0].Findings(1, s.Basis())
	require.Len(t, list, 1)
	require.Equal(t, string(basis.FlowMax), list[0].Key)
	ch.Batches[0].Flow = &none
	require.Empty(t, ch.Batches[0].Findings(1, s.Basis()), "refused, so not compared")

	p := repair.Pour{ID: "x", Number: 7}
	require.Empty(t, repair.Gaps(p, ch.Rows(p), s.Basis()))
	ch.Batches[1].MixedAt = ch.Batches[0].PlacedAt.Add(21 * time.Minute)
	gaps := repair.Gaps(p, ch.Rows(p), s.Basis())
	require.Len(t, gaps, 1)
	require.InDelta(t, 21, gaps[0].Value, 1e-9)
	ch.Batches[1].Refused = true
	require.Empty(t, repair.Gaps(p, ch.Rows(p), s.Basis()))
}

func TestBreaksAreTakenTogetherOrNotAtAll(t *testing.T) {
	t.Parallel()
	s := begin(t)
	require.NoError(t, s.do(authz.Inspector, castAgo(s, 97)))
	a, b, c := crushed(s, "P001-01"), crushed(s, "p001-02 "), crushed(s, "P001-03")
	wrong := c
	wrong.Load = -1
	before := s.Specimens
	trial := s.Scope.Clone()
	err := repair.RecordBreaks{Breaks: []repair.RecordBreak{a, b, wrong, crushed(s, "P001-01"), crushed(s, "P1-9")}}.Apply(trial,
		repair.Context{Now: s.now, NewID: func() string { return "" }})
	var bad *fault.Invalid
	require.ErrorAs(t, err, &bad)
	require.NotNil(t, bad.Of("breaks-3-load"))
	require.Contains(t, bad.Of("breaks-4-mark").Reason, "in row 1 already")
	require.Contains(t, bad.Of("breaks-5-mark").Reason, "no specimen has this mark")
	require.Len(t, bad.Fields, 3)
	require.Equal(t, before, trial.Specimens, "it never alters and refuses")

	require.NoError(t, s.do(authz.Laboratory, repair.RecordBreaks{Breaks: []repair.RecordBreak{a, b, c}}))
	facts, err := s.Ends[0].Facts(s.Scope)
	require.NoError(t, err)
	require.Len(t, facts.Strengths, 1)
	require.ErrorAs(t, s.do(authz.Laboratory, repair.RecordBreaks{Breaks: []repair.RecordBreak{a}}), &bad)
	require.Contains(t, bad.Of("breaks-1-mark").Reason, "breaks once")
	require.ErrorIs(t, s.do(authz.Laboratory, a), fault.Refused)
	require.Error(t, s.do(authz.Laboratory, repair.RecordBreaks{}))
}

// One table gives what its rows give one by one.
func TestATableIsItsRows(t *testing.T) {
	t.Parallel()
	base := begin(t)
	require.NoError(t, base.do(authz.Inspector, castAgo(base, 97)))
	rapid.Check(t, func(t *rapid.T) {
		loads := rapid.SliceOfN(rapid.Float64Range(60, 180), 3, 3).Draw(t, "kip")
		one, all := &story{Scope: base.Scope.Clone(), now: base.now}, &story{Scope: base.Scope.Clone(), now: base.now}
		var list []repair.RecordBreak
		for i, kip := range loads {
			b := crushed(base, fmt.Sprintf("P001-%02d", i+1))
			b.Load = units.Force(kip) * units.Kip
			list = append(list, b)
			require.NoError(t, one.do(authz.Laboratory, b))
		}
		require.NoError(t, all.do(authz.Laboratory, repair.RecordBreaks{Breaks: list}))
		require.Equal(t, one.Specimens, all.Specimens)
	})
}

func TestNearMarks(t *testing.T) {
	t.Parallel()
	known := []string{"P001-01", "P001-02", "P012-03", "P120-03", "P012-13"}
	for typed, want := range map[string]string{"P0O1-02": "P001-02", "p12 3": "P012-03", "P001-20": "P001-02", "P12/13": "P012-13", "P001_01": "P001-01", "": "", "zzzzzzzz": ""} {
		got := repair.NearMarks(typed, known, 3)
		require.LessOrEqual(t, len(got), 3)
		if want == "" {
			require.Empty(t, got, typed)
			continue
		}
		require.Contains(t, got, want, typed)
	}
	require.Equal(t, "P012-03", repair.NearMarks("p12 3", known, 3)[0])
	require.Empty(t, repair.NearMarks(strings.Repeat("9", 500), known, 3))
	rapid.Check(t, func(t *rapid.T) {
		mark := rapid.SampledFrom(known).Draw(t, "mark")
		require.Equal(t, mark, repair.NearMarks(" "+strings.ToLower(mark), known, 1)[0], "case and spaces are no difference")
	})
}
