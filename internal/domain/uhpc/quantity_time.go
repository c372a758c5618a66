package uhpc

import (
	"fmt"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Times is how long a casting takes and when its last batch must begin.
type Times struct {
	// Cycle is from the start of placing one batch to that of the next; Duration
	// from the first bag into the mixer to the covered form; both in minutes.
	Cycle, Duration float64
	// LastBatch is when the mixing of the last batch must begin at the latest,
	// First when that of the first must for all batches to be done in time. Zero
	// without a window.
	First, LastBatch time.Time
	Findings         []Finding
}

var (
	cycle = calc.Define(calc.Def{Symbol: "t_c", Name: "from one batch to the next", Expr: "max(t_x/n_x, t_p)", Dim: calc.Minutes,
		Params: []calc.Param{{Symbol: "t_x", Name: "loading and mixing", Dim: calc.Minutes}, {Symbol: "n_x", Name: "mixers at work", Dim: calc.Scalar}, {Symbol: "t_p", Name: "placing", Dim: calc.Minutes}}})
	pause = calc.Define(calc.Def{Symbol: "t_i", Name: "pause between two batches in the form", Expr: "t_c - t_p", Dim: calc.Minutes,
		Params: []calc.Param{{Symbol: "t_c", Name: "from one batch to the next", Dim: calc.Minutes}, {Symbol: "t_p", Name: "placing", Dim: calc.Minutes}}})
	duration = calc.Define(calc.Def{Symbol: "t_d", Name: "duration of the casting", Expr: "t_x + (n_b - 1)*t_c + t_p + t_f", Dim: calc.Minutes,
		Params: []calc.Param{{Symbol: "t_x", Name: "loading and mixing", Dim: calc.Minutes}, {Symbol: "n_b", Name: "batches", Dim: calc.Scalar}, {Symbol: "t_c", Name: "from one batch to the next", Dim: calc.Minutes},
			{Symbol: "t_p", Name: "placing", Dim: calc.Minutes}, {Symbol: "t_f", Name: "finishing", Dim: calc.Minutes}}})
	lastBy = calc.Define(calc.Def{Symbol: "t_l", Name: "the last batch begins before the end of the window by", Expr: "t_h + t_f + t_p + t_x", Dim: calc.Minutes,
		Params: []calc.Param{{Symbol: "t_h", Name: "clearing and handing back", Dim: calc.Minutes}, {Symbol: "t_f", Name: "finishing", Dim: calc.Minutes}, {Symbol: "t_p", Name: "placing", Dim: calc.Minutes}, {Symbol: "t_x", Name: "loading and mixing", Dim: calc.Minutes}}})
	firstBy = calc.Define(calc.Def{Symbol: "t_s", Name: "the first batch begins before the end of the window by", Expr: "t_h + t_d", Dim: calc.Minutes,
		Params: []calc.Param{{Symbol: "t_h", Name: "clearing and handing back", Dim: calc.Minutes}, {Symbol: "t_d", Name: "duration of the casting", Dim: calc.Minutes}}})
)

// timesOf works with batches that follow each other: a mixer starts the next batch
// while the one before is placed.
func timesOf(p *calc.Pad, batches int, end time.Time, b basis.Basis) Times {
	given := func(symbol, name string, k basis.Key, d calc.Dim) float64 {
		v := b.Value(k)
		p.Given(symbol, name, d, v, origin(k))
		return v
	}
	mix := given("t_x", "loading and mixing", basis.MixTime, calc.Minutes)
	mixers := given("n_x", "mixers at work", basis.Mixers, calc.Scalar)
	place := given("t_p", "placing", basis.PlaceTime, calc.Minutes)
	finish := given("t_f", "finishing", basis.FinishTime, calc.Minutes)
	back := given("t_h", "clearing and handing back", basis.HandBack, calc.Minutes)
	var t Times
	t.Cycle = cycle.Eval(p, mix, mixers, place)
	t.Duration = duration.Eval(p, mix, float64(batches), t.Cycle, place, finish)
	gap := pause.Eval(p, t.Cycle, place)
	if most := b.Value(basis.BatchInterval); batches > 1 && gap > most {
		d, _ := basis.Lookup(basis.BatchInterval)
		t.Findings = append(t.Findings, Finding{Key: string(basis.BatchInterval), Grade: Warn, Above: true, Kind: units.Minutes, Value: gap, Limit: most,
			Name: "planned time between batches", Source: d.Source, Tag: d.Tag})
	}
	last, first := lastBy.Eval(p, back, finish, place, mix), firstBy.Eval(p, back, t.Duration)
	if !end.IsZero() {
		minutes := func(m float64) time.Time { return end.Add(-time.Duration(m * float64(time.Minute))) }
		t.LastBatch, t.First = minutes(last), minutes(first)
	} else {
		p.Note("no window is set: the times above count back from its end")
	}
	return t
}

// Late tells whether a batch that begins at the given instant is too late for the
// window, with the reason.
func (t Times) Late(start time.Time) (string, bool) {
	if t.LastBatch.IsZero() || !start.After(t.LastBatch) {
		return "", false
	}
	return fmt.Sprintf("a batch begun %.0f min later than the latest would not be finished and cleared before the window ends", start.Sub(t.LastBatch).Minutes()), true
}
