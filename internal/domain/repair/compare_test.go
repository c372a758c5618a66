package repair_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

func keysOf(list []repair.FactChange) (out []string) {
	for _, c := range list {
		out = append(out, c.Key)
	}
	return out
}

// Two revisions differ in exactly what was altered between them: the layout stud by stud,
// the readings between their surveys, the fact of the end, the setting, and the checks
// that follow.
func TestCompareSightsNamesEveryDifference(t *testing.T) {
	t.Parallel()
	s := decided(t)
	r := func() *repair.Record { return s.Ends[0] }
	first := r().LatestDesign()
	require.True(t, repair.CompareSights(r().Sighted(s.Scope, first, false), r().Sighted(s.Scope, first, true)).Empty(), "as decided is as known now")

	require.NoError(t, s.do(authz.Inspector, again(func(c *repair.RecordSurvey) { c.Readings[5].T -= 0.05 * units.Inch })))
	f := repair.FactsOf(r().End)
	f.Fy = 36 * units.Ksi
	require.NoError(t, s.do(authz.Designer, repair.EditEnd{Facts: f, Reason: "looked up again"}))
	require.NoError(t, s.do(authz.Engineer, set(basis.ReviewNoise, 1))) // a rule of reviews: no check reads it

	second := repair.DesignFrom(*r().DesignOf(first))
	second.Studs[0].X += units.Inch
	gone := second.Studs[1].Mark
	second.Studs[1].Mark = "L-new"
	second.PanelWidth += 2 * units.Inch
	require.NoError(t, s.do(authz.Designer, repair.SaveDesign{Design: second}))
	was, is := r().Revision(first.ID), r().LatestDesign()
	require.Equal(t, was.ID, r().RevisionBefore(is).ID)
	require.Nil(t, r().RevisionBefore(was))

	c := repair.CompareSights(r().Sighted(s.Scope, was, false), r().Sighted(s.Scope, is, false))
	require.True(t, c.Was.Kept())
	require.False(t, c.Is.Kept())
	require.Equal(t, 1, c.Was.Survey.Number)
	require.Equal(t, 2, c.Is.Survey.Number)
	require.Len(t, c.Layout.Studs, 3)
	require.Equal(t, map[string]string{"L-new": gone}, c.Layout.Renamed())
	require.Len(t, c.Layout.Quantities, 1)
	require.Len(t, c.Readings, 1)
	require.InDelta(t, float64(0.05*units.Inch), float64(c.Readings[0].Thinner()), 1e-9)
	require.Subset(t, keysOf(c.Inputs), []string{"survey", "end.fy"})
	require.NotContains(t, keysOf(c.Inputs), "layout", "told stud by stud")
	require.NotContains(t, keysOf(c.Inputs), "demand")
	require.NotEmpty(t, c.Checks)
	for _, x := range c.Checks {
		require.NotEqual(t, x.Was.Sum, x.Is.Sum, x.Key)
		require.Contains(t, c.Is.Checks, x.Key, "what is computed now has demand and resistance")
	}
	require.Equal(t, len(keysOf(c.Checks))+c.Same, len(c.Is.Checks))

	// A check of before is shown with values only where the record still gives its ratio.
	for key := range c.Was.Checks {
		for _, fact := range c.Was.Facts {
			if fact.Key == key && fact.Value != nil {
				require.InDelta(t, *fact.Value, c.Was.Checks[key].Ratio, 1e-9)
			}
		}
	}

	// The other way round is the mirror.
	back := repair.CompareSights(c.Is, c.Was)
	require.ElementsMatch(t, keysOf(c.Inputs), keysOf(back.Inputs))
	require.ElementsMatch(t, keysOf(c.Checks), keysOf(back.Checks))
	require.Equal(t, c.Readings[0].Thinner(), -back.Readings[0].Thinner())
}

// A revision that was only submitted stands on the survey of that moment, whatever came
// after.
func TestSightedStandsOnTheSurveyItWasSubmittedOn(t *testing.T) {
	t.Parallel()
	s := proposed(t)
	require.NoError(t, s.do(authz.Designer, repair.SubmitDesign{}))
	require.NoError(t, s.do(authz.Inspector, again(func(c *repair.RecordSurvey) { c.Readings[5].T -= 0.2 * units.Inch })))
	r := s.Ends[0]
	v := r.Sighted(s.Scope, r.LatestDesign(), false)
	require.False(t, v.Kept())
	require.Equal(t, 1, v.Survey.Number)
	require.Equal(t, 2, r.Sighted(s.Scope, r.LatestDesign(), true).Survey.Number)
	require.Len(t, repair.CompareSights(v, r.Sighted(s.Scope, r.LatestDesign(), true)).Readings, 1)
}
