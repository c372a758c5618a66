package monitor_test

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/monitor/truth"
	"endcast/internal/domain/units"
)

const (
	hourNs = int64(3600e9)
	dayNs  = 24 * hourNs
	castAt = 100 * dayNs
)

var stiff = monitor.Stiffness{Web: units.Force(truth.WebEA) * units.Kip, Panel: units.Force(truth.PanelEA) * units.Kip, WebError: 0.05, PanelError: 0.08}

func with(t testing.TB, b basis.Basis, k basis.Key, v float64) basis.Basis {
	t.Helper()
	b, err := b.With(k, v)
	require.NoError(t, err)
	return b
}

// short lets records of minutes be judged: their passages are spread over hours.
func short(t testing.TB) basis.Basis {
	b := with(t, basis.Basis{}, basis.EngagedEvents, 20)
	b = with(t, b, basis.EngagedDays, 0)
	return with(t, b, basis.EngagedResamples, 400)
}

// seenOf spreads the passages of a record over hours from a time on.
func seenOf(f found, s monitor.State, from int64) (out []monitor.Seen) {
	for i, p := range f.passages {
		if x, ok := monitor.SeenOf(p, s); ok {
			x.At = from + int64(i)*hourNs/4
			x.Slip /= 1000 // the records hold micrometers
			out = append(out, x)
		}
	}
	return out
}

func evidence(seed uint64, parts ...[]monitor.Seen) monitor.Evidence {
	ev := monitor.Evidence{Control: true, Panel: true, Stud: true, Slip: true, Stiffness: stiff, Cast: castAt, Seed: seed, Hours: [3]float64{0.5, 0.5, 0.5},
		Foreseen: &monitor.Foreseen{Share: 0.55, ShareLow: 0.45, ShareHigh: 0.65, Reduction: 0.55, ReductionLow: 0.45, ReductionHigh: 0.65}}
	for _, p := range parts {
		ev.Seen = append(ev.Seen, p...)
	}
	return ev
}

// The verdicts on the five records: only the repair that carries is engaged, though
// every raw test speaks for the others too.
func TestVerdictsOnKnownRecords(t *testing.T) {
	t.Parallel()
	before := seenOf(known()[0], monitor.Before, castAt-40*dayNs)
	want := map[string]monitor.Verdict{"after": monitor.Engaged, "after_notengaged": monitor.NotEngaged, "after_light": monitor.NotEngaged, "after_slip": monitor.NotEngaged}
	for _, f := range known()[1:] {
		c := f.record.Case
		got := monitor.Judge(short(t), evidence(7, before, seenOf(f, monitor.Days, castAt+dayNs)))
		require.Equal(t, want[c.Name], got.Verdict, "%s: %s", c.Name, got.Words)
		cmp := got.Against[0]
		require.InDelta(t, 1-c.Share, cmp.Ratio.Value, 0.02, c.Name)
		require.LessOrEqual(t, cmp.Ratio.Low, 1-c.Share+0.01, c.Name)
		require.GreaterOrEqual(t, cmp.Ratio.High, 1-c.Share-0.01, c.Name)
		require.InDelta(t, c.Share, got.States[1].Share.Value, 0.03, c.Name)
		require.Less(t, cmp.Raw[0].Value.High, 1.0, "the raw median speaks for the repair, always")
		require.Len(t, cmp.Raw, 6)
		switch c.Name {
		case "after":
			require.Empty(t, got.Finding)
			require.Contains(t, got.Words, "engaged: for the same truck")
			require.Less(t, got.States[1].Share.Low, 0.52, "what is not known of the stiffness is in it")
		case "after_slip":
			require.Contains(t, got.Words, "not engaged as designed")
			require.Equal(t, []string{"share", "reduction"}, keys(got.Finding))
		default:
			require.Equal(t, []string{"share", "reduction"}, keys(got.Finding))
		}
	}
	ev := evidence(7, before, seenOf(known()[4], monitor.Days, castAt+dayNs))
	ev.Foreseen = &monitor.Foreseen{Share: 0.2, ShareLow: 0.15, ShareHigh: 0.25, Reduction: 0.2, ReductionLow: 0.15, ReductionHigh: 0.25}
	require.Equal(t, monitor.Engaged, monitor.Judge(short(t), ev).Verdict, "it carries what that design counts on")
}

func keys(f []monitor.Finding) (out []string) {
	for _, x := range f {
		out = append(out, x.Key)
	}
	return out
}

// A repair that carries nothing is never called engaged, whatever the trucks were;
// one that carries is never missed. Two hundred repairs, each with a full stream of
// its own through the whole path from samples to verdict; the state before casting
// is one of twenty streams, so that ten repairs stand against the same. Trucks come
// twice as often as in the recipe, which holds as many passages in half the
// samples and makes the baseline harder to find.
func TestAnIdleRepairIsNeverCalledEngaged(t *testing.T) {
	t.Parallel()
	b, p := short(t), params()
	b = with(t, b, basis.EngagedResamples, 200)
	b = with(t, b, basis.EngagedBlocks, 4)
	three := []monitor.Channel{channels[0], channels[1], channels[4]}
	sets := []monitor.Set{{Web: 0, Panel: 1, Control: 2, Stud: -1, Slip: -1, Temperature: -1}}
	look := func(c truth.Case, s monitor.State, from int64) []monitor.Seen {
		r, f := truth.Make(c), found{}
		a, err := monitor.NewAnalyzer(p, truth.Rate, three, sets, sinksTo(&f))
		require.NoError(t, err)
		for i := range r.Rows {
			require.NoError(t, a.Row(int64(i)*period, r.Rows[i][:]))
		}
		a.Close()
		return seenOf(f, s, from)
	}
	const seeds, workers, ends = 200, 2, 20
	const seconds, headway = 240, 9
	befores := [ends]func() []monitor.Seen{}
	for i := range befores {
		befores[i] = sync.OnceValue(func() []monitor.Seen {
			return look(truth.Case{Seed: 5000 + uint64(i), Weight: 1, Seconds: seconds, Headway: headway}, monitor.Before, castAt-dayNs*9)
		})
	}
	verdicts := make([]monitor.Verdict, seeds)
	words := make([]string, seeds)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			for seed := w; seed < seeds; seed += workers {
				share := 0.0
				if seed%10 == 9 {
					share = 0.5
				}
				u := uint64(seed)
				after := look(truth.Case{Seed: 9000 + u, Weight: 0.6 + 0.1*float64(seed%5), Share: share, Seconds: seconds, Headway: headway}, monitor.Days, castAt+dayNs)
				ev := evidence(u, befores[seed/2%ends](), after)
				ev.Stud, ev.Slip, ev.Foreseen = false, false, nil
				got := monitor.Judge(b, ev)
				verdicts[seed], words[seed] = got.Verdict, got.Words
			}
		})
	}
	wg.Wait()
	decided := 0
	for seed, v := range verdicts {
		if seed%10 == 9 {
			require.NotEqual(t, monitor.NotEngaged, v, "seed %d: %s", seed, words[seed])
		} else {
			require.NotEqual(t, monitor.Engaged, v, "seed %d: %s", seed, words[seed])
		}
		if v == monitor.Engaged || v == monitor.NotEngaged {
			decided++
		}
	}
	require.Greater(t, decided, seeds/2, "most records have passages enough")
}

// made are passages drawn straight from a law: weights that change from day to day,
// ratios with a scatter of their own and one of the day.
func made(d *monitor.Draw, s monitor.State, from int64, days, perDay int, ratio, share float64) (out []monitor.Seen) {
	for k := range days {
		heavy, bias := math.Exp(0.3*d.Normal()), 0.01*d.Normal()
		for range perDay {
			q := ratio * math.Exp(0.05*d.Normal()+bias)
			out = append(out, monitor.Seen{At: from + int64(k)*dayNs + int64(d.Uniform()*float64(dayNs)), State: s, Web: 200 * q * heavy * math.Exp(0.45*d.Normal()), Ratio: q,
				PanelOverWeb: share / (1 - share) * float64(stiff.Web) / float64(stiff.Panel) * math.Exp(0.03*d.Normal()), Coincident: share > 0.05, Slip: 0.01 * share,
				Temperature: 12 + 3*d.Normal()})
		}
	}
	return out
}

// With the settings as they ship: the interval holds the truth about as often as it
// says, and a true ratio at the limit is called engaged hardly ever.
func TestIntervalsHoldTheTruth(t *testing.T) {
	t.Parallel()
	b := with(t, basis.Basis{}, basis.EngagedResamples, 300)
	held, called := 0, 0
	const seeds = 200
	for seed := range uint64(seeds) {
		d := monitor.NewDraw(seed)
		ev := evidence(seed, made(d, monitor.Before, castAt-30*dayNs, 14, 20, 0.74, 0), made(d, monitor.Days, castAt+dayNs, 12, 20, 0.74*0.90, 0.1))
		ev.Foreseen = nil
		got := monitor.Judge(b, ev)
		r := got.Against[0].Ratio
		require.Equal(t, 12, r.Blocks, "days")
		if r.Low <= 0.90 && 0.90 <= r.High {
			held++
		}
		if got.Verdict == monitor.Engaged {
			called++
		}
	}
	require.GreaterOrEqual(t, held, 172, "95 percent of 200 are 190; twelve days are few and make it a little narrow")
	require.LessOrEqual(t, called, 14)
}

func judged(t *testing.T, change func(ev *monitor.Evidence), ratio, share float64, days, perDay int) monitor.Judgment {
	t.Helper()
	d := monitor.NewDraw(3)
	ev := evidence(1, made(d, monitor.Before, castAt-30*dayNs, 10, 30, 0.74, 0), made(d, monitor.Days, castAt+dayNs, days, perDay, 0.74*ratio, share))
	if change != nil {
		change(&ev)
	}
	return monitor.Judge(basis.Basis{}, ev)
}

func TestVerdicts(t *testing.T) {
	t.Parallel()
	got := judged(t, nil, 0.45, 0.55, 10, 30)
	require.Equal(t, monitor.Engaged, got.Verdict, got.Words)
	require.Equal(t, monitor.Days, got.Decided)

	got = judged(t, func(ev *monitor.Evidence) { ev.Control = false }, 0.45, 0.55, 10, 30)
	require.Equal(t, monitor.IndicativeOnly, got.Verdict, "without a control gauge nothing is more")
	require.Contains(t, got.Words, "no control gauge")
	require.Zero(t, got.Against[0].Ratio.N)
	require.InDelta(t, 0.55, got.States[1].Share.Value, 0.02, "the share is still shown")

	got = judged(t, func(ev *monitor.Evidence) { ev.Panel, ev.Stud = false, false }, 0.45, 0.55, 10, 30)
	require.Equal(t, monitor.IndicativeOnly, got.Verdict)
	require.Contains(t, got.Words, "where the load went")

	got = judged(t, nil, 0.45, 0.55, 4, 30)
	require.Equal(t, monitor.NotEnough, got.Verdict)
	require.Equal(t, []monitor.More{{State: monitor.Days, Passages: 80, Days: 3}}, got.Against[0].More)
	require.Equal(t, "not enough data: 80 more passages and 3 more days after casting are needed", got.Words)

	got = judged(t, nil, 1, 0, 10, 30)
	require.Equal(t, monitor.NotEngaged, got.Verdict)
	require.Contains(t, got.Words, "not engaged: for the same truck")

	got = judged(t, func(ev *monitor.Evidence) {
		for i := range ev.Seen {
			ev.Seen[i].Coincident = i%2 == 0
		}
	}, 0.45, 0.55, 10, 30)
	require.Equal(t, monitor.NotEngaged, got.Verdict)
	require.Contains(t, got.Words, "50 percent of the passages")

	got = judged(t, nil, 0.8, 0.2, 10, 30)
	require.Equal(t, monitor.NotEngaged, got.Verdict)
	require.Contains(t, got.Words, "not engaged as designed")

	got = judged(t, nil, 0.89, 0.3, 10, 21)
	require.Equal(t, monitor.NotEnough, got.Verdict, got.Words)
	require.Contains(t, got.Words, "to settle it")
	require.Positive(t, got.Against[0].More[1].Passages)

	nothing := monitor.Judge(basis.Basis{}, monitor.Evidence{Control: true})
	require.Equal(t, monitor.NotEnough, nothing.Verdict)
	require.Equal(t, "nothing was recorded after casting", nothing.Words)
}

// The later state decides once it can; a course that rises and a slip that grows are
// findings.
func TestStatesAndCourses(t *testing.T) {
	t.Parallel()
	d := monitor.NewDraw(3)
	parts := [][]monitor.Seen{made(d, monitor.Before, castAt-30*dayNs, 10, 30, 0.74, 0), made(d, monitor.Days, castAt+dayNs, 10, 30, 0.74*0.45, 0.55)}
	for w := range 16 {
		parts = append(parts, made(d, monitor.Later, castAt+int64(28+7*w)*dayNs, 5, 10, 0.74*(0.45+0.02*float64(w)), 0.55-0.02*float64(w)))
	}
	ev := evidence(1, parts...)
	for k := range 60 {
		warm := 10 * math.Sin(float64(k)/5)
		ev.Levels = append(ev.Levels, monitor.DayLevel{Day: castAt + int64(k)*dayNs, Slip: 0.002*warm + 0.001*float64(k), Temperature: 12 + warm})
	}
	ev.DesignSlip = 0.002
	got := monitor.Judge(basis.Basis{}, ev)
	require.Len(t, got.Against, 2)
	require.Equal(t, monitor.Later, got.Decided)
	require.True(t, got.Trend.Rising, got.Trend.Words)
	require.Greater(t, len(got.Trend.Months), 4)
	require.InDelta(t, 12, *got.Trend.Months[0].Temperature, 1)
	require.True(t, got.Slip.Growing)
	require.InDelta(t, 0.007, got.Slip.Slope.Value, 1e-4, "the warmth is taken out")
	require.InDelta(t, 0.002, got.Slip.Temperature, 1e-4)
	require.Contains(t, keys(got.Finding), "trend")
	require.Contains(t, keys(got.Finding), "slip_drift")
	require.Contains(t, keys(got.Finding), "slip")

	crawl := ev
	crawl.Levels = nil
	for k := range 60 {
		crawl.Levels = append(crawl.Levels, monitor.DayLevel{Day: castAt + int64(k)*dayNs, Slip: 0.0002 * float64(k), Temperature: 12})
	}
	got = monitor.Judge(basis.Basis{}, crawl)
	require.Positive(t, got.Slip.Slope.Low, "a slope there is")
	require.False(t, got.Slip.Growing, "but less than a gauge tells in a week")

	ev.Levels = ev.Levels[:5]
	ev.Levels[2].Temperature = math.NaN()
	got = monitor.Judge(basis.Basis{}, ev)
	require.False(t, got.Slip.Growing)
	require.Contains(t, got.Slip.Words, "a drift needs 7")

	wrong := judged(t, func(ev *monitor.Evidence) { ev.Stiffness.Panel /= 3 }, 0.45, 0.55, 10, 30)
	require.Contains(t, keys(wrong.Finding), "gauges", "strains that contradict each other")
}

func TestStateOfATime(t *testing.T) {
	t.Parallel()
	b := basis.Basis{}
	require.Equal(t, monitor.Before, monitor.StateAt(b, 0, castAt))
	require.Equal(t, monitor.Before, monitor.StateAt(b, castAt, castAt-1))
	require.Equal(t, monitor.Days, monitor.StateAt(b, castAt, castAt))
	require.Equal(t, monitor.Days, monitor.StateAt(b, castAt, castAt+28*dayNs-1))
	require.Equal(t, monitor.Later, monitor.StateAt(b, castAt, castAt+28*dayNs))
}

// The answer depends on what was seen, not on the order in which it is listed, is the
// same every time, and can be kept as text.
func TestAJudgmentIsReproducible(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := monitor.NewDraw(rapid.Uint64().Draw(t, "seed"))
		ev := evidence(5, made(d, monitor.Before, castAt-30*dayNs, 3, 8, 0.74, 0), made(d, monitor.Days, castAt+dayNs, 3, 8, 0.5, 0.3))
		if rapid.Bool().Draw(t, "holes") {
			for i := range ev.Seen {
				if i%3 == 0 {
					ev.Seen[i].Ratio, ev.Seen[i].Slip, ev.Seen[i].Temperature = math.NaN(), math.NaN(), math.NaN()
				}
			}
		}
		b, err := basis.Basis{}.With(basis.EngagedResamples, 200)
		require.NoError(t, err)
		first := text(t, monitor.Judge(b, ev))
		ev.Seen = rapid.Permutation(ev.Seen).Draw(t, "order")
		require.Equal(t, first, text(t, monitor.Judge(b, ev)))
		var back monitor.Judgment
		require.NoError(t, json.Unmarshal([]byte(first), &back))
		require.Equal(t, first, text(t, back))
		ev.Seed++
		require.NotEqual(t, first, text(t, monitor.Judge(b, ev)))
	})
	var v monitor.Verdict
	require.Error(t, v.UnmarshalText([]byte("maybe")))
	var s monitor.State
	require.Error(t, s.UnmarshalText([]byte("never")))
}

func text(t require.TestingT, v any) string {
	raw, err := json.Marshal(v)
	require.NoError(t, err)
	return string(raw)
}

// The figures on the sheet are those of the verdict.
func TestSheetOfAVerdict(t *testing.T) {
	t.Parallel()
	got := judged(t, nil, 0.45, 0.55, 10, 30)
	p := calc.NewPad()
	got.Sheet(p, stiff)
	var all []string
	for _, l := range p.Lines() {
		all = append(all, l.AsText(units.US))
	}
	sheet := strings.Join(all, "\n")
	require.Contains(t, sheet, "our proposal")
	share := fmt.Sprintf("%.3f", got.States[1].Share.Value)
	require.Contains(t, sheet, share[:4])
	require.InDelta(t, got.Against[0].Ratio.Value, got.States[1].Ratio.Value/got.States[0].Ratio.Value, 1e-12)
}

// A judgment of two hundred thousand passages, two months of a busy bridge.
func BenchmarkJudge(b *testing.B) {
	d := monitor.NewDraw(3)
	ev := evidence(1, made(d, monitor.Before, castAt-30*dayNs, 20, 5000, 0.74, 0), made(d, monitor.Days, castAt+dayNs, 20, 5000, 0.74*0.45, 0.55))
	for b.Loop() {
		monitor.Judge(basis.Basis{}, ev)
	}
}
