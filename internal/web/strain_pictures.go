package web

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/drawing"
	"endcast/views/strain"
	"endcast/views/ui"
)

// strainPictures are the pictures of a verdict, on the page as in the book: what was
// foreseen beside what was measured, sizes before and after, one truck, the months. A
// width of 0 is that of a screen.
func (e *endReader) strainPictures(j monitor.Judgment, ev monitor.Evidence, found map[string]repair.Found, width float64) ([]strain.Picture, error) {
	truck, err := e.oneTruck(found, width)
	return []strain.Picture{e.foreseen(j, ev, width), e.magnitudes(ev, width), truck, e.monthly(j, width)}, err
}

// foreseen sets load share and fall of web strain as measured beside the bands that the
// load-share model gives for the design in force.
func (e *endReader) foreseen(j monitor.Judgment, ev monitor.Evidence, width float64) strain.Picture {
	p := strain.Picture{Title: "Foreseen and measured", Says: "Nothing is foreseen by a design in force to compare the records with.", Table: strain.Table{Caption: "Foreseen by the load-share model, and measured with 95 percent intervals",
		None: "Nothing to compare.", Columns: []ui.Column{{Label: "What"}, {Label: "Foreseen", Numeric: true}, {Label: "Measured", Numeric: true}, {Label: "Outside the band by", Numeric: true}, {Label: "Within the limit"}}}}
	if ev.Foreseen == nil {
		return p
	}
	p.Says = "Nothing was measured after casting yet to set beside what the design foresees."
	d := drawing.BandsData{ID: "foreseen", Title: "Load share and fall of web strain, foreseen and measured", XLabel: "part of the live load placed after hardening", Width: width}
	limit := e.sc.Basis().Value(basis.EngagedDisagree)
	worst, measured := 0.0, 0
	for _, a := range j.Against {
		share := monitor.Interval{Value: math.NaN(), Low: math.NaN(), High: math.NaN()}
		for _, s := range j.States {
			if s.State == a.After && s.Share.N > 0 {
				share = s.Share
			}
		}
		fall := a.Reduction
		if fall.N == 0 {
			fall.Value, fall.Low, fall.High = math.NaN(), math.NaN(), math.NaN()
		}
		for _, x := range []struct {
			name      string
			is        monitor.Interval
			low, high float64
		}{{"Load share of the panel", share, ev.Foreseen.ShareLow, ev.Foreseen.ShareHigh}, {"Fall of web strain", fall, ev.Foreseen.ReductionLow, ev.Foreseen.ReductionHigh}} {
			name := x.name + ", " + a.After.String()
			d.Rows = append(d.Rows, drawing.BandRow{Name: name, ForeseenLow: x.low, ForeseenHigh: x.high, Value: x.is.Value, Low: x.is.Low, High: x.is.High})
			mark, off := ui.Mark{State: ui.Void, Text: "not measured"}, "–"
			if x.is.N > 0 {
				gap := monitor.Outside(x.is, x.low, x.high)
				worst, measured = max(worst, gap), measured+1
				off = decimalText(gap, 2)
				mark = ui.Mark{State: ui.Good, Text: fmt.Sprintf("yes, at most %.2f", limit)}
				if gap > limit {
					mark = ui.Mark{State: ui.Stop, Text: fmt.Sprintf("no, at most %.2f", limit)}
				}
			}
			p.Table.Rows = append(p.Table.Rows, []strain.Cell{{Text: name, Head: true}, {Text: decimalText(x.low, 2) + " to " + decimalText(x.high, 2), Num: true}, {Text: between(x.is, 2), Num: true}, {Text: off, Num: true}, {Mark: &mark}})
		}
	}
	if len(d.Rows) > 0 {
		p.Draw = drawing.Bands(d)
	}
	switch {
	case measured == 0:
	case worst > limit:
		p.Says = fmt.Sprintf("The records lie up to %.2f outside the band that the load-share model foresees, more than the %.2f allowed: a nonconformance is raised when the verdict is confirmed.", worst, limit)
	case worst > 0:
		p.Says = fmt.Sprintf("The records lie up to %.2f outside the band that the load-share model foresees, within the %.2f allowed.", worst, limit)
	default:
		p.Says = "What was measured agrees with the band that the load-share model foresees."
	}
	return p
}

// magnitudes draws the sizes of passages over how many are smaller, state by state.
func (e *endReader) magnitudes(ev monitor.Evidence, width float64) strain.Picture {
	p := strain.Picture{Title: "Web peaks before and after", Says: "No passage is on record.", Table: strain.Table{Caption: "Web peaks by state, microstrain", Columns: []ui.Column{{Label: "State"}, {Label: "Passages", Numeric: true}, {Label: "Half are below", Numeric: true}, {Label: "Nine in ten are below", Numeric: true}, {Label: "Largest", Numeric: true}}}}
	d := drawing.LineData{ID: "magnitudes", Title: "Part of the passages that are smaller", XLabel: "web peak, microstrain", YLabel: "part of the passages", Kind: units.Numbers, System: e.sys, Zero: true, Width: width}
	var half []float64
	for _, s := range []monitor.State{monitor.Before, monitor.Days, monitor.Later} {
		var x []float64
		for _, q := range ev.Seen {
			if q.State == s {
				x = append(x, q.Web)
			}
		}
		if len(x) == 0 {
			continue
		}
		slices.Sort(x)
		line := drawing.Series{Name: s.String(), Step: true}
		step := max(1, len(x)/300)
		for i := 0; i < len(x); i += step {
			line.Points = append(line.Points, drawing.Point{X: x[i], Y: float64(i+1) / float64(len(x))})
		}
		line.Points = append(line.Points, drawing.Point{X: x[len(x)-1], Y: 1})
		d.Series = append(d.Series, line)
		half = append(half, monitor.Median(x))
		p.Table.Rows = append(p.Table.Rows, []strain.Cell{{Text: sentenceCase(s.String()), Head: true}, {Text: strconv.Itoa(len(x)), Num: true}, {Text: decimalText(monitor.Median(x), 1), Num: true},
			{Text: decimalText(x[min(len(x)-1, len(x)*9/10)], 1), Num: true}, {Text: decimalText(x[len(x)-1], 1), Num: true}})
	}
	if len(d.Series) > 0 {
		p.Draw = drawing.Line(d)
		p.Says = fmt.Sprintf("Half of the passages strain the web by less than %.0f microstrain.", half[0])
		if len(half) > 1 {
			p.Says = fmt.Sprintf("Half of the passages strained the web by less than %.0f microstrain before casting and less than %.0f after; other trucks passed, so this alone proves nothing.", half[0], half[len(half)-1])
		}
	}
	return p
}

// oneTruck draws the largest passage of the latest recording in web, panel and stud.
func (e *endReader) oneTruck(found map[string]repair.Found, width float64) (strain.Picture, error) {
	p := strain.Picture{Title: "One truck in web, panel and stud", Says: "No passage is on record."}
	list := e.rec.CountedRecordings()
	for i := len(list) - 1; i >= 0; i-- {
		rec := list[i]
		var best *monitor.Passage
		f := found[rec.ID]
		for k := range f.Passages {
			if q := &f.Passages[k]; q.Web.Flag == monitor.Usable && (best == nil || math.Abs(q.Web.Peak) > math.Abs(best.Web.Peak)) {
				best = q
			}
		}
		if best == nil {
			continue
		}
		from, to := best.Web.From-2e9, best.Web.To+2e9
		// Web and repair one above the other on the same seconds: the panel strains a tenth of the web.
		scale := func(id, title string) drawing.LineData {
			return drawing.LineData{ID: id, Title: title, XLabel: "seconds", YLabel: "strain less its level before, microstrain", Kind: units.Numbers, System: e.sys, Width: width, Height: 240}
		}
		d, repaired := scale("truck", "The web under one truck"), scale("truck-panel", "Panel and stud under the same truck")
		p.Table = strain.Table{Caption: "Peaks of this truck", Columns: []ui.Column{{Label: "Sensor"}, {Label: "Farthest from its level before", Unit: "µε", Numeric: true}}}
		for c, k := range rec.Channels {
			x, ok := e.rec.SensorOf(k.Sensor)
			role := monitor.Kind(x.Kind).Role()
			if !ok || role != monitor.RoleWeb && role != monitor.RolePanel && role != monitor.RoleStud {
				continue
			}
			conv, err := x.Monitor().Converter(e.sc.Basis())
			if err != nil {
				return p, err
			}
			cols, _, err := e.s.store.Trace(e.r.Context(), rec, c, from, to, traceColumns)
			if err != nil {
				return p, err
			}
			if len(cols) == 0 {
				continue
			}
			var first []float64
			for _, q := range cols {
				if q.From < best.Web.From-5e8 {
					first = append(first, conv.Value(q.Bin.Min))
				}
			}
			level := 0.0
			if len(first) > 0 {
				level = monitor.Median(first)
			}
			line, far := drawing.Series{Name: x.Name}, 0.0
			for _, q := range cols {
				y := conv.Value(q.Bin.Min) - level
				line.Points = append(line.Points, drawing.Point{X: float64(q.From-from) / 1e9, Y: y})
				if math.Abs(y) > math.Abs(far) {
					far = y
				}
			}
			if role == monitor.RoleWeb {
				d.Series = append(d.Series, line)
			} else {
				repaired.Series = append(repaired.Series, line)
			}
			p.Table.Rows = append(p.Table.Rows, []strain.Cell{{Text: x.Name, Head: true}, {Text: decimalText(far, 1), Num: true}})
		}
		if len(d.Series) > 0 {
			p.Draw = drawing.Line(d)
			if len(repaired.Series) > 0 {
				p.Below = drawing.Line(repaired)
			}
			p.Says = fmt.Sprintf("The largest passage of the latest recording, %s: the web peaks at %.0f microstrain and %s.", e.second(time.Unix(0, best.Web.At)), best.Web.Peak,
				map[bool]string{true: "panel or stud feel the same truck", false: "neither panel nor stud feel it"}[best.Coincident()])
		}
		return p, nil
	}
	return p, nil
}

// monthly draws the ratio by month with the temperature beside it.
func (e *endReader) monthly(j monitor.Judgment, width float64) strain.Picture {
	p := strain.Picture{Title: "Web over control by month", Says: "Nothing was recorded with a control gauge after casting.", Table: strain.Table{Caption: "Web over control by month, with temperature", Columns: []ui.Column{{Label: "From"}, {Label: "Passages", Numeric: true}, {Label: "Web over control, median", Numeric: true}, {Label: "Temperature, median", Unit: units.Temperatures.Label(e.sys), Numeric: true}}}}
	line, warm := drawing.Series{Name: "web over control", Dots: true}, drawing.Series{Name: "temperature", Dots: true, Dashed: true}
	for _, m := range j.Trend.Months {
		at := time.Unix(0, m.From).In(e.zone)
		temp := "–"
		if m.Temperature != nil {
			temp = units.Temperatures.Figure(*m.Temperature, e.sys, 1)
			warm.Points = append(warm.Points, drawing.Point{X: drawing.DayNumber(at), Y: *m.Temperature})
		}
		line.Points = append(line.Points, drawing.Point{X: drawing.DayNumber(at), Y: m.Ratio})
		p.Table.Rows = append(p.Table.Rows, []strain.Cell{{Text: e.day(at), Head: true, Num: true}, {Text: strconv.Itoa(m.N), Num: true}, {Text: decimalText(m.Ratio, 3), Num: true}, {Text: temp, Num: true}})
	}
	if n := len(line.Points); n > 0 {
		p.Says = ui.Sentence(j.Trend.Words)
		if n > 1 {
			p.Draw = drawing.Line(drawing.LineData{ID: "monthly", Title: "Web over control by month", XLabel: "month", YLabel: "web over control", Kind: units.Numbers, System: e.sys, Days: true, Zero: true, Width: width, Height: 220, Series: []drawing.Series{line}})
			if len(warm.Points) > 1 {
				p.Below = drawing.Line(drawing.LineData{ID: "monthly-warm", Title: "Temperature in the same months", XLabel: "month", YLabel: "temperature", Kind: units.Temperatures, System: e.sys, Days: true, Width: width, Height: 180, Series: []drawing.Series{warm}})
			}
		}
	}
	return p
}
