package drawing

import (
	"strings"

	"endcast/internal/domain/units"
)

// FallData is the capacity of an end over calendar years: measured up to the last
// survey, carried forward at three rates of loss after it. Forces in N.
type FallData struct {
	ID       string
	System   units.System
	Demand   float64
	Measured []Point     // capacity by each survey
	Curve    []FallPoint // from the last survey on
	Years    []Rule      // when the demand is met
}

// FallPoint is the capacity in a year; Low at the high rate of loss.
type FallPoint struct{ Year, Low, Central, High float64 }

// line is the chart as lines: measured solid with marks, carried forward dashed in
// a band.
func (d FallData) line() LineData {
	l := LineData{ID: d.ID, Title: "Capacity over the years", XLabel: "year", YLabel: "capacity", Kind: units.Forces, System: d.System, Zero: true, Height: 320}
	central := Series{Name: "central", Dashed: true}
	low, high := Series{Name: "high rate", Dashed: true}, Series{Name: "low rate", Dashed: true}
	for _, p := range d.Curve {
		central.Points = append(central.Points, Point{p.Year, p.Central})
		central.Band = append(central.Band, Spread{p.Year, p.Low, p.High})
		low.Points = append(low.Points, Point{p.Year, p.Low})
		high.Points = append(high.Points, Point{p.Year, p.High})
	}
	l.Series = []Series{{Name: "", Points: d.Measured, Dots: true}, central, low, high}
	if d.Demand > 0 {
		l.Levels = []Rule{{At: d.Demand, Text: "demand " + units.Forces.Format(d.Demand, d.System, -1)}}
	}
	l.Dates = d.Years
	return l
}

// tidyFall frees the measured line of its name, since it ends where the dashed
// lines begin, and sets the word of the demand at the right, under its line, where
// the lines have mostly passed.
func tidyFall(l lineLayout) lineLayout {
	l.curves[0].tie = segment{}
	for i, t := range l.texts {
		if len(l.lines) > 0 && strings.HasPrefix(t.Text, "demand ") {
			l.texts[i].X, l.texts[i].Anchor = l.lines[0].X2-4, "end"
		}
	}
	return l
}
