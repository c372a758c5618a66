package db_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/db/dbtest"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/migrations"
)

const kipFoot = float64(units.Kip) / float64(units.Foot)

// reach sends a change that says itself what it concerns, as a page of settings does.
func (b *bundle) reach(t testing.TB, role authz.Role, ch repair.Change) db.Receipt {
	t.Helper()
	rec, err := b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[role], AllEnds: true, Change: ch})
	require.NoError(t, err)
	return rec
}

func (b *bundle) span(t testing.TB) repair.Span {
	t.Helper()
	s, err := b.Frame(b.ctx, b.program)
	require.NoError(t, err)
	return s.Spans[0]
}

// loaded gives the one span of the small program a cross section and a dead load, and
// lets the demand of every end come by statics.
func (b *bundle) loaded(t testing.TB) {
	t.Helper()
	span := b.span(t).ID
	adtt := 800
	b.reach(t, authz.Designer, repair.EditSpanDemand{SpanID: span, Demand: repair.SpanDemandIn{Deck: 8 * units.Inch, EdgeLeft: 2 * units.Foot, EdgeRight: 2 * units.Foot,
		OverhangLeft: 3 * units.Foot, OverhangRight: 3 * units.Foot, ModularRatio: 8, Haunch: units.Inch, ADTT: &adtt, Source: "drawing 14", Typed: repair.Typed{"deck_mm": "8 in"}}})
	var parts []repair.LoadPartIn
	for bucket, klf := range map[string]float64{"dc1": 0.7, "dc2": 0.2, "dw": 0.1} {
		parts = append(parts, repair.LoadPartIn{Name: "load " + bucket, Bucket: bucket, Kind: "line", Where: "each", Value: klf * kipFoot, Typed: repair.Typed{"value": "typed"}})
	}
	b.reach(t, authz.Designer, repair.EditLoadParts{SpanID: span, Parts: parts})
	_, err := b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Designer], Ends: b.refs(t),
		Change: repair.EditEndDemand{Demand: repair.EndDemandIn{How: repair.ByStatics, Source: "drawing 14"}}})
	require.NoError(t, err)
}

func (b *bundle) refs(t testing.TB) (out []db.EndRef) {
	t.Helper()
	all, err := b.Everything(b.ctx, b.program)
	require.NoError(t, err)
	for _, r := range all.Ends {
		out = append(out, db.EndRef{ID: r.End.ID, Version: r.End.Version})
	}
	return out
}

func (b *bundle) verified(t testing.TB) {
	t.Helper()
	v, err := b.Verify(b.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

func TestLoadsGoThroughTheDoor(t *testing.T) {
	t.Parallel()
	b := setup(t)
	_, err := b.do(authz.Inspector, b.end(t, "1N-1"), someSurvey(0.5))
	require.NoError(t, err)
	b.loaded(t)
	r := b.end(t, "1N-1")
	st := r.State[0]
	require.Equal(t, repair.ByStatics, st.DemandHow)
	require.NotNil(t, st.Chance)
	require.NotNil(t, st.RatingLeast)
	b.verified(t)

	// An edit of the span reaches its ends and leaves their versions: nobody's open
	// form goes stale by it.
	s, sp, err := b.SpanLoads(b.ctx, b.program, 1)
	require.NoError(t, err)
	require.Len(t, s.Ends, 4)
	require.Equal(t, "8 in", s.SpanDemand(sp.ID).Typed["deck_mm"])
	part := s.PartsOf(sp.ID)[0]
	heavier := repair.EditLoadParts{SpanID: sp.ID, From: s.LoadPartsDigest(sp.ID), Parts: []repair.LoadPartIn{{ID: part.ID, Name: part.Name, Bucket: part.Bucket,
		Kind: part.Kind, Where: part.Where, Value: 2 * part.Value}}}
	pre, err := b.Preview(b.ctx, b.program, b.people[authz.Designer], heavier)
	require.NoError(t, err)
	require.True(t, pre.Known)
	require.Equal(t, 4, pre.Ends)
	rec := b.reach(t, authz.Designer, heavier)
	require.Len(t, rec.Versions, 4)
	now := b.end(t, "1N-1")
	require.Greater(t, now.State[0].Demand, st.Demand)
	require.Equal(t, r.End.Version, now.End.Version)
	lines, err := b.History(b.ctx, b.program, r.End.ID, 0, 1)
	require.NoError(t, err)
	require.Equal(t, "span.load_parts", lines[0].Kind, "the end's own history tells of it")
	_, err = b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Designer], Change: heavier})
	require.ErrorIs(t, err, fault.Conflict, "made from the loads of before")

	for _, span := range []string{"", "x", newID()} {
		_, err = b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: b.program, Actor: b.people[authz.Designer], Change: repair.EditSpanDemand{SpanID: span}})
		require.Error(t, err, span)
		require.Contains(t, []fault.Kind{fault.NotFound, fault.Fields}, fault.KindOf(err), "%q: %v", span, err)
	}

	b.reach(t, authz.Engineer, repair.EditTruck{Truck: demand.Truck{Code: "P-1", Class: demand.Permit, Source: "permit", Tag: basis.Read,
		Axles: []demand.Axle{{Load: 20 * units.Kip}, {Load: 30 * units.Kip, Gap: 12 * units.Foot, GapMax: 20 * units.Foot}}}})
	b.reach(t, authz.Engineer, repair.EditAssumptions{RateLow: 0.01, Rate: 0.02, RateHigh: 0.03, Source: "owner"})
	b.verified(t)
	frame, err := b.Frame(b.ctx, b.program)
	require.NoError(t, err)
	require.Equal(t, 20*units.Foot, frame.Truck("P-1").Vehicle().Axles[1].GapMax)
	require.NotNil(t, frame.Assumed())
}

func TestProcedureChangesPlacesInOneEdit(t *testing.T) {
	t.Parallel()
	b := setup(t)
	_, err := b.do(authz.Inspector, b.end(t, "1N-1"), someSurvey(0.5))
	require.NoError(t, err)
	frame, err := b.Frame(b.ctx, b.program)
	require.NoError(t, err)
	digest := b.end(t, "1N-1").State[0].InputDigest
	in := frame.ShippedProcedure()
	in.Name, in.Body, in.Edition, in.CripplingSound = "Manual", "invented body", "1", 0.9
	for range 2 {
		b.reach(t, authz.Designer, repair.EnterProcedure{Procedure: in})
	}
	frame, err = b.Frame(b.ctx, b.program)
	require.NoError(t, err)
	for _, p := range frame.Procedures {
		b.reach(t, authz.Engineer, repair.CheckProcedure{ProcedureID: p.ID, Note: "copy 12", From: p.Digest()})
	}
	for _, p := range frame.Procedures {
		b.reach(t, authz.Engineer, repair.PutProcedureInForce{ProcedureID: p.ID, Reason: "manual"})
		frame, err = b.Frame(b.ctx, b.program)
		require.NoError(t, err)
		require.Equal(t, p.ID, frame.InForce().ID)
		require.NotEqual(t, digest, b.end(t, "1N-1").State[0].InputDigest)
		b.verified(t)
	}
	b.reach(t, authz.Engineer, repair.PutProcedureInForce{Reason: "back"})
	require.Equal(t, digest, b.end(t, "1N-1").State[0].InputDigest)
	b.verified(t)
	_, err = b.Pool.Exec(b.ctx, "update procedure_pack set in_force = true")
	require.ErrorContains(t, err, "procedure_pack_in_force", "the database holds to one at most by itself")
}

func TestVerifyNamesATamperedOutlook(t *testing.T) {
	t.Parallel()
	for name, sql := range map[string]string{
		"chance":   "update outlook set chance = 0 where chance is not null",
		"document": "update outlook set odds = '{}' where chance is not null",
		"gone":     "delete from outlook where chance is not null",
		"rating":   "update outlook set rating = replace(rating::text, 'missing', 'mixxing')::json where chance is not null",
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := setup(t)
			_, err := b.do(authz.Inspector, b.end(t, "1N-1"), someSurvey(0.5))
			require.NoError(t, err)
			b.verified(t)
			_, err = b.Pool.Exec(b.ctx, sql)
			require.NoError(t, err)
			v, err := b.Verify(b.ctx)
			require.NoError(t, err)
			require.NotEmpty(t, v.Differences)
			require.Equal(t, "end 1N-1", v.Differences[0].Where)
			require.Contains(t, v.Differences[0].What, "outlook")
		})
	}
}

// A database of the release before holds no loads, no outlook and no columns to sort
// by. Its record is untouched by the upgrade, and what is derived is made up for.
func TestUpgradeKeepsTheRecordAndComputesTheRest(t *testing.T) {
	t.Parallel()
	dsn := dbtest.DSN(t)
	pool, err := db.Open(t.Context(), dsn)
	require.NoError(t, err)
	t.Cleanup(pool.Close)
	b := fill(t, db.NewStore(pool))
	_, err = b.do(authz.Inspector, b.end(t, "1N-1"), someSurvey(0.5))
	require.NoError(t, err)
	was := b.end(t, "1N-1")

	schema := openSchema(t, dsn, migrations.FS)
	require.NoError(t, schema.Down(t.Context(), 4)) // that of the release before
	require.NoError(t, schema.Up(t.Context()))
	pool.Reset() // prepared statements of the schema before

	n, err := b.NeedRefresh(b.ctx)
	require.NoError(t, err)
	require.Equal(t, 4, n)
	late := b.end(t, "1N-1")
	require.Equal(t, was.End, late.End)
	require.Empty(t, late.Outlook)
	require.Nil(t, late.State[0].Chance)

	// Somebody edits one end before the rest is computed.
	_, err = b.do(authz.Inspector, b.end(t, "1N-2"), someSurvey(0.3))
	require.NoError(t, err)
	done := 0
	n, err = b.Refresh(b.ctx, func(k int) { done = k })
	require.NoError(t, err)
	require.Equal(t, 3, n)
	require.Equal(t, n, done)
	now := b.end(t, "1N-1")
	require.Equal(t, was.Outlook, now.Outlook)
	require.Equal(t, was.State, now.State)
	require.Equal(t, was.End.Version, now.End.Version)
	b.verified(t)
	n, err = b.Refresh(b.ctx, nil)
	require.NoError(t, err)
	require.Zero(t, n)
}
