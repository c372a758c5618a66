package web

import (
	"fmt"
	"math"
	"time"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/drawing"
	"endcast/views/end"
	"endcast/views/ui"
)

// today is the capacity of the day, nil before the end is cast and once it is
// closed. It is worked out when it is looked at and stored nowhere: what is expected
// moves with the clock, and no stored state may.
func (e *endReader) today() (*end.Today, error) {
	if e.state().Closed {
		return nil, nil
	}
	ctx, b := e.r.Context(), e.sc.Basis()
	now := e.s.store.Today(e.sc.Program)
	var failed error
	sensors := func(p repair.Pour) []uhpc.Sensor {
		list, err := e.s.sensorsOf(ctx, e.sc.CuringLogs, p.ID, e.rec.End.ID, b)
		if err != nil {
			failed = err
		}
		return list
	}
	if len(e.pours()) == 0 {
		return nil, nil
	}
	curve, err := e.s.programCurve(ctx, e.sc.Program.ID, b)
	if err != nil {
		return nil, err
	}
	x := e.rec.Today(e.sc, now, curve.curveFor, sensors, nil)
	if x == nil || failed != nil {
		return nil, failed
	}
	return e.todayView(x), nil
}

func (e *endReader) todayView(x *repair.Today) *end.Today {
	v := &end.Today{At: e.when(x.At), Refused: ui.Sentence(x.Refused), Why: uhpc.NoGate,
		Curve: end.Link{Label: "Strength curve of the program", Href: e.s.program(e.r).Path("strength-curve")}}
	row := func(name, note string, fc units.Stress, capacity units.Force, mark ui.Mark) {
		r := end.TodayRow{Name: name, Note: note, Strength: "–", Capacity: capacity.Format(e.sys, -1), Ratio: "–", Mark: mark}
		if fc > 0 {
			r.Strength = units.Stresses.Format(float64(fc), e.sys, 2)
		}
		if x.Demand > 0 {
			r.Ratio = fmt.Sprintf("%.2f", float64(capacity/x.Demand))
		}
		v.Rows = append(v.Rows, r)
	}
	counts, not := ui.Mark{State: ui.Good, Text: "counts"}, ui.Mark{State: ui.Wait, Text: "decides nothing"}
	if x.Proven > 0 {
		row("Proven by breaks", "at "+units.Days.Format(x.ProvenDays, e.sys, -1)+", "+e.when(x.ProvenAt)+", the weakest batch", x.Proven, x.WithProven, counts)
	} else {
		row("Proven by breaks", "none yet: the panel counts with nothing", 0, x.Steel, counts)
	}
	if x.Refused == "" {
		row("Lower edge of the band", "", x.Now.Low, x.WithLow, not)
		row("Expected now", "by the most cautious method: "+uhpc.Methods(e.sc.Basis())[x.Now.Method].Name, x.Now.Value, x.WithNow, not)
		row("Upper edge of the band", "", x.Now.High, x.WithHigh, not)
		e.todayHours(v, x)
		e.todayLine(v, x)
	}
	row("Once the strength specified is proven", "", x.Specified, x.Promised, not)
	v.Facts = append(v.Facts, end.Fact{Label: "Casting", Value: "pour " + numberOf(x.Pour.Number), Note: e.when(x.Pour.StartedAt)},
		end.Fact{Label: "Curve", Value: curveWords(x.Curve.Origin), Note: ui.Sentence(x.Curve.Words)})
	switch {
	case x.Sensor != "":
		v.Facts = append(v.Facts, end.Fact{Label: "Governing sensor", Value: x.Sensor, Note: "last reading " + e.when(x.Forecast.SoFar.Until) + ", " + x.Forecast.SoFar.Last.Format(e.sys, -1)})
	case x.Refused == "":
		v.Facts = append(v.Facts, end.Fact{Label: "Governing sensor", Value: "none", Note: "no curing log is on record for this casting"})
	}
	if x.Refused == "" {
		v.Facts = append(v.Facts, end.Fact{Label: "Temperature ahead", Value: units.Temperatures.Format(float64(x.Forecast.Ahead[0].Temperature), e.sys, -1), Note: ui.Sentence(x.Forecast.Words)})
	}
	v.Words = append(v.Words, x.Words...)
	if reach := reachWords(x.Now.Reach); x.Refused == "" && reach != "" {
		v.Words = append(v.Words, reach)
	}
	if x.Refused == "" && x.WithLow > x.Steel && x.WithLow == x.Promised {
		v.Words = append(v.Words, "by the lower edge of the band already something other than the strength of the UHPC governs the capacity")
	}
	return v
}

func curveWords(o uhpc.Origin) string {
	switch o {
	case uhpc.OwnFit:
		return "the program's own"
	case uhpc.OfSupplier:
		return "the supplier's"
	}
	return "of the design basis"
}

func reachWords(r uhpc.Reach) string {
	switch r {
	case uhpc.Before:
		return "the concrete is younger than the first age tested: nothing is said of its strength yet"
	case uhpc.Beyond:
		return "the concrete is older than the ages tested allow: the strength shown is the last that they do"
	}
	return ""
}

// todayHours says when the limits of the gates are expected.
func (e *endReader) todayHours(v *end.Today, x *repair.Today) {
	for _, g := range []struct {
		key  uhpc.GateKey
		c    uhpc.Crossings
		next uhpc.NextBreak
	}{{uhpc.StripGate, x.Strip, x.NextStrip}, {uhpc.TrafficGate, x.Traffic, x.NextTraffic}} {
		h := end.TodayHour{Name: sentenceCase(g.key.Words()), Limit: units.Stresses.Format(float64(g.c.Limit), e.sys, 2), Early: e.crossing(g.c.Early), Expected: e.crossing(g.c.Expected),
			Cautious: e.crossing(g.c.Cautious), Next: g.next.Words}
		switch {
		case x.Proven >= g.c.Limit:
			h.Next = "proven already"
		case !g.next.At.IsZero():
			h.Next = e.when(roundUp(g.next.At)) + ", " + uhpc.AgeText(g.next.Hours) + " after the casting; " + g.next.Words
		}
		v.Hours = append(v.Hours, h)
	}
}

// roundUp is the next quarter of an hour.
func roundUp(t time.Time) time.Time {
	const step = 15 * time.Minute
	if r := t.Truncate(step); r.Before(t) {
		return r.Add(step)
	}
	return t
}

func (e *endReader) crossing(c uhpc.Crossing) string {
	if c.At.IsZero() {
		return c.Words()
	}
	s := e.when(c.At) + ", " + uhpc.AgeText(c.Hours)
	if c.State != uhpc.ToCome {
		s += " (" + c.Words() + ")"
	}
	return s
}

// todayLine draws the line and lists each point beside it.
func (e *endReader) todayLine(v *end.Today, x *repair.Today) {
	if len(x.Line) == 0 {
		return
	}
	from := x.Forecast.Cast
	days := func(t time.Time) float64 { return t.Sub(from).Hours() / 24 }
	d := drawing.TodayData{ID: "today", System: e.sys, Demand: float64(x.Demand), Hours: []drawing.Rule{{At: days(x.At), Text: "now"}}}
	last := x.Line[len(x.Line)-1]
	for _, g := range []struct {
		text string
		c    uhpc.Crossing
	}{{"strip expected", x.Strip.Expected}, {"traffic expected", x.Traffic.Expected}} {
		if !g.c.At.IsZero() && !g.c.At.After(last.At) && !g.c.At.Before(from) {
			d.Hours = append(d.Hours, drawing.Rule{At: days(g.c.At), Text: g.text})
		}
	}
	for i, p := range x.Line {
		at := drawing.Point{X: days(p.At), Y: float64(p.CValue)}
		d.Band = append(d.Band, drawing.Spread{X: at.X, Lo: float64(p.CLow), Hi: float64(p.CHigh)})
		if p.Measured {
			d.Measured = append(d.Measured, at)
		}
		if !p.Measured || i+1 < len(x.Line) && !x.Line[i+1].Measured {
			d.Ahead = append(d.Ahead, at)
		}
		v.Points = append(v.Points, end.TodayPoint{At: e.when(p.At), Age: uhpc.AgeText(math.Round(p.At.Sub(from).Hours()*10) / 10), Strength: units.Stresses.Format(float64(p.Value), e.sys, 2),
			Band: units.Stresses.Figure(float64(p.Low), e.sys, 2) + " to " + units.Stresses.Figure(float64(p.High), e.sys, 2), Capacity: p.CValue.Format(e.sys, -1),
			Carries: units.Forces.Figure(float64(p.CLow), e.sys, -1) + " to " + units.Forces.Figure(float64(p.CHigh), e.sys, -1)})
	}
	d.Proven = []drawing.Point{{X: 0, Y: float64(x.Steel)}}
	if at := days(x.ProvenAt); x.Proven > 0 && at > 0 && at < days(last.At) {
		d.Proven = append(d.Proven, drawing.Point{X: at, Y: float64(x.WithProven)})
	}
	d.Proven = append(d.Proven, drawing.Point{X: days(last.At), Y: d.Proven[len(d.Proven)-1].Y})
	v.Chart = drawing.Today(d)
}
