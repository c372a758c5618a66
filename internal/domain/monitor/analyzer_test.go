package monitor_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/monitor/truth"
)

// feed gives rows of a record to an analyzer, changed by f; a time of -1 leaves the
// row out.
func feed(t testing.TB, r truth.Record, f func(i int, at int64, row truth.Row) (int64, truth.Row)) found {
	t.Helper()
	out := found{record: r}
	a, err := monitor.NewAnalyzer(params(), truth.Rate, channels, oneEnd, sinksTo(&out))
	require.NoError(t, err)
	for i, row := range r.Rows {
		at, row := f(i, int64(i)*period, row)
		if at >= 0 {
			require.NoError(t, a.Row(at, row[:]))
		}
	}
	out.counts = a.Close()
	return out
}

func usable(f found) (out []monitor.Passage) {
	for _, p := range f.passages {
		if p.Web.Flag == monitor.Usable {
			out = append(out, p)
		}
	}
	return out
}

// Records that the search was not settled on: every truck found, at most one false
// event in a hundred, ratio and share as put in.
func TestEveryTruckIsFound(t *testing.T) {
	t.Parallel()
	base := find(t, truth.Make(truth.Case{Seed: 100, Weight: 1}), params())
	_, before, _, _, _ := base.sizes()
	trucks, hits, extra := 0, 0, 0
	for seed := range uint64(12) {
		c := truth.Case{Seed: 1000 + seed, Weight: 1, Share: float64(seed%6) * 0.12, Seconds: 600, Headway: 12}
		f := find(t, truth.Make(c), params())
		h, x := f.hits()
		trucks, hits, extra = trucks+len(f.record.Trucks), hits+h, extra+x
		_, ratio, share, slip, _ := f.sizes()
		require.InDelta(t, 1-c.Share, monitor.Median(ratio)/monitor.Median(before), 0.04, "seed %d: few trucks", seed)
		require.InDelta(t, c.Share, monitor.Median(share), 0.03, "seed %d", seed)
		if c.Share == 0 {
			require.InDelta(t, 0, monitor.Median(slip), 0.1)
		}
	}
	require.Equal(t, trucks, hits)
	require.LessOrEqual(t, float64(extra), 0.01*float64(trucks))
}

func TestAShiftOfASignalChangesNothing(t *testing.T) {
	t.Parallel()
	r := truth.Make(truth.Case{Seed: 7, Weight: 1, Share: 0.4, Seconds: 300})
	plain := find(t, r, params())
	moved := feed(t, r, func(_ int, at int64, row truth.Row) (int64, truth.Row) {
		for c := range row {
			row[c] += 512
		}
		return at + 77*3600e9, row
	})
	require.Len(t, moved.passages, len(plain.passages))
	for i, p := range plain.passages {
		q := moved.passages[i]
		require.Equal(t, p.Web.At+77*3600e9, q.Web.At)
		require.InDelta(t, p.Web.Peak, q.Web.Peak, 1e-9)
		require.InDelta(t, p.Ratio, q.Ratio, 1e-9)
		require.InDelta(t, p.Slip, q.Slip, 1e-9)
		require.InDelta(t, p.Web.Level+512, q.Web.Level, 1e-9)
	}
}

// Time stamps that wander by a millisecond, or a clock that runs fast, move a peak by
// less than the noise.
func TestUnevenTimesAreLaidOnTheGrid(t *testing.T) {
	t.Parallel()
	r := truth.Make(truth.Case{Seed: 7, Weight: 1, Share: 0.4, Seconds: 300})
	plain := find(t, r, params())
	for name, f := range map[string]func(i int, at int64) int64{
		"wander": func(i int, at int64) int64 { return at + 5e6 + int64(i*7919%2001-1000)*1000 },
		"fast":   func(i int, at int64) int64 { return at + at/20_000 },
	} {
		got := feed(t, r, func(i int, at int64, row truth.Row) (int64, truth.Row) { return f(i, at), row })
		require.Len(t, got.passages, len(plain.passages), name)
		for i, p := range plain.passages {
			require.InDelta(t, p.Web.Peak, got.passages[i].Web.Peak, 5, name)
			require.InDelta(t, float64(p.Web.At), float64(got.passages[i].Web.At), 60e6, name)
		}
		require.Zero(t, got.counts.Skipped)
	}
}

// Short gaps are bridged, longer ones cut what touches them, long ones begin anew;
// nothing is made up and what is clear of them stays.
func TestGaps(t *testing.T) {
	t.Parallel()
	r := truth.Make(truth.Case{Seed: 21, Weight: 1, Seconds: 600})
	plain := usable(find(t, r, params()))
	truck := int(r.Trucks[10].PeakAt * truth.Rate) // the gap begins on a truck
	for _, gap := range []int{3, 9, 60, 500, 5000} {
		got := feed(t, r, func(i int, at int64, row truth.Row) (int64, truth.Row) {
			if i > truck && i <= truck+gap {
				return -1, row
			}
			return at, row
		})
		from, to := float64(truck)/100-8, float64(truck+gap)/100+8
		want, have := clearOf(plain, from, to), clearOf(usable(got), from, to)
		require.Len(t, have, len(want), "gap %d", gap)
		for i := range want {
			require.InDelta(t, want[i].Web.Peak, have[i].Web.Peak, 2.5, "gap %d", gap)
		}
		for _, p := range usable(got) {
			require.False(t, gap > 10 && p.Web.From <= int64(truck)*period && p.Web.To >= int64(truck)*period-period, "gap %d: a cut passage is not used", gap)
		}
		cut := 0
		for _, p := range got.passages {
			if p.Web.Flag == monitor.Cut {
				cut++
				require.True(t, math.IsNaN(p.Ratio))
			}
		}
		require.Equal(t, gap > 10, cut > 0, "gap %d", gap)
	}
}

func clearOf(all []monitor.Passage, from, to float64) (out []monitor.Passage) {
	for _, p := range all {
		if s := float64(p.Web.At) / 1e9; s < from || s > to {
			out = append(out, p)
		}
	}
	return out
}

// A gauge that gives nothing for a while silences itself and no other.
func TestAGaugeThatIsSilent(t *testing.T) {
	t.Parallel()
	r := truth.Make(truth.Case{Seed: 21, Weight: 1, Share: 0.5, Seconds: 600})
	got := feed(t, r, func(i int, at int64, row truth.Row) (int64, truth.Row) {
		if i > 20_000 {
			row[4] = math.NaN() // control
		}
		if i%1000 < 3 {
			row[1] = math.Inf(1) // panel, for 0.03 s
		}
		return at, row
	})
	h, x := got.hits()
	require.Equal(t, len(r.Trucks), h)
	require.Zero(t, x)
	for _, p := range got.passages {
		require.Equal(t, float64(p.Web.At)/1e9 > 200.5, math.IsNaN(p.Ratio), "at %v", p.Web.At)
		require.False(t, math.IsNaN(p.PanelAtPeak))
		require.InDelta(t, 12, p.Temperature, 5)
	}
}

// A vehicle that stops on the bearing is too long to be a passage, and says so.
func TestAStoppedVehicle(t *testing.T) {
	t.Parallel()
	r := truth.Make(truth.Case{Seed: 21, Weight: 1, Seconds: 600})
	got := feed(t, r, func(i int, at int64, row truth.Row) (int64, truth.Row) {
		if i >= 20_000 && i < 22_000 {
			row[0] -= 80
		}
		return at, row
	})
	long := 0
	for _, e := range got.events {
		if e.Flag == monitor.TooLong {
			long++
			require.InDelta(t, 200e9, float64(e.From), 5e9)
			require.Greater(t, e.Seconds(), 15.0)
		}
	}
	require.Equal(t, 1, long)
	require.Equal(t, clearLen(find(t, r, params()), 195, 230), clearLen(got, 195, 230))
}

func clearLen(f found, from, to float64) int { return len(clearOf(usable(f), from, to)) }

// Where trucks follow each other closely the baseline sinks into the load and peaks
// come out too small. Such a stretch is refused, however dense it is.
func TestTooMuchTrafficIsRefused(t *testing.T) {
	t.Parallel()
	for _, headway := range []float64{4, 3, 2, 1} {
		f := find(t, truth.Make(truth.Case{Seed: 9, Weight: 1, Headway: headway, Least: headway / 3, Seconds: 900}), params())
		require.Empty(t, usable(f), "headway %g", headway)
		require.Len(t, f.stretches, 2, "a rest of half a stretch counts for itself")
		for _, s := range f.stretches {
			require.True(t, s.Refused)
		}
		for _, e := range f.events {
			require.NotEqual(t, monitor.Usable, e.Flag)
		}
	}
	free := find(t, truth.Make(truth.Case{Seed: 9, Weight: 1, Headway: 9, Least: 3, Seconds: 1300}), params())
	require.Len(t, free.stretches, 2, "a short rest counts with the stretch before")
	require.Len(t, usable(free), len(free.passages))
	require.Less(t, free.stretches[0].Occupancy, 0.25)
}

func TestHourlyLevels(t *testing.T) {
	t.Parallel()
	r := truth.Make(truth.Case{Seed: 9, Weight: 1, Seconds: 600})
	const start = 10*3600e9 - 300e9
	f := feed(t, r, func(_ int, at int64, row truth.Row) (int64, truth.Row) { return start + at, row })
	require.Len(t, f.levels, 12)
	for i, l := range f.levels {
		require.Equal(t, int64(9+i/6)*3600e9, l.Hour)
		require.Equal(t, 300, l.Blocks)
		if l.Channel == 0 {
			require.InDelta(t, 0.95, l.Noise, 0.05, "noise of 0.9 and the mains")
		}
		if l.Channel == 5 {
			require.InDelta(t, 12, l.Value, 4.1)
			require.True(t, math.IsNaN(l.Noise))
		}
	}
}

// Two gauges on the faces of a web that bends count as their mean.
func TestMeanOfTwoFaces(t *testing.T) {
	t.Parallel()
	r := truth.Make(truth.Case{Seed: 21, Weight: 1, Seconds: 300})
	want := find(t, r, params())
	var f found
	pair := append([]monitor.Channel{}, channels...)
	pair[0].Columns = []int{0, 6}
	a, err := monitor.NewAnalyzer(params(), truth.Rate, pair, oneEnd, sinksTo(&f))
	require.NoError(t, err)
	for i, row := range r.Rows {
		bend := 40 * math.Sin(float64(i)/37)
		require.NoError(t, a.Row(int64(i)*period, append([]float64{row[0] + bend}, append(row[1:], row[0]-bend)...)))
	}
	a.Close()
	require.Len(t, f.passages, len(want.passages))
	require.InDelta(t, want.passages[3].Ratio, f.passages[3].Ratio, 1e-9)
}

func TestWrongSetsAndRows(t *testing.T) {
	t.Parallel()
	var invalid *fault.Invalid
	for name, change := range map[string]func(p *monitor.Params, rate *float64, c []monitor.Channel, s *monitor.Set){
		"slow":      func(_ *monitor.Params, rate *float64, _ []monitor.Channel, _ *monitor.Set) { *rate = 10 },
		"no web":    func(_ *monitor.Params, _ *float64, _ []monitor.Channel, s *monitor.Set) { s.Web = -1 },
		"role":      func(_ *monitor.Params, _ *float64, _ []monitor.Channel, s *monitor.Set) { s.Panel = 4 },
		"range":     func(_ *monitor.Params, _ *float64, _ []monitor.Channel, s *monitor.Set) { s.Slip = 9 },
		"sign":      func(_ *monitor.Params, _ *float64, c []monitor.Channel, _ *monitor.Set) { c[0].Sign = 0 },
		"no column": func(_ *monitor.Params, _ *float64, c []monitor.Channel, _ *monitor.Set) { c[2].Columns = nil },
		"column":    func(_ *monitor.Params, _ *float64, c []monitor.Channel, _ *monitor.Set) { c[2].Columns = []int{-1} },
		"off":       func(p *monitor.Params, _ *float64, _ []monitor.Channel, _ *monitor.Set) { p.OffLeast = 9 },
		"window":    func(p *monitor.Params, _ *float64, _ []monitor.Channel, _ *monitor.Set) { p.Window = 4 },
		"stretch":   func(p *monitor.Params, _ *float64, _ []monitor.Channel, _ *monitor.Set) { p.Stretch = 5 },
		"slip":      func(p *monitor.Params, _ *float64, _ []monitor.Channel, _ *monitor.Set) { p.SlipTo = 3 },
		"nan":       func(p *monitor.Params, _ *float64, _ []monitor.Channel, _ *monitor.Set) { p.Merge = math.NaN() },
	} {
		p, rate, s := params(), truth.Rate, oneEnd[0]
		c := append([]monitor.Channel{}, channels...)
		change(&p, &rate, c, &s)
		_, err := monitor.NewAnalyzer(p, rate, c, []monitor.Set{s}, monitor.Sinks{})
		require.ErrorAs(t, err, &invalid, name)
	}
	a, err := monitor.NewAnalyzer(params(), truth.Rate, channels, oneEnd, monitor.Sinks{})
	require.NoError(t, err)
	require.ErrorIs(t, a.Row(0, []float64{1, 2}), fault.Malformed)
	row := make([]float64, 6)
	require.NoError(t, a.Row(period, row))
	require.NoError(t, a.Row(period, row))
	require.NoError(t, a.Row(0, row))
	require.NoError(t, a.Row(2*period, row))
	require.Equal(t, monitor.Taken{Rows: 4, Skipped: 2}, a.Close())
	require.Equal(t, "too much traffic", monitor.Crowded.String())
}

// Whatever a logger writes, nothing panics, and what is found makes sense.
func TestAnyStreamIsTaken(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var f found
		rate := rapid.SampledFrom([]float64{50, 60, 100, 1000.0 / 7}).Draw(t, "rate")
		a, err := monitor.NewAnalyzer(params(), rate, channels, oneEnd, sinksTo(&f))
		require.NoError(t, err)
		d := monitor.NewDraw(rapid.Uint64().Draw(t, "seed"))
		wild := rapid.Float64Range(0, 0.02).Draw(t, "wild")
		at := int64(rapid.Int32().Draw(t, "start")) * 1e9
		row := make([]float64, 6)
		for range rapid.IntRange(0, 4000).Draw(t, "rows") {
			at += int64(1e9 / rate * (0.9 + 0.2*d.Uniform()))
			if d.Uniform() < wild {
				at += int64((d.Uniform() - 0.2) * math.Pow(10, 11*d.Uniform()))
			}
			for c := range row {
				row[c] = d.Normal()
				if u := d.Uniform(); u < wild {
					row[c] = []float64{math.NaN(), math.Inf(1), -1e300, 1e300, 300, -300}[int(u/wild*6)]
				}
			}
			require.NoError(t, a.Row(at, row))
		}
		a.Close()
		a.Close()
		last := int64(math.MinInt64)
		for _, e := range f.events {
			require.True(t, e.From <= e.At && e.At <= e.To, "%+v", e)
			require.False(t, math.IsNaN(e.Peak))
		}
		for _, p := range f.passages {
			require.GreaterOrEqual(t, p.Web.At, last)
			last = p.Web.At
			if p.Ratio == p.Ratio {
				require.GreaterOrEqual(t, p.Ratio, 0.0)
			}
		}
		for _, s := range f.stretches {
			require.True(t, s.Occupancy >= 0 && s.Occupancy <= 2.01 && s.From <= s.To, "%+v", s)
		}
	})
}

// 30 minutes of six channels at 100 samples a second.
func BenchmarkEvents(b *testing.B) {
	r := truth.Make(truth.Cases()[1])
	for b.Loop() {
		n := 0
		a, err := monitor.NewAnalyzer(params(), truth.Rate, channels, oneEnd, monitor.Sinks{Passage: func(monitor.Passage) { n++ }})
		require.NoError(b, err)
		for i := range r.Rows {
			if err := a.Row(int64(i)*period, r.Rows[i][:]); err != nil {
				b.Fatal(err)
			}
		}
		a.Close()
		require.Equal(b, 98, n)
	}
	b.ReportMetric(float64(len(r.Rows)*len(channels)*b.N)/b.Elapsed().Seconds(), "samples/s")
}
