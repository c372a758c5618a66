package drawing

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/units"
)

const kipN = float64(units.Kip)

func TestSpreadToScale(t *testing.T) {
	t.Parallel()
	l := laySpread(SpreadData{System: units.US, Demand: 110 * kipN, Reported: 143 * kipN, Mean: 143 * kipN, Fifth: 130 * kipN, Median: 143 * kipN, Top: 155 * kipN}, 660)
	require.Len(t, l.shapes, 2)
	// The scale runs from 100 to 160 over 632 pixels.
	require.True(t, strings.HasPrefix(l.shapes[0].D, "M"+n(14+632*30.0/60)+" "), l.shapes[0].D)
	require.Equal(t, "sampled", l.shapes[0].Class, "what was sampled is dashed")
	demand := l.lines[len(l.lines)-1]
	require.Equal(t, "demand", demand.Class)
	require.InDelta(t, 14+632*10.0/60, demand.X1, 1e-9)
	require.Contains(t, l.desc, "5 % below 130.0\u00a0kip")
}

func TestTrailShowsEveryStep(t *testing.T) {
	t.Parallel()
	l := layTrail(TrailData{Steps: []TrailStep{{100, 0.02, 0.002, 0.07}, {300, 0.03, 0.01, 0.056}, {500, 0.028, 0.015, 0.047}}}, 660)
	require.Len(t, l.shapes, 3)
	require.Contains(t, l.desc, "500 samples: 2.8\u00a0%, from 1.5\u00a0% to 4.7\u00a0%")
}

func TestFallSetsWhatIsForeseenApart(t *testing.T) {
	t.Parallel()
	d := FallData{System: units.US, Demand: 110 * kipN, Measured: []Point{{2020, 150 * kipN}, {2026, 143 * kipN}},
		Curve: []FallPoint{{2026, 143 * kipN, 143 * kipN, 143 * kipN}, {2046, 90 * kipN, 112 * kipN, 128 * kipN}}, Years: []Rule{{2047, "2047"}}}
	raw, doc := render(t, Fall(d))
	require.NotContains(t, raw, "NaN")
	require.Len(t, find(doc, ".dwg-wide path.curve.dashed:not(.point):not(.spread)"), 3, "three lines carried forward, all dashed")
	require.Len(t, find(doc, ".dwg-wide path.curve.s-0:not(.dashed):not(.point)"), 1, "what was measured is solid")
	require.Contains(t, raw, "demand 110.0")
}

func TestStagesStepAndKeepTheirNumbers(t *testing.T) {
	t.Parallel()
	on := func(month time.Month) time.Time { return time.Date(2026, month, 5, 0, 0, 0, 0, time.UTC) }
	l := layStages(StagesData{System: units.US, Stages: []StageMark{{1, "as new", time.Time{}, 180 * kipN, 110 * kipN}, {2, "survey 1", on(1), 80 * kipN, 110 * kipN},
		{3, "cast", on(3), 80 * kipN, 110 * kipN}, {4, "strength", on(4), 150 * kipN, 110 * kipN}}}, 660)
	require.Equal(t, "curve s-0", l.shapes[0].Class)
	require.Equal(t, 8, strings.Count(l.shapes[0].D, "L")+strings.Count(l.shapes[0].D, "M"), "a start, two corners a step, and the last value held")
	numbers := 0
	for _, x := range l.texts {
		if x.Class == "strong halo" {
			numbers++
		}
	}
	require.Equal(t, 4, numbers)
	require.Contains(t, l.desc, "as new, no date: capacity 180.0\u00a0kip")
}

func TestShareRunsFromLeastToMost(t *testing.T) {
	t.Parallel()
	l := layShare(ShareData{System: units.US, Depth: 840, Bottom: 22, Panel: [2]float64{25, 635}, Resistance: 15 * kipN,
		Rows: []ShareRow{{508, 3.7 * kipN, 5.9 * kipN, 0.75, 0.86, 4}, {102, 0.4 * kipN, 1 * kipN, 0.44, 0.58, 4}}}, 660)
	require.Contains(t, l.desc, "Row 1 at 20.000\u00a0in: 3.7\u00a0kip to 5.9\u00a0kip on one stud, 75\u00a0% to 86\u00a0% left in the web")
}

// Whatever is drawn prints numbers, and no word of a chart begins left of its sheet.
func TestForeseenDrawingsHoldAnyNumbers(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		odd := rapid.SampledFrom([]float64{0, 1, 5e4, 5e5, 1e7, math.NaN(), math.Inf(1), -3e5})
		part := rapid.SampledFrom([]float64{0, 0.001, 0.5, 1, math.NaN(), math.Inf(1), -0.2, 1.2})
		width := rapid.SampledFrom([]float64{chartWidth, narrowChart}).Draw(t, "width")
		sys := rapid.SampledFrom([]units.System{units.US, units.SI}).Draw(t, "system")
		var share ShareData
		var trail TrailData
		var stages StagesData
		share.System, stages.System = sys, sys
		share.Depth, share.Bottom, share.Resistance = odd.Draw(t, "depth"), odd.Draw(t, "bottom"), odd.Draw(t, "resistance")
		for i := range rapid.IntRange(0, 6).Draw(t, "rows") {
			share.Rows = append(share.Rows, ShareRow{odd.Draw(t, "z"), odd.Draw(t, "low"), odd.Draw(t, "high"), part.Draw(t, "web"), part.Draw(t, "web"), i})
			trail.Steps = append(trail.Steps, TrailStep{100 * i, part.Draw(t, "chance"), part.Draw(t, "low"), part.Draw(t, "high")})
			st := StageMark{Number: i + 1, Capacity: odd.Draw(t, "capacity"), Demand: odd.Draw(t, "demand")}
			if rapid.Bool().Draw(t, "dated") {
				st.On = time.Date(2020+i, 3, 1+i, 0, 0, 0, 0, time.UTC)
			}
			stages.Stages = append(stages.Stages, st)
		}
		spread := SpreadData{System: sys, Demand: odd.Draw(t, "demand"), Reported: odd.Draw(t, "reported"), Mean: odd.Draw(t, "mean"), Fifth: odd.Draw(t, "fifth"),
			Median: odd.Draw(t, "median"), Top: odd.Draw(t, "top")}
		for _, l := range []oddsLayout{laySpread(spread, width), layTrail(trail, width), layShare(share, width), layStages(stages, width)} {
			require.True(t, finite(l.width, l.height), l.title)
			for _, s := range l.lines {
				require.True(t, finite(s.X1, s.Y1, s.X2, s.Y2), "%s: %v", l.title, s)
			}
			for _, o := range l.shapes {
				require.NotContains(t, o.D, "NaN")
			}
			for _, x := range l.texts {
				require.True(t, finite(x.X, x.Y), "%s: %v", l.title, x)
				require.GreaterOrEqual(t, x.X, 0.0, "%s: %v", l.title, x)
			}
		}
	})
}
