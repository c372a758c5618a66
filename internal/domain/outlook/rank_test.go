package outlook

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/units"
)

func names(list []Ranked) (out []string) {
	for _, r := range list {
		out = append(out, r.Name)
	}
	return out
}

func TestRankByHand(t *testing.T) {
	t.Parallel()
	got := Rank([]Standing{
		{Name: "sound", Capacity: 200, Demand: 100, Fall: Beyond, Sampled: true},
		{Name: "no demand", Capacity: 50},
		{Name: "early", Capacity: 110, Demand: 100, Early: 2030, Fall: Falls, Chance: 0.1, Sampled: true},
		{Name: "short", Capacity: 90, Demand: 100, Fall: Already, Chance: 0.8, Sampled: true},
		{Name: "shorter", Capacity: 60, Demand: 100, Fall: Already, Outside: true},
		{Name: "late", Capacity: 105, Demand: 100, Early: 2041, Fall: Falls, Chance: 0.3, Sampled: true},
		{Name: "thin", Capacity: 120, Demand: 100},
		{Name: "chancy", Capacity: 130, Demand: 100, Chance: 0.02, Sampled: true},
	})
	require.Equal(t, []string{"shorter", "short", "early", "late", "chancy", "thin", "sound", "no demand"}, names(got))
	require.Equal(t, "the capacity is 40 % of the demand short of it; outside the limits of the method, an engineer must judge", got[0].Reason)
	require.Equal(t, "the capacity is 10 % of the demand short of it; chance of being below it now 80 %", got[1].Reason)
	require.Equal(t, "falls below the demand about 2030 at the high rate of loss; chance of being below it now 10 %", got[2].Reason)
	require.Contains(t, got[4].Reason, "a chance of 2 %")
	require.Equal(t, "the capacity is 200 % of the demand, and stays above it as far as is looked ahead", got[6].Reason)
	require.Contains(t, got[7].Reason, "no demand")
	for i, r := range got {
		require.Equal(t, i+1, r.Place)
	}
	require.Empty(t, Rank(nil))
}

// Property: the order does not depend on that of the input, loses nobody, puts the
// short ends first, and changes for nobody when more is short at one end but for it.
func TestRankIsStable(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(r *rapid.T) {
		list := make([]Standing, rapid.IntRange(0, 12).Draw(r, "ends"))
		for i := range list {
			list[i] = Standing{Name: string(rune('a' + i)), Capacity: units.Force(rapid.SampledFrom([]float64{0, 50, 90, 110, 150, math.NaN()}).Draw(r, "capacity")),
				Demand: units.Force(rapid.SampledFrom([]float64{0, 100}).Draw(r, "demand")), Early: rapid.SampledFrom([]float64{0, 2030, 2040}).Draw(r, "early"),
				Chance: rapid.SampledFrom([]float64{0, 0.1, 0.5}).Draw(r, "chance"), Sampled: rapid.Bool().Draw(r, "sampled")}
		}
		got := Rank(list)
		require.Len(r, got, len(list))
		mixed := rapid.Permutation(list).Draw(r, "mixed")
		require.Equal(r, names(got), names(Rank(mixed)))
		for i := 1; i < len(got); i++ {
			require.LessOrEqual(r, got[i-1].class(), got[i].class())
			if got[i-1].class() == short && got[i].class() == short {
				require.GreaterOrEqual(r, got[i-1].shortfall(), got[i].shortfall())
			}
		}
		for _, x := range got {
			require.NotEmpty(r, x.Reason)
		}
	})
}
