package truth_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/monitor"
	"endcast/internal/domain/monitor/truth"
	"endcast/internal/domain/published"
)

func TestPublishedTruth(t *testing.T) {
	t.Parallel()
	got := map[string]float64{}
	u, n := monitor.NewDraw(11), monitor.NewDraw(11)
	for _, k := range []string{"1", "2", "3"} {
		got["seed11 uniform"+k] = u.Uniform()
	}
	for _, k := range []string{"1", "2", "3", "4"} {
		got["seed11 normal"+k] = n.Normal()
	}
	types := map[string]string{"before": "T3", "after": "T33", "after_notengaged": "T3", "after_light": "T3S2", "after_slip": "T3"}
	for _, c := range truth.Cases() {
		r := truth.Make(c)
		first := r.Trucks[0]
		require.Equal(t, types[c.Name], first.Type)
		require.Len(t, r.Rows, 180_000)
		for k, v := range map[string]float64{"trucks": float64(len(r.Trucks)), "at": first.At, "gross": first.Gross, "speed": first.Speed,
			"peak_at": first.PeakAt, "reaction": first.R, "moment": first.M, "web": r.Rows[0][0], "panel": r.Rows[0][1], "stud": r.Rows[0][2],
			"slip": r.Rows[0][3], "control": r.Rows[0][4], "temperature": r.Rows[0][5]} {
			got[c.Name+" "+k] = v
		}
	}
	tab := published.Open(t, "strain_truth.csv")
	for _, row := range tab.Rows {
		v, ok := got[row.Text("case")+" "+row.Text("item")]
		require.True(t, ok, row.Text("item"))
		tab.Figures(row, "value", v, 0.51)
	}
	tab.Done(len(got))
}

// The first words of seed 11 are those of the published recipe of splitmix64.
func TestWordsOfTheStream(t *testing.T) {
	t.Parallel()
	d := monitor.NewDraw(11)
	for _, want := range []uint64{0x50f5647d2380309d, 0x432a5cd27a6b13a1, 0xa356be306e9b126d} {
		require.Equal(t, want, d.Word())
	}
	sum, squares := 0.0, 0.0
	for range 200_000 {
		z := d.Normal()
		sum, squares = sum+z, squares+z*z
	}
	require.InDelta(t, 0, sum/200_000, 0.01)
	require.InDelta(t, 1, squares/200_000, 0.02)
	wait := 0.0
	for range 200_000 {
		wait += d.Exponential(12)
		require.Less(t, d.Index(7), 7)
	}
	require.InDelta(t, 12, wait/200_000, 0.2)
}

// Statics of a truck alone on the span: reaction and moment as an engineer would
// find them by hand.
func TestTrucksObeyStatics(t *testing.T) {
	t.Parallel()
	r := truth.Make(truth.Case{Seed: 3, Weight: 1, Share: 0.4, Seconds: 600})
	require.NotEmpty(t, r.Trucks)
	for _, k := range r.Trucks {
		require.Greater(t, k.R, 0.3*0.77*k.Gross, "most axles stand near the bearing")
		require.Less(t, k.R, 0.77*k.Gross)
		require.Less(t, k.M, 0.60*k.Gross*truth.Span/4)
		web, panel := -k.Web*truth.WebEA*1e-6, -k.Panel*truth.PanelEA*1e-6
		require.InDelta(t, k.R, web+panel, 0.001, "what web and panel carry is the reaction")
		require.InDelta(t, 0.4, panel/(web+panel), 0.001)
		require.InDelta(t, k.R*0.4*0.15, k.Slip, 0.001)
		require.InDelta(t, k.M*12/29000/900*1e6, k.Ctrl, 0.002)
		require.LessOrEqual(t, k.At, k.PeakAt)
	}
	again := truth.Make(truth.Case{Seed: 3, Weight: 1, Share: 0.4, Seconds: 600})
	require.Equal(t, r, again)
}

func TestRecordAsALoggerWritesIt(t *testing.T) {
	t.Parallel()
	r := truth.Make(truth.Case{Name: "x", Seed: 11, Weight: 1, Seconds: 20})
	lines := strings.Split(string(r.CSV(nil)), "\n")
	require.Len(t, lines, 2002)
	require.Equal(t, "t_s,web_ue,panel_ue,stud_ue,slip_um,ctrl_ue,temp_C", lines[0])
	require.True(t, strings.HasPrefix(lines[2001-1], "19.99,"))
	require.Len(t, strings.Split(lines[1], ","), 7)
	for _, row := range r.Rows {
		for _, v := range row {
			require.InDelta(t, math.Round(v*1000)/1000, v, 1e-9)
		}
	}
	require.Contains(t, r.String(), "seed 11")
}
