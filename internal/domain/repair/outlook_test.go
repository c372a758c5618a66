package repair_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/outlook"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// What an edit does not touch is taken over as it stands, and only that.
func TestOutlookKeepsWhatAnEditDoesNotTouch(t *testing.T) {
	t.Parallel()
	s := approved(t)
	mark := func() {
		o := s.Ends[0].LatestOutlook()
		o.Odds, o.Fall, o.Foreseen, o.Rating = []byte("1"), []byte("2"), []byte("3"), []byte("4")
	}
	kept := func() string {
		o, out := s.Ends[0].LatestOutlook(), ""
		for _, doc := range [][]byte{o.Odds, o.Fall, o.Foreseen, o.Rating} {
			if len(doc) == 1 {
				out += string(doc)
			}
		}
		return out
	}
	span, first := s.Spans[0].ID, s.Ends[0].Outlook[0]
	last := s.PartsOf(span)[2]
	for _, c := range []struct {
		name string
		role authz.Role
		ch   repair.Change
		kept string
	}{
		{"a cleaning", authz.Inspector, cleaned(), "1234"},
		{"a setting of ratings", authz.Engineer, repair.EditBasis{Key: string(basis.GammaPermit), Value: 1.2, Source: "owner"}, "123"},
		{"a setting of chance", authz.Engineer, repair.EditBasis{Key: string(basis.ChanceYieldScatter), Value: 0.12, Source: "owner"}, "34"},
		{"a setting of loss in time", authz.Engineer, repair.EditBasis{Key: string(basis.DeclineCoating), Value: 12, Source: "owner"}, "134"},
		{"a rejected stud", authz.Inspector, repair.RecordCollars{DesignID: s.Ends[0].LatestDesign().ID,
			Collars: []repair.CollarIn{{Mark: s.Ends[0].Studs[0].Mark, Outcome: "rejected", GapClock: hour(6), GapLength: inches(1), Fissure: true}}}, "12"},
		{"a load", authz.Designer, repair.EditLoadParts{SpanID: span, Parts: []repair.LoadPartIn{{ID: last.ID, Name: last.Name, Bucket: last.Bucket, Kind: last.Kind, Where: last.Where, Value: 2 * last.Value}}}, ""},
	} {
		mark()
		require.NoError(t, s.do(c.role, c.ch), c.name)
		require.Equal(t, c.kept, kept(), c.name)
	}

	// The same record gives the same bytes, whatever was stored before.
	again := s.Clone()
	again.Ends[0].Outlook = nil
	require.NoError(t, again.Recompute())
	require.NotEqual(t, first.Seed, again.Ends[0].Outlook[0].Seed, "the seed follows from the inputs")
	once := again.Clone()
	once.Ends[0].Outlook = nil
	require.NoError(t, once.Recompute())
	require.Equal(t, again.Ends[0].Outlook, once.Ends[0].Outlook)
	more, ok := once.Ends[0].OddsAt(once, 2000)
	require.True(t, ok)
	require.Equal(t, 2000, more.Samples)
	stored, _ := once.Ends[0].LatestOutlook().OddsOf()
	require.Equal(t, stored.Trail[:2], more.Trail[:2], "more samples go on from the same draw")
}

func TestEndWithoutSurveyHasNoChanceAndNoYear(t *testing.T) {
	t.Parallel()
	s := begin(t)
	o, st := s.Ends[0].LatestOutlook(), s.Ends[0].State[0]
	require.Nil(t, o.Chance)
	require.Empty(t, o.FallVerdict)
	require.Nil(t, st.Chance)
	require.Equal(t, st.CapacityNew, st.Standing().Capacity)
	_, ok := o.OddsOf()
	require.False(t, ok)
	rated, ok := o.RatingOf()
	require.True(t, ok)
	require.Empty(t, rated.Rated)
	require.NotEmpty(t, rated.Missing, "a factored total says nothing of its parts")
}

// broken are the three breaks of the pour of castAgo, each at one load.
func (s *story) broken(t *testing.T, kip float64) {
	t.Helper()
	for i, m := range []string{"P001-01", "P001-02", "P001-03"} {
		ch := crushed(s, m)
		ch.Load, ch.BrokenAt = units.Force(kip)*units.Kip, s.Specimens[i].CastAt.Add(96*time.Hour+time.Duration(i)*time.Minute)
		require.NoError(t, s.do(authz.Laboratory, ch))
	}
}

func TestStagesOfAnEnd(t *testing.T) {
	t.Parallel()
	kinds := func(s *story) (out []string) {
		last := time.Time{}
		for _, x := range s.Ends[0].Stages(s.Scope) {
			require.False(t, x.At.Before(last), x.Name)
			last = x.At
			require.NotEmpty(t, x.Words)
			out = append(out, x.Kind)
		}
		return out
	}
	s := approved(t)
	require.Equal(t, []string{repair.StageAsNew, repair.StageFound}, kinds(s))
	d := s.Ends[0].LatestDesign()
	ch := repair.RecordCollars{DesignID: d.ID}
	for _, st := range s.Ends[0].StudsOf(d.ID) {
		ch.Collars = append(ch.Collars, repair.CollarIn{Mark: st.Mark, Outcome: "full"})
	}
	require.NoError(t, s.do(authz.Inspector, ch))
	s.now = s.now.Add(200 * time.Hour)
	require.NoError(t, s.do(authz.Inspector, castAgo(s, 100)))
	require.Equal(t, []string{repair.StageAsNew, repair.StageFound, repair.StageStudded, repair.StageCast}, kinds(s))
	all := s.Ends[0].Stages(s.Scope)
	for _, x := range all[2:] {
		require.Equal(t, all[1].Capacity, x.Capacity, "%s: a panel without a proven strength carries nothing", x.Kind)
		require.Equal(t, *s.Ends[0].State[0].Repaired, x.Promised)
		require.Zero(t, x.Proven)
		require.Equal(t, 1, x.Survey)
	}
	require.NotNil(t, all[0].Least)
	require.Less(t, *all[1].Least, *all[0].Least)

	// 12.0 ksi proven where 18 was specified: the panel counts with what is proven.
	weak := &story{Scope: s.Clone(), n: s.n, now: s.now}
	weak.broken(t, 85)
	last := weak.Ends[0].Stages(weak.Scope)[4]
	require.Equal(t, repair.StageProven, last.Kind)
	require.InDelta(t, 85/7.0686, float64(last.Proven/units.Ksi), 0.6, "load over area, less the conversion of the specimen")
	require.Less(t, last.Proven, last.Specified)
	require.LessOrEqual(t, last.Capacity, last.Promised)
	low := *weak.Ends[0].DesignOf(d)
	low.Fc = last.Proven
	require.Equal(t, weak.Ends[0].EvaluateDraft(weak.Scope, low, nil).Capacity, last.Capacity)

	// 24 ksi: no more than what the design counts on.
	s.broken(t, 170)
	last = s.Ends[0].Stages(s.Scope)[4]
	require.Greater(t, last.Proven, last.Specified)
	require.Equal(t, last.Promised, last.Capacity)
	require.Equal(t, *s.Ends[0].State[0].Repaired, last.Capacity)
}

func TestOrderOfRepairFollowsTheDomain(t *testing.T) {
	t.Parallel()
	force := func(k float64) *units.Force { f := units.Force(k) * units.Kip; return &f }
	at := func(v float64) *float64 { return &v }
	states := []repair.State{
		{Name: "a", Demand: *force(100), Capacity: force(120), Chance: at(0.2)},
		{Name: "b", Demand: *force(100), Capacity: force(90), Chance: at(0.9)},
		{Name: "c", Demand: *force(100), CapacityNew: *force(200)},
		{Name: "d", Demand: *force(100), Capacity: force(150), FallEarly: at(2031), FallVerdict: string(outlook.Falls)},
	}
	var list []outlook.Standing
	for _, st := range states {
		list = append(list, st.Standing())
	}
	var names string
	for _, x := range outlook.Rank(list) {
		names += x.Name
	}
	require.Equal(t, "bdac", names)
}
