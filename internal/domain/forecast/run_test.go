package forecast

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/published"
)

var friday = time.Date(2027, 7, 16, 12, 0, 0, 0, time.UTC)

// fortnights is a history of windows two weeks apart that ends before friday.
func fortnights(steps ...int) []Window {
	out := make([]Window, len(steps))
	for i, n := range steps {
		out[i] = Window{Starts: friday.AddDate(0, 0, -14*(len(steps)-i)), Steps: n, Lost: n == 0}
	}
	return out
}

// Hand calculation: nine windows, two lost, 20 steps, 20/9 = 2.22 a window. 34 remaining steps take 15.3 windows of
// 14 days = 214 days; with 28 days for the last test that is 242 days after 2027-07-16, 2028-03-14.
func TestTheMedianLandsNearTheHandCalculation(t *testing.T) {
	in := Input{From: friday, Due: time.Date(2027, 11, 19, 0, 0, 0, 0, time.UTC), Seed: 7,
		Kinds: []Kind{{Name: "track", Remaining: 34, History: fortnights(0, 1, 3, 3, 0, 4, 3, 3, 3), Tail: 28 * 24 * time.Hour}}}
	got, err := Run(in)
	require.NoError(t, err)
	require.InDelta(t, 2.222, got.Kinds[0].Mean, 0.001)
	require.WithinDuration(t, time.Date(2028, 3, 14, 0, 0, 0, 0, time.UTC), got.P50, 15*24*time.Hour)
	require.False(t, got.P85.Before(got.P50))
	require.Zero(t, got.Chance, "126 days are nine windows; 34 steps in nine windows of at most 4 are possible, yet hardly")
	require.True(t, got.Kinds[0].Thin)
	require.NotEmpty(t, got.Kinds[0].Caution())
	require.Equal(t, 1.0, round(got.Kinds[0].Latest))

	again, err := Run(in)
	require.NoError(t, err)
	require.Equal(t, got, again, "the same seed gives the same dates")

	in.Ifs = []WhatIf{{Kind: "track", Windows: 2, Yield: 1}}
	twice, err := Run(in)
	require.NoError(t, err)
	require.WithinDuration(t, friday.AddDate(0, 0, 107+28), twice.P50, 10*24*time.Hour, "windows every week halve the 214 days")
	require.Greater(t, twice.Chance, 0.1)
}

func round(x float64) float64 { return float64(int(x*1e6+0.5)) / 1e6 }

// Steps kept in planned windows are spread over them: the sample's mean is what the worked season gives for its kind.
func TestYieldOfAWindowAgainstAWorkedSeason(t *testing.T) {
	y := published.Open(t, "window_yield.csv")
	for _, r := range y.Rows {
		windows, kept := int(r.Number("windows")), int(r.Number("kept"))
		steps := make([]int, windows)
		for i := range kept {
			steps[(7*i)%windows]++ // any spread: the mean is the same
		}
		got, err := Run(Input{From: friday, Runs: 1, Kinds: []Kind{{Name: "a", Remaining: 1, History: fortnights(steps...)}}})
		require.NoError(t, err)
		y.Shown(r, "mean", got.Kinds[0].Mean, 0)
		y.Shown(r, "share", 100*float64(kept)/r.Number("promised"), 0)
	}
	y.Done(2 * len(y.Rows))
}

// With the start-up windows left out, the same record promises more: the reason why leaving out asks for a reason.
func TestLeavingOutPoorWindowsMovesTheDate(t *testing.T) {
	kind := Kind{Name: "track", Remaining: 20, History: fortnights(0, 0, 3, 3, 2, 4, 3, 2, 3)}
	all, err := Run(Input{From: friday, Kinds: []Kind{kind}})
	require.NoError(t, err)
	kind.History[0].Excluded, kind.History[1].Excluded = "start-up", "start-up"
	fewer, err := Run(Input{From: friday, Kinds: []Kind{kind}})
	require.NoError(t, err)
	require.Equal(t, 2, fewer.Kinds[0].Excluded)
	require.True(t, fewer.P50.Before(all.P50))
}

// A constant yield leaves nothing to chance: every percentile is the plain count.
func TestAConstantYieldIsADivision(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		per, left := rapid.IntRange(1, 9).Draw(t, "steps a window"), rapid.IntRange(1, 400).Draw(t, "left")
		got, err := Run(Input{From: friday, Runs: 20, Seed: rapid.Uint64().Draw(t, "seed"),
			Kinds: []Kind{{Name: "night", Remaining: left, History: fortnights(per, per, per)}}})
		require.NoError(t, err)
		windows := (left + per - 1) / per
		want := friday.AddDate(0, 0, 14*windows)
		require.Equal(t, want, got.P50)
		require.Equal(t, want, got.P95)
		require.Equal(t, want, got.Kinds[0].Naive)
	})
}

func TestMoreIsNeverLater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		steps := rapid.SliceOfN(rapid.IntRange(0, 5), 2, 12).Draw(t, "history")
		steps[0] = max(steps[0], 1)
		in := Input{From: friday, Due: friday.AddDate(0, 4, 0), Runs: 200, Seed: 3,
			Kinds: []Kind{{Name: "a", Remaining: rapid.IntRange(1, 60).Draw(t, "left"), History: fortnights(steps...)}}}
		base, err := Run(in)
		require.NoError(t, err)
		in.Ifs = []WhatIf{{Kind: "a", Windows: 1, Yield: 1.5}}
		crew, err := Run(in)
		require.NoError(t, err)
		require.False(t, crew.P50.After(base.P50))
		require.GreaterOrEqual(t, crew.Chance, base.Chance)
		in.Ifs = []WhatIf{{Kind: "a", Windows: 2, Yield: 1}}
		more, err := Run(in)
		require.NoError(t, err)
		require.False(t, more.P50.After(base.P50))
		in.Ifs = nil
		in.Kinds[0].Remaining++
		longer, err := Run(in)
		require.NoError(t, err)
		require.False(t, longer.P50.Before(base.P50))
	})
}

func TestTheProgramIsDoneWithItsLatestKind(t *testing.T) {
	got, err := Run(Input{From: friday, Kinds: []Kind{
		{Name: "day", Remaining: 4, History: fortnights(2, 2)}, {Name: "track", Remaining: 10, History: fortnights(2, 2)}, {Name: "none left"}}})
	require.NoError(t, err)
	require.Equal(t, friday.AddDate(0, 0, 70), got.P50)
	require.Equal(t, 1.0, round(got.Kinds[1].Latest))
	require.Zero(t, got.Kinds[0].Latest)
	require.Equal(t, friday, got.Kinds[2].P50)
	require.Len(t, got.Months, 1)
}

func TestWhatCannotBeForetoldSaysSo(t *testing.T) {
	for name, k := range map[string]Kind{
		"no window":       {Name: "a", Remaining: 3},
		"nothing done":    {Name: "a", Remaining: 3, History: fortnights(0, 0, 0)},
		"one window only": {Name: "a", Remaining: 3, History: fortnights(2)},
	} {
		got, err := Run(Input{From: friday, Kinds: []Kind{k}})
		require.NoError(t, err, name)
		require.NotEmpty(t, got.Kinds[0].Endless, name)
		require.Equal(t, "a", got.Endless, name)
		require.True(t, got.P50.IsZero(), name)
	}
	for name, in := range map[string]Input{
		"negative left":    {Kinds: []Kind{{Remaining: -1}}},
		"steps while lost": {Kinds: []Kind{{History: []Window{{Steps: 1, Lost: true}}}}},
		"no windows":       {Ifs: []WhatIf{{Windows: 0, Yield: 1}}},
		"disorder":         {Kinds: []Kind{{Ahead: []time.Time{friday, friday.Add(-1)}}}},
	} {
		_, err := Run(in)
		require.Error(t, err, name)
	}
}

func TestPlannedWindowsComeFirst(t *testing.T) {
	got, err := Run(Input{From: friday, Kinds: []Kind{{Name: "a", Remaining: 3, History: fortnights(1, 1),
		Ahead: []time.Time{friday.AddDate(0, 0, 1), friday.AddDate(0, 0, 3)}, Every: 7 * 24 * time.Hour}}})
	require.NoError(t, err)
	require.Equal(t, friday.AddDate(0, 0, 10), got.P50)
}

func BenchmarkForecast(b *testing.B) {
	kinds := []Kind{
		{Name: "day", Remaining: 120, History: fortnights(1, 2, 0, 2, 3, 1, 2, 2, 1, 2), Every: 24 * time.Hour},
		{Name: "night", Remaining: 150, History: fortnights(1, 2, 0, 2, 3, 1, 2, 2, 1, 2), Every: 56 * time.Hour},
		{Name: "track", Remaining: 60, History: fortnights(0, 1, 3, 3, 0, 4, 3, 3, 3)}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Run(Input{From: friday, Kinds: kinds, Runs: 4000, Seed: 1}); err != nil {
			b.Fatal(err)
		}
	}
}
