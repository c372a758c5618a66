package web

import (
	"math"
	"strconv"
	"time"

	"endcast/internal/domain/outlook"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/drawing"
	views "endcast/views/outlook"
	"endcast/views/ui"
)

// outlook is what uncertainty and time do to the end, as stored.
func (e *endReader) outlook(stages []repair.Stage) views.Outlook {
	v := views.Outlook{Assumptions: e.s.program(e.r).Path("assumptions")}
	o := e.rec.LatestOutlook()
	if o == nil {
		v.Odds.None, v.Fall.None = notComputed, notComputed
		return v
	}
	v.Method, v.Digest = o.MethodVersion, shortDigest(o.InputDigest)
	v.Odds, v.Fall = e.odds(o), e.fall(o, stages)
	return v
}

const notComputed = "Nothing was computed for this end yet: the next edit does."

// odds is the chance that the capacity is below the demand.
func (e *endReader) odds(o *repair.Outlook) views.Odds {
	if o.Chance == nil {
		return views.Odds{None: "No survey is on record: without readings there is nothing to scatter, and no chance is given."}
	}
	d, ok := o.OddsOf()
	if !ok {
		return views.Odds{None: "The chance of this end holds a number that cannot be stored, such as a capacity without limit. Its table of checks says what is wrong."}
	}
	if !(d.Demand > 0) {
		return views.Odds{None: "No demand is on record: there is nothing to be below."}
	}
	v := views.Odds{In: e.sayAll(d.In), Out: e.sayAll(d.Out)}
	v.Facts = []views.Fact{
		{Label: "Chance", Value: chanceText(d.Chance), Note: strconv.Itoa(d.Below) + " of " + strconv.Itoa(d.Samples) + " samples below the demand", Foreseen: true},
		{Label: "95 % interval", Value: rangeText(d.Low, d.High), Note: d.Interval + ": how sure " + strconv.Itoa(d.Samples) + " samples make it", Foreseen: true},
		{Label: "With the mean of the zone", Value: chanceText(d.UpperChance), Note: "in place of the worst row: the other end of the model's band", Foreseen: true},
		{Label: "Samples", Value: strconv.Itoa(d.Samples), Note: "seed " + strconv.FormatUint(d.Seed, 10) + ": the same seed gives the same samples"},
	}
	force := func(label string, f units.Force, foreseen bool) views.Fact {
		return views.Fact{Label: label, Value: f.Format(e.sys, -1), Note: ratioText(float64(f / d.Demand)), Foreseen: foreseen}
	}
	v.Spread = []views.Fact{force("Demand", d.Demand, false), force("Capacity as reported", d.Capacity, false), force("5 of 100 samples below", d.P05, true),
		force("Half of the samples below", d.P50, true), force("95 of 100 samples below", d.P95, true), force("Mean of the samples", d.Mean, true)}
	v.Spread = append(v.Spread, views.Fact{Label: "Standard deviation", Value: d.Spread.Format(e.sys, -1), Note: "–", Foreseen: true})
	v.SpreadChart = drawing.SpreadChart(drawing.SpreadData{ID: "spread", System: e.sys, Demand: float64(d.Demand), Reported: float64(d.Capacity), Mean: float64(d.Mean),
		Fifth: float64(d.P05), Median: float64(d.P50), Top: float64(d.P95)})
	trail := drawing.TrailData{ID: "trail"}
	for _, st := range d.Trail {
		trail.Steps = append(trail.Steps, drawing.TrailStep{Samples: st.Samples, Chance: st.Chance, Low: st.Low, High: st.High})
		v.Trail = append(v.Trail, views.TrailRow{Samples: strconv.Itoa(st.Samples), Below: strconv.Itoa(st.Below), Chance: chanceText(st.Chance), Interval: rangeText(st.Low, st.High)})
	}
	v.TrailChart = drawing.TrailChart(trail)
	return v
}

// chanceText prints a chance as a percentage with three figures.
func chanceText(v float64) string {
	if math.IsNaN(v) {
		return "–"
	}
	return units.Significant(100*v, 3) + "\u00a0%"
}

func rangeText(low, high float64) string {
	return units.Significant(100*low, 3) + " to " + chanceText(high)
}

// fall is the capacity carried forward in time.
func (e *endReader) fall(o *repair.Outlook, stages []repair.Stage) views.Fall {
	f, ok := o.FallOf()
	if !ok {
		return views.Fall{None: "No survey is on record: there is no steel to carry forward."}
	}
	v := views.Fall{Mark: fallMark(f), Words: e.sayAll(f.Words)}
	if f.Verdict == outlook.Falls || f.Early > 0 {
		v.Facts = append(v.Facts, views.Fact{Label: "Falls below the demand", Value: yearText(f.Year, f), Note: yearRange(f), Foreseen: true})
	}
	if f.Source != outlook.NoRate {
		v.Facts = append(v.Facts,
			views.Fact{Label: "Rate of loss a year", Value: e.rate(f.Rate.Central), Note: "low " + e.rate(f.Rate.Low) + ", high " + e.rate(f.Rate.High) + "; web, mean of the readings above the bearing", Foreseen: true},
			views.Fact{Label: "Where the rate comes from", Value: sourceWords[f.Source], Note: ui.Sentence(e.say(f.Rate.Origin))})
	}
	v.Facts = append(v.Facts, views.Fact{Label: "Carried forward from", Value: calendarText(f.From), Note: "the last survey; looked ahead at most " + strconv.Itoa(int(f.Horizon)) + " years"})
	for _, p := range f.Pairs {
		row := views.PairRow{Surveys: strconv.Itoa(p.First) + " and " + strconv.Itoa(p.Second), Years: strconv.FormatFloat(p.Years, 'f', 2, 64), Matched: "–", Loss: "–",
			State: ui.Mark{State: ui.Open, Text: "comparable"}, Why: ui.Sentence(e.say(p.Refused))}
		if p.Matched > 0 {
			row.Matched = count(p.Matched, "place", "places")
			if p.By != "" && p.By != "place" {
				row.Matched = count(p.Matched, p.By, p.By+"s")
			}
		}
		if p.By != "" {
			row.Loss = e.rate(p.Loss)
		}
		switch {
		case p.Used:
			row.State = ui.Mark{State: ui.Good, Text: "used"}
		case p.Refused != "":
			row.State = ui.Mark{State: ui.Void, Text: "refused"}
		}
		v.Pairs = append(v.Pairs, row)
	}
	e.curve(&v, f, stages)
	return v
}

var sourceWords = map[outlook.Source]string{outlook.FromSurveys: "two surveys of this end", outlook.FromOwner: "assumed by the owner", outlook.FromAge: "age of the bridge"}

// rate prints a loss of thickness with the figures that a small one needs.
func (e *endReader) rate(v units.Length) string {
	return units.Significant(units.Lengths.Shown(e.sys, float64(v)), 3) + "\u00a0" + units.Lengths.Label(e.sys)
}

func fallMark(f outlook.Fall) ui.Mark {
	switch f.Verdict {
	case outlook.Falls:
		return ui.Mark{State: ui.Caution, Text: "falls below the demand about " + calendarText(f.Year)}
	case outlook.Already:
		return ui.Mark{State: ui.Stop, Text: "below the demand already"}
	case outlook.Beyond:
		if f.Early > 0 {
			return ui.Mark{State: ui.Wait, Text: "not at the central rate; at the high rate about " + calendarText(f.Early)}
		}
		return ui.Mark{State: ui.Good, Text: "not within " + strconv.Itoa(int(f.Horizon)) + " years"}
	}
	return ui.Mark{State: ui.Void, Text: "no year can be given"}
}

// calendarText is the calendar year of a year with its fraction.
func calendarText(y float64) string { return strconv.Itoa(int(math.Floor(y))) }

func yearText(y float64, f outlook.Fall) string {
	if !(y > 0) {
		return "after " + calendarText(f.From+f.Horizon)
	}
	return "about " + calendarText(y)
}

// yearRange is the range of the year from the high to the low rate.
func yearRange(f outlook.Fall) string {
	switch {
	case !(f.Early > 0):
		return ""
	case f.Late > 0:
		return "between " + calendarText(f.Early) + " at the high rate and " + calendarText(f.Late) + " at the low rate"
	}
	return "at the earliest " + calendarText(f.Early) + "; at the low rate after " + calendarText(f.From+f.Horizon)
}

// curve draws the years and lists every fourth point beside.
func (e *endReader) curve(v *views.Fall, f outlook.Fall, stages []repair.Stage) {
	if len(f.Curve) == 0 {
		return
	}
	d := drawing.FallData{ID: "fall", System: e.sys, Demand: float64(f.Demand)}
	for _, m := range measured(f, stages) {
		d.Measured = append(d.Measured, m)
		v.Curve = append(v.Curve, views.CurveRow{Year: calendarText(m.X), Central: units.Force(m.Y).Format(e.sys, -1), Below: belowWords(f.Demand, units.Force(m.Y)), Measured: true})
	}
	last, gone := len(f.Curve)-1, false
	for i, p := range f.Curve {
		d.Curve = append(d.Curve, drawing.FallPoint{Year: p.Year, Low: float64(p.Low), Central: float64(p.Central), High: float64(p.High)})
		if !gone && (i%5 == 0 && i > 0 || i == last) {
			gone = !(p.High > 0) // the rows after are all nothing
			v.Curve = append(v.Curve, views.CurveRow{Year: calendarText(p.Year), Low: p.Low.Format(e.sys, -1), Central: p.Central.Format(e.sys, -1),
				High: p.High.Format(e.sys, -1), Below: ratesBelow(f.Demand, p)})
		}
	}
	for _, y := range []struct {
		at   float64
		text string
	}{{f.Early, "high rate "}, {f.Year, ""}, {f.Late, "low rate "}} {
		if y.at > 0 && y.at <= f.Curve[last].Year {
			d.Years = append(d.Years, drawing.Rule{At: y.at, Text: y.text + calendarText(y.at)})
		}
	}
	v.Chart = drawing.Fall(d)
}

// measured is the capacity by each survey. The last is where the years start.
func measured(f outlook.Fall, stages []repair.Stage) []drawing.Point {
	var out []drawing.Point
	for _, st := range stages {
		if (st.Kind == repair.StageFound || st.Kind == repair.StageCleaned) && yearOf(st.At) < f.From {
			out = append(out, drawing.Point{X: yearOf(st.At), Y: float64(st.Capacity)})
		}
	}
	return append(out, drawing.Point{X: f.From, Y: float64(f.Curve[0].Central)})
}

func belowWords(demand, c units.Force) string {
	if demand > 0 && c < demand {
		return "by this survey"
	}
	return "–"
}

// ratesBelow says at which rates of loss the demand is not met.
func ratesBelow(demand units.Force, p outlook.Point) string {
	switch {
	case !(demand > 0) || p.Low >= demand:
		return "–"
	case p.High < demand:
		return "at every rate"
	case p.Central < demand:
		return "at the central and the high rate"
	}
	return "at the high rate"
}

// yearOf is a moment as a calendar year with its fraction.
func yearOf(t time.Time) float64 {
	t = t.UTC()
	start := time.Date(t.Year(), 1, 1, 0, 0, 0, 0, time.UTC)
	return float64(t.Year()) + t.Sub(start).Hours()/start.AddDate(1, 0, 0).Sub(start).Hours()
}
