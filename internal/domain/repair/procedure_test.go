package repair_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/resistance"
)

// worn is the small program with a survey that has lost half of the web low down.
func worn(t *testing.T) *story {
	t.Helper()
	s := begin(t)
	require.NoError(t, s.do(authz.Inspector, grid(func(i, j int) float64 { return max(0, 0.5-0.15*float64(j)) })))
	return s
}

func zoneMean(s *story) repair.ProcedureIn {
	in := s.ShippedProcedure()
	in.Name, in.Body, in.Edition, in.Averaging = "Mean of the zone", "invented body", "2nd edition, 4.3", string(resistance.ZoneMean)
	return in
}

func TestProcedureComesInForceAfterASecondPersonCheckedIt(t *testing.T) {
	t.Parallel()
	s := worn(t)
	was, digest := capacity(s), s.Ends[0].State[0].InputDigest
	require.NoError(t, s.do(authz.Designer, repair.EnterProcedure{Procedure: zoneMean(s)}))
	require.Equal(t, digest, s.Ends[0].State[0].InputDigest, "a pack that is not in force moves nothing")
	p := s.Procedures[0]
	require.False(t, p.Checked())

	beside, err := s.Ends[0].EvaluateBeside(s.Scope, p.ID, nil)
	require.NoError(t, err)
	require.Greater(t, float64(beside.Capacity), was, "the mean of the zone is thicker than its worst row")
	require.Contains(t, beside.Flags, "the procedure Mean of the zone has not been checked against its licensed text by an engineer")
	ours, err := s.Ends[0].EvaluateBeside(s.Scope, "", nil)
	require.NoError(t, err)
	require.InDelta(t, was, float64(ours.Capacity), 0)
	_, err = s.Ends[0].EvaluateBeside(s.Scope, "none", nil)
	require.ErrorIs(t, err, fault.NotFound)

	force := repair.PutProcedureInForce{ProcedureID: p.ID, Reason: "owner's manual", From: s.InForceDigest()}
	require.ErrorContains(t, s.do(authz.Engineer, force), "second person")
	check := repair.CheckProcedure{ProcedureID: p.ID, Note: "copy 12, every value", From: p.Digest()}
	require.ErrorContains(t, s.do(authz.Designer, check), "another person")
	require.ErrorIs(t, s.do(authz.Engineer, repair.CheckProcedure{ProcedureID: p.ID}), fault.Fields)
	require.NoError(t, s.do(authz.Engineer, check))
	require.ErrorIs(t, s.do(authz.Administrator, check), fault.Conflict, "it was opened before it was checked")
	check.From = ""
	require.ErrorIs(t, s.do(authz.Administrator, check), fault.Refused)

	require.ErrorIs(t, s.do(authz.Engineer, repair.PutProcedureInForce{ProcedureID: p.ID}), fault.Fields)
	require.NoError(t, s.do(authz.Engineer, force))
	require.InDelta(t, float64(beside.Capacity), capacity(s), 0)
	require.NotEqual(t, digest, s.Ends[0].State[0].InputDigest)
	require.ErrorIs(t, s.do(authz.Engineer, force), fault.Conflict)
	require.ErrorIs(t, s.do(authz.Engineer, repair.RetireProcedure{ProcedureID: p.ID, Reason: "old"}), fault.Refused, "not while it is in force")

	// A second entry of the same name is the next version, and takes the first one's place.
	in := zoneMean(s)
	in.CripplingSound = 0.9
	require.NoError(t, s.do(authz.Designer, repair.EnterProcedure{Procedure: in}))
	q := s.Procedures[1]
	require.Equal(t, 2, q.Version)
	require.NoError(t, s.do(authz.Engineer, repair.CheckProcedure{ProcedureID: q.ID, Note: "copy 12"}))
	require.NoError(t, s.do(authz.Engineer, repair.PutProcedureInForce{ProcedureID: q.ID, Reason: "corrected"}))
	require.False(t, s.Procedures[0].InForce)
	require.InDelta(t, 0.9*float64(beside.Capacity), capacity(s), 1e-6*capacity(s), "crippling governs")

	require.NoError(t, s.do(authz.Engineer, repair.PutProcedureInForce{Reason: "back to ours"}))
	require.Nil(t, s.InForce())
	require.InDelta(t, was, capacity(s), 0)
	require.Equal(t, digest, s.Ends[0].State[0].InputDigest, "the digests of the procedure that ships are what they were")
	require.ErrorIs(t, s.do(authz.Engineer, repair.PutProcedureInForce{Reason: "again"}), fault.Refused)

	require.NoError(t, s.do(authz.Engineer, repair.RetireProcedure{ProcedureID: p.ID, Reason: "replaced"}))
	for _, ch := range []repair.Change{repair.RetireProcedure{ProcedureID: p.ID, Reason: "x"}, repair.PutProcedureInForce{ProcedureID: p.ID, Reason: "x"},
		repair.CheckProcedure{ProcedureID: p.ID, Note: "x"}} {
		require.ErrorIs(t, s.do(authz.Engineer, ch), fault.Refused)
	}
}

func TestProcedureMovesAnApproval(t *testing.T) {
	t.Parallel()
	s := approved(t)
	require.NoError(t, s.do(authz.Designer, repair.EnterProcedure{Procedure: zoneMean(s)}))
	id := s.Procedures[0].ID
	require.NoError(t, s.do(authz.Engineer, repair.CheckProcedure{ProcedureID: id, Note: "copy 12"}))
	require.False(t, s.Ends[0].State[0].OutOfDate)
	require.NoError(t, s.do(authz.Engineer, repair.PutProcedureInForce{ProcedureID: id, Reason: "manual"}))
	late, why := s.Ends[0].OutOfDate(s.Scope)
	require.True(t, late)
	require.Equal(t, "the procedure Mean of the zone, 2nd edition, 4.3 came in force after the approval", why)
	require.NoError(t, s.do(authz.Engineer, repair.PutProcedureInForce{Reason: "back"}))
	late, _ = s.Ends[0].OutOfDate(s.Scope)
	require.False(t, late)
}

func TestProcedureThatCannotBe(t *testing.T) {
	t.Parallel()
	s := worn(t)
	in := repair.ProcedureIn{Tag: "sure", Averaging: "median", ZoneHeight: 1, ZoneSearch: 2, CripplingSound: -1, FewestReadings: -1}
	var bad *fault.Invalid
	require.ErrorAs(t, s.do(authz.Designer, repair.EnterProcedure{Procedure: in}), &bad)
	for _, f := range []string{"name", "body", "edition", "tag", "averaging", "zone_height", "zone_search", "yielding_sound", "yielding_holed", "crippling_sound", "fewest_readings"} {
		require.NotNil(t, bad.Of(f), f)
	}
	require.Empty(t, s.Procedures)
	require.ErrorIs(t, s.do(authz.Engineer, repair.CheckProcedure{ProcedureID: "none", Note: "x"}), fault.NotFound)
}

func TestReach(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		ch   repair.Reaching
		want repair.Reach
	}{
		{repair.EnterProcedure{}, repair.Reach{Alone: true}}, {repair.CheckProcedure{}, repair.Reach{Alone: true}}, {repair.RetireProcedure{}, repair.Reach{Alone: true}},
		{repair.PutProcedureInForce{}, repair.Reach{Program: true}}, {repair.EditTruck{}, repair.Reach{Program: true}}, {repair.EditAssumptions{}, repair.Reach{Program: true}},
		{repair.EditSpanDemand{SpanID: "s"}, repair.Reach{Span: "s"}}, {repair.EditLoadParts{SpanID: "s"}, repair.Reach{Span: "s"}},
	} {
		require.Equal(t, c.want, c.ch.Reach(), c.ch.Kind())
	}
}

func TestAssumedRate(t *testing.T) {
	t.Parallel()
	s := worn(t)
	year := 1960
	s.Program.BuiltYear = &year
	set := repair.EditAssumptions{RateLow: 0.02, Rate: 0.05, RateHigh: 0.1, Source: "owner's rule", From: s.AssumptionsDigest()}
	require.NoError(t, s.do(authz.Engineer, set))
	require.ErrorIs(t, s.do(authz.Engineer, set), fault.Conflict)
	fall, ok := s.Ends[0].LatestOutlook().FallOf()
	require.True(t, ok)
	require.InDelta(t, 0.05, float64(fall.Rate.Central), 1e-12)
	var bad *fault.Invalid
	require.ErrorAs(t, s.do(authz.Engineer, repair.EditAssumptions{RateLow: 2, Rate: 1, RateHigh: 0.5}), &bad)
	for _, f := range []string{"rate_low", "rate_high", "source"} {
		require.NotNil(t, bad.Of(f), f)
	}
	require.NoError(t, s.do(authz.Engineer, repair.EditAssumptions{Withdraw: true, Source: "no ground for it"}))
	require.Nil(t, s.Assumed())
	require.ErrorIs(t, s.do(authz.Engineer, repair.EditAssumptions{Withdraw: true, Source: "again"}), fault.Refused)
	require.NoError(t, s.do(authz.Engineer, repair.EditBasis{Key: string(basis.DeclineCoating), Value: 10, Source: "owner"}))
	age, _ := s.Ends[0].LatestOutlook().FallOf()
	require.NotEqual(t, fall.Source, age.Source)
}
