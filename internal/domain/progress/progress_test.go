package progress_test

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/progress"
	"endcast/internal/domain/published"
)

func TestControlLimitsAgainstPrintedCharts(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "control_limits.csv")
	for _, r := range y.Rows {
		n, scale := r.Number("n"), 1.0
		if r.Text("of") == "count" {
			scale = n
		}
		low, high := progress.NormalLimits(r.Number("center")/scale, int(n))
		// A unit and a half of the last figure: the charts were printed from a center that is rounded here.
		y.Figures(r, "low", low*scale, 1.5)
		y.Figures(r, "high", high*scale, 1.5)
	}
	y.Done(2 * len(y.Rows))
}

func TestNearestRankAgainstWorkedExamples(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "nearest_rank.csv")
	for _, r := range y.Rows {
		s := progress.Spread{}
		for _, x := range strings.Fields(r.Text("list")) {
			d, err := strconv.Atoi(x)
			require.NoError(t, err)
			s[d]++
		}
		y.Within(r, "value", float64(s.Quantile(r.Number("percent")/100)), 0)
	}
	y.Done(len(y.Rows))
}

func TestNumberInWorkAgainstWorkedExamples(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "flow.csv")
	for _, r := range y.Rows {
		// The stay of the bottles is printed to three figures, hence half a unit of its last.
		y.Within(r, "number", progress.Little(r.Number("rate"), r.Number("stay")), 0.005*max(r.Number("rate"), 1)+1e-9)
	}
	y.Done(len(y.Rows))
}

// spread draws a spread of days beside the plain list that it counts.
func spread(t *rapid.T) (progress.Spread, []int) {
	list := rapid.SliceOfN(rapid.IntRange(0, 400), 0, 60).Draw(t, "days")
	s := progress.Spread{}
	for _, d := range list {
		s[d]++
	}
	slices.Sort(list)
	return s, list
}

// A spread says of a list what the sorted list says of itself.
func TestASpreadIsItsList(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s, list := spread(t)
		require.EqualValues(t, len(list), s.N())
		if len(list) == 0 {
			require.Zero(t, s.Quantile(0.85))
			require.Zero(t, s.Mean())
			require.Zero(t, s.Max())
			return
		}
		require.Equal(t, list[len(list)-1], s.Max())
		sum := 0
		for _, d := range list {
			sum += d
		}
		require.InDelta(t, float64(sum)/float64(len(list)), s.Mean(), 1e-9)
		percent := rapid.IntRange(1, 100).Draw(t, "percent")
		rank := (percent*len(list) + 99) / 100 // whole numbers round up without a float
		q := s.Quantile(float64(percent) / 100)
		require.Equal(t, list[rank-1], q)
		require.LessOrEqual(t, 100*int(s.Over(q)), (100-percent)*len(list), "no more than the rest lies above it")
		require.Greater(t, 100*int(s.Over(q-1)), (100-percent)*len(list), "one day less is too few")
	})
}

func TestLimitsAreSharesThatNarrow(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p, n := rapid.Float64Range(0, 1).Draw(t, "p"), rapid.IntRange(1, 5000).Draw(t, "n")
		low, high := progress.NormalLimits(p, n)
		require.True(t, 0 <= low && low <= p && p <= high && high <= 1)
		if low > 0 && high < 1 {
			require.InDelta(t, 2*p, low+high, 1e-9, "the same to both sides")
		}
		narrow, wide := progress.NormalLimits(p, 4*n)
		require.LessOrEqual(t, low, narrow)
		require.GreaterOrEqual(t, high, wide)
		if d := high - p; high < 1 {
			require.InDelta(t, d/2, wide-p, 1e-9, "four times as many halve the distance")
		}
	})
	low, high := progress.NormalLimits(0.3, 0)
	require.Equal(t, [2]float64{0, 1}, [2]float64{low, high}, "of none anything may be")
}

var start = time.Date(2027, 3, 1, 0, 0, 0, 0, time.UTC)

func key(day int) string { return start.AddDate(0, 0, day).Format(time.DateOnly) }

// The worked burn-down: a scope that grows is a step upward on its day, and the day
// before it stays as it was.
func TestScopeThatGrowsIsAStepUpward(t *testing.T) {
	t.Parallel()
	levels := progress.Levels(progress.Flow{key(0): 40, key(30): 8}, progress.Flow{key(10): 2, key(30): 1, key(50): 4, "not a day": 3})
	for day, want := range map[int]int64{-1: 0, 0: 40, 9: 40, 10: 38, 29: 38, 30: 45, 50: 41, 900: 41} {
		require.Equal(t, want, progress.At(levels, start.AddDate(0, 0, day)), day)
	}
	require.InDelta(t, (40.0*10+38*20)/30, progress.MeanLevel(levels, start, start.AddDate(0, 0, 29)), 1e-9)
	require.Zero(t, progress.MeanLevel(levels, start, start.AddDate(0, 0, -1)))
	require.Empty(t, progress.Levels(nil, nil))
}

// job is a drawn job: the day each end was begun and, where it was, finished.
type job struct{ begun, done []int }

func drawJob(t *rapid.T, today int) job {
	var j job
	for range rapid.IntRange(1, 40).Draw(t, "ends") {
		b := rapid.IntRange(0, today-1).Draw(t, "begun")
		d := -1
		if rapid.Bool().Draw(t, "finished") {
			d = rapid.IntRange(b, today).Draw(t, "done")
		}
		j.begun, j.done = append(j.begun, b), append(j.done, d)
	}
	j.begun[0] = 0
	if j.done[0] >= 0 {
		j.done[0] = max(j.done[0], 0)
	}
	return j
}

// The average in work is the time that the ends spent in it, whichever way one counts:
// a table of every end on every day is the other way here.
func TestTheBalanceIsACountOfEveryEndOnEveryDay(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		today := rapid.IntRange(1, 200).Draw(t, "today")
		j := drawJob(t, today)
		began, done, standing, took := progress.Flow{}, progress.Flow{}, progress.Flow{}, progress.Spread{}
		inWork, days := 0, 0
		for i, b := range j.begun {
			began[key(b)]++
			if d := j.done[i]; d >= 0 {
				done[key(d)]++
				took[d-b]++
			} else {
				standing[key(b)]++
				inWork++
			}
			for day := range today {
				if day >= b && (j.done[i] < 0 || day < j.done[i]) {
					days++
				}
			}
		}
		got := progress.Weigh(began, done, took, standing, start.AddDate(0, 0, today))
		require.Equal(t, today, got.Days)
		require.InDelta(t, float64(days)/float64(today), got.Average, 1e-9)
		require.EqualValues(t, inWork, got.InWork)
		require.InDelta(t, 0, got.Unsaid(), 1e-9, "whole days leave nothing unsaid")
		require.True(t, got.Holds())
		if inWork == 0 {
			require.InDelta(t, got.Average, got.ByLaw, 1e-9, "with nothing in work the law holds as it stands")
		}
		// Counts that do not belong together are found out.
		broken := progress.Weigh(began, done, took, progress.Flow{key(0): int64(inWork) + 5*int64(len(j.begun))}, start.AddDate(0, 0, today))
		require.False(t, broken.Holds())
	})
}

func TestNothingBegunBalances(t *testing.T) {
	t.Parallel()
	got := progress.Weigh(nil, nil, nil, nil, start)
	require.Zero(t, got)
	require.True(t, got.Holds())
	require.Zero(t, progress.Weigh(progress.Flow{key(0): 3}, nil, nil, progress.Flow{key(0): 3}, start).Days, "begun today: no day is over yet")
	require.False(t, math.IsNaN(got.Apart()))
}
