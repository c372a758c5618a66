package repair_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

func TestCompareReadingsByHand(t *testing.T) {
	t.Parallel()
	was := &survey.Survey{Readings: []survey.Reading{
		{Face: "T", X: 0, Z: 25, T: 12}, {Face: "T", X: 75, Z: 25, T: 11}, {Face: "T", X: 150, Z: 25, T: 10}, {Face: "T", X: 225, Z: 25, NoAccess: true}}}
	is := &survey.Survey{Readings: []survey.Reading{
		{Face: "T", X: 2, Z: 26, T: 11},      // one place, 1 mm thinner
		{Face: "T", X: 75, Z: 25, T: 6},      // 5 mm thinner
		{Face: "T", X: 225, Z: 25, T: 9},     // could not be read before
		{Face: "T", X: 300, Z: 25, T: 12},    // nobody read here before
		{Face: "L", X: 150, Z: 25, T: 10},    // another face is another place
		{Face: "T", X: 150, Z: 25.5, T: 10}}} // as it was
	got := repair.CompareReadings(was, is)
	require.Len(t, got, 5)
	require.Equal(t, units.Length(5), got[0].Thinner(), "the largest new loss first")
	require.Equal(t, units.Length(1), got[1].Thinner())
	require.True(t, got[2].Was.NoAccess)
	require.Zero(t, got[2].Thinner())
	require.Nil(t, got[3].Was)
	require.Nil(t, got[4].Was)
	require.Empty(t, repair.CompareReadings(was, was))
	require.Len(t, repair.CompareReadings(nil, is), 6)
	for _, c := range repair.CompareReadings(was, nil) {
		require.Nil(t, c.Is)
	}
}

func TestSurveyAtAMoment(t *testing.T) {
	t.Parallel()
	day := func(n int) time.Time { return time.Date(2030, 5, n, 8, 0, 0, 0, time.UTC) }
	later := func(id string) *string { return &id }
	r := repair.Record{
		Surveys: []repair.Survey{{ID: "s1", Number: 1, ArrivedAt: day(1)}, {ID: "s2", Number: 2, ArrivedAt: day(9)}},
		Readings: []repair.Reading{
			{ID: "a", SurveyID: "s1", Face: "T", X: 10, T: 9, CapturedAt: day(1), SupersededBy: later("b")},
			{ID: "b", SurveyID: "s1", Face: "T", X: 10, T: 8, CapturedAt: day(3), SupersededBy: later("c")},
			{ID: "c", SurveyID: "s1", Face: "T", X: 10, T: 7, CapturedAt: day(5)},
			{ID: "d", SurveyID: "s1", Face: "T", X: 20, T: 6, CapturedAt: day(5)},
			{ID: "e", SurveyID: "s2", Face: "T", X: 10, T: 5, CapturedAt: day(9)},
		},
	}
	thickness := func(at time.Time) []units.Length {
		sv, found := r.SurveyAt(at)
		if sv == nil {
			return nil
		}
		out := []units.Length{units.Length(sv.Number)}
		for _, x := range found.Readings {
			out = append(out, x.T)
		}
		return out
	}
	require.Nil(t, thickness(day(1).Add(-time.Hour)))
	require.Equal(t, []units.Length{1, 9}, thickness(day(2)))
	require.Equal(t, []units.Length{1, 8}, thickness(day(4)))
	require.Equal(t, []units.Length{1, 7, 6}, thickness(day(6)))
	require.Equal(t, []units.Length{2, 5}, thickness(day(9)))
}
