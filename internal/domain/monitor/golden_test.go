package monitor_test

import (
	"math"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/monitor/truth"
	"endcast/internal/domain/published"
)

// found is what the program finds on one record.
type found struct {
	record    truth.Record
	passages  []monitor.Passage
	events    []monitor.Event
	levels    []monitor.Level
	stretches []monitor.Stretch
	counts    monitor.Taken
}

var channels = []monitor.Channel{
	{Name: "web", Role: monitor.RoleWeb, Sign: -1, Columns: []int{0}},
	{Name: "panel", Role: monitor.RolePanel, Sign: -1, Columns: []int{1}},
	{Name: "stud", Role: monitor.RoleStud, Sign: 1, Columns: []int{2}},
	{Name: "slip", Role: monitor.RoleSlip, Columns: []int{3}},
	{Name: "control", Role: monitor.RoleControl, Sign: 1, Columns: []int{4}},
	{Name: "temperature", Role: monitor.RoleTemperature, Columns: []int{5}},
}

var oneEnd = []monitor.Set{{Web: 0, Control: 4, Panel: 1, Stud: 2, Slip: 3, Temperature: 5}}

const period = int64(10_000_000) // ns between samples

func sinksTo(f *found) monitor.Sinks {
	return monitor.Sinks{
		Passage: func(p monitor.Passage) { f.passages = append(f.passages, p) },
		Event:   func(e monitor.Event) { f.events = append(f.events, e) },
		Level:   func(l monitor.Level) { f.levels = append(f.levels, l) },
		Stretch: func(s monitor.Stretch) { f.stretches = append(f.stretches, s) },
	}
}

func find(t testing.TB, r truth.Record, p monitor.Params) found {
	t.Helper()
	f := found{record: r}
	a, err := monitor.NewAnalyzer(p, truth.Rate, channels, oneEnd, sinksTo(&f))
	require.NoError(t, err)
	for i := range r.Rows {
		require.NoError(t, a.Row(int64(i)*period, r.Rows[i][:]))
	}
	f.counts = a.Close()
	return f
}

// known are the five records of the recipe and what is found on them, made once:
// tests read them only.
var known = sync.OnceValue(func() (out []found) {
	for _, c := range truth.Cases() {
		f := found{record: truth.Make(c)}
		a, err := monitor.NewAnalyzer(params(), truth.Rate, channels, oneEnd, sinksTo(&f))
		if err != nil {
			panic(err)
		}
		for i := range f.record.Rows {
			if err := a.Row(int64(i)*period, f.record.Rows[i][:]); err != nil {
				panic(err)
			}
		}
		f.counts = a.Close()
		out = append(out, f)
	}
	return out
})

func params() monitor.Params { return monitor.ParamsOf(basis.Basis{}) }

// sizes are web peaks, ratios, shares and slips (in micrometers) of usable
// passages, and how many the panel shows.
func (f found) sizes() (web, ratio, share, slip []float64, panel int) {
	for _, p := range f.passages {
		if p.Web.Flag != monitor.Usable {
			continue
		}
		web = append(web, -p.Web.Peak)
		if p.Ratio == p.Ratio {
			ratio = append(ratio, p.Ratio)
		}
		if p.Panel == p.Panel {
			panel++
		}
		pf, wf := -p.PanelAtPeak*truth.PanelEA, -p.Web.Peak*truth.WebEA
		share = append(share, pf/(pf+wf))
		if p.Slip == p.Slip {
			slip = append(slip, p.Slip)
		}
	}
	return web, ratio, share, slip, panel
}

// hits pairs trucks with passages as they come; what is left over is false.
func (f found) hits() (hits, extra int) {
	used := map[int]bool{}
	for _, k := range f.record.Trucks {
		for i, p := range f.passages {
			if !used[i] && math.Abs(float64(p.Web.At)/1e9-k.PeakAt) < 0.6 {
				used[i] = true
				hits++
				break
			}
		}
	}
	return hits, len(f.passages) - hits
}

func above(v []float64, limit float64) (n int) {
	for _, x := range v {
		if x > limit {
			n++
		}
	}
	return n
}

func TestPublishedPassages(t *testing.T) {
	t.Parallel()
	got := map[string]float64{}
	var before, beforeRatio []float64
	r := monitor.Resampling{Times: 2000, Seed: 1}
	for _, f := range known() {
		c := f.record.Case
		web, ratio, share, slip, panel := f.sizes()
		hits, extra := f.hits()
		put := func(item string, v float64) { got[c.Name+" "+item] = v }
		put("trucks", float64(len(f.record.Trucks)))
		put("hits", float64(hits))
		put("false", float64(extra))
		put("p50", monitor.Median(web))
		put("p90", monitor.Percentile(web, 0.90))
		put("p95", monitor.Percentile(web, 0.95))
		put("ratio", monitor.Median(ratio))
		put("coincidence", float64(panel)/float64(len(web)))
		put("share", monitor.Median(share))
		put("slip", monitor.Median(slip))
		var raw []float64
		for _, row := range f.record.Rows {
			raw = append(raw, row[3])
		}
		put("drift", monitor.Median(raw[len(raw)-6000:])-monitor.Median(raw[:6000]))
		if c.Name == "before" {
			before, beforeRatio = web, ratio
			continue
		}
		i := r.RatioOf(monitor.Each(web), monitor.Each(before), 0.5)
		put("raw_ratio", i.Value)
		put("raw_low", i.Low)
		put("raw_high", i.High)
		i = r.RatioOf(monitor.Each(ratio), monitor.Each(beforeRatio), 0.5)
		put("norm_ratio", i.Value)
		put("norm_low", i.Low)
		put("norm_high", i.High)
		mw, ks := monitor.MannWhitney(web, before, false), monitor.KolmogorovSmirnov(web, before)
		put("auc", mw.AUC)
		put("mw_p", mw.P)
		put("ks_d", ks.D)
		put("ks_p", ks.P)
		rate := monitor.RateRatio(monitor.Counted{N: above(web, 100), Hours: 0.5}, monitor.Counted{N: above(before, 100), Hours: 0.5})
		put("rate_ratio", rate.Ratio)
		put("rate_low", rate.Low)
		put("rate_high", rate.High)
		if c.Name == "after" {
			require.InEpsilon(t, 9.8e-48, ks.P, 0.01, "exact, counted as first touching")
			require.InEpsilon(t, 4e-34, mw.P, 0.2)
			require.Equal(t, 99, above(before, 100))
			require.Zero(t, above(web, 100))
		}
	}
	tab := published.Open(t, "strain_golden.csv").In("in the unit of the value")
	for _, row := range tab.Rows {
		v, ok := got[row.Text("case")+" "+row.Text("item")]
		require.True(t, ok, row.Text("item"))
		tol := row.Number("tolerance")
		if tol == 0 {
			tab.Figures(row, "value", v, 0.501)
		} else {
			tab.Within(row, "value", v, tol+0.0005)
		}
	}
	tab.Done(len(tab.Rows))
}
