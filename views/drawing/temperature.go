package drawing

import (
	"math"

	"endcast/internal/domain/units"
)

// TemperatureData is how concrete hardened: the temperatures of the sensors over
// the hours since casting began. Temperatures in degrees Celsius.
type TemperatureData struct {
	ID     string
	System units.System
	Lines  []TemperatureLine
	Levels []Rule // limits, at a temperature
	Marks  []Rule // such as the end of placing, at an hour
	Gaps   []HourSpan
}

// TemperatureLine is one sensor. Points are in order of time; one that is no number
// parts the line, as at a gap.
type TemperatureLine struct {
	Name   string
	Points []Point
}

// HourSpan is a stretch of hours for which a sensor has no readings.
type HourSpan struct {
	From, To float64
	Text     string
}

// hatchStep is the distance between the lines of a hatch, in pixels.
const hatchStep = 7

func (d TemperatureData) layout(width float64, suffix string) lineLayout {
	l := LineData{ID: ident(d.ID, "temperature") + suffix, Title: "Temperature of the concrete", XLabel: "hours since casting began", YLabel: "temperature",
		Kind: units.Temperatures, System: d.System, Width: width, Height: 360, Levels: d.Levels, Dates: d.Marks}
	for _, s := range d.Lines {
		l.Series = append(l.Series, Series{Name: s.Name, Points: s.Points})
	}
	out := layLine(l)
	for _, g := range d.Gaps {
		out.hatch(g)
	}
	return out
}

// hatch draws a gap: two thin uprights with slanted lines between them, so that it
// is told by its pattern and not by a color.
func (l *lineLayout) hatch(g HourSpan) {
	f := l.frame
	px := func(x float64) float64 { return f.X + (x-l.x1)/(l.x2-l.x1)*f.W }
	a, b := max(px(g.From), f.X), min(px(g.To), f.right())
	if !finite(a, b) || b-a < 2 {
		return
	}
	for _, x := range []float64{a, b} {
		l.lines = append(l.lines, segment{x, f.Y, x, f.bottom(), "gap"})
	}
	h := f.bottom() - f.Y
	for s := a - h; s < b; s += hatchStep {
		// A line of 45 degrees that passes the bottom at s, cut to the gap.
		x1, x2 := max(s, a), min(s+h, b)
		if x2 > x1 {
			l.lines = append(l.lines, segment{x1, f.bottom() - (x1 - s), x2, f.bottom() - (x2 - s), "gap"})
		}
	}
	if b-a > wide(g.Text, 11.5) {
		l.texts = append(l.texts, label{X: (a + b) / 2, Y: f.Y + 16, Text: g.Text, Class: "lbl halo", Anchor: "middle"})
	}
}

// Parted is what parts a line.
func Parted() Point { return Point{math.NaN(), math.NaN()} }
