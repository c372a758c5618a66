package drawing

import (
	"math"
	"strconv"
	"strings"

	"endcast/internal/domain/units"
)

// SpreadData is where the samples of a capacity lie against the demand. Forces in N.
type SpreadData struct {
	ID                 string
	System             units.System
	Demand, Reported   float64
	Mean               float64
	Fifth, Median, Top float64 // percentiles: 5, 50 and 95 of a hundred
}

// TrailData is how a chance settled as samples were added. Chances are parts of one.
type TrailData struct {
	ID    string
	Steps []TrailStep
}

// TrailStep is the chance after so many samples, with its interval.
type TrailStep struct {
	Samples           int
	Chance, Low, High float64
}

// oddsLayout is a computed drawing of either kind.
type oddsLayout struct {
	id, title, desc, note string
	width, height         float64
	shapes                []outline
	lines                 []segment
	texts                 []label
}

// keep moves a centered text so that it stays on the sheet.
func (l *oddsLayout) keep(x, y float64, text, class string) label {
	half := wide(text, 11.5)/2 + 2
	return label{X: math.Max(half, math.Min(x, l.width-half)), Y: y, Text: text, Class: class, Anchor: "middle"}
}

// laySpread computes the strip of percentiles.
func laySpread(d SpreadData, width float64) oddsLayout {
	l := oddsLayout{id: ident(d.ID, "spread"), title: "Samples of the capacity against the demand", width: width,
		note: "Dashed: computed by sampling, from the 5th to the 95th percentile, with the median. Solid triangle: the capacity as reported. Heavy stroke: the demand."}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range []float64{d.Demand, d.Reported, d.Mean, d.Fifth, d.Median, d.Top} {
		if finite(v) {
			v = units.Forces.Shown(d.System, v)
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	if !finite(lo, hi) {
		lo, hi = 0, 1
	}
	pad := max((hi-lo)*0.06, 1e-9)
	scale := ticks(max(0, lo-pad), hi+pad, min(6, int(width/82)))
	const left, top, foot = 14.0, 20.0, 132.0
	room := width - 2*left
	x := func(v float64) float64 {
		if !finite(v) {
			v = 0
		}
		first, last := scale[0], scale[len(scale)-1]
		return left + (units.Forces.Shown(d.System, v)-first)/(last-first)*room
	}
	for _, t := range scale {
		at := left + (t-scale[0])/(scale[len(scale)-1]-scale[0])*room
		l.lines = append(l.lines, segment{at, top, at, foot + 5, "grid"})
		l.texts = append(l.texts, l.keep(at, foot+19, strconv.FormatFloat(t, 'f', decimals(scale[1]-scale[0]), 64), "lbl quiet"))
	}
	l.lines = append(l.lines, segment{left, foot, left + room, foot, "axis"})
	l.texts = append(l.texts, label{X: left + room, Y: foot + 36, Text: "capacity, " + units.Forces.Label(d.System), Class: "lbl", Anchor: "end"})

	text := func(v float64) string { return units.Forces.Format(v, d.System, -1) }
	bar := span(x(d.Fifth), 50, x(d.Top), 74)
	l.shapes = append(l.shapes, outline{D: bar.d(), Class: "sampled"})
	l.lines = append(l.lines, segment{x(d.Median), 46, x(d.Median), 78, "sampled-line"}, segment{x(d.Demand), top, x(d.Demand), foot, "demand"})
	l.texts = append(l.texts,
		l.keep(x(d.Demand), 13, "demand "+text(d.Demand), "lbl halo"),
		l.keep(x(d.Median), 42, "median "+text(d.Median), "lbl halo"))
	fifth, topmost := "5 %: "+text(d.Fifth), "95 %: "+text(d.Top)
	if bar.W > (wide(fifth, 11.5)+wide(topmost, 11.5))*0.6 {
		l.texts = append(l.texts, l.keep(x(d.Fifth), 90, fifth, "lbl halo"), l.keep(x(d.Top), 90, topmost, "lbl halo"))
	} else {
		l.texts = append(l.texts, l.keep((x(d.Fifth)+x(d.Top))/2, 90, fifth+", "+topmost, "lbl halo"))
	}
	at := x(d.Reported)
	l.shapes = append(l.shapes, outline{D: poly(point{at, 97}, point{at + 5.5, 107}, point{at - 5.5, 107}), Class: "solid"})
	l.texts = append(l.texts, l.keep(at, 122, "reported "+text(d.Reported), "strong halo"))
	l.height = foot + 42
	l.desc = "Demand " + text(d.Demand) + ". Reported capacity " + text(d.Reported) + ". Samples: mean " + text(d.Mean) + ", 5 % below " + text(d.Fifth) +
		", half below " + text(d.Median) + ", 95 % below " + text(d.Top) + "."
	return l
}

// layTrail computes the intervals of the chance, one column each.
func layTrail(d TrailData, width float64) oddsLayout {
	l := oddsLayout{id: ident(d.ID, "trail"), title: "How the chance settled", width: width, height: 236,
		note: "Dot: the chance after so many samples. Stroke: its 95 % interval."}
	most := 0.0
	for _, s := range d.Steps {
		if finite(s.High) {
			most = max(most, 100*s.High)
		}
	}
	ys := ticks(0, min(100, max(most, 0.1)), 5)
	top := ys[len(ys)-1]
	step := ys[1] - ys[0]
	f := box{44, 26, width - 58, 158}
	y := func(v float64) float64 {
		if !finite(v) {
			v = 0
		}
		return f.bottom() - 100*v/top*f.H
	}
	for _, v := range ys {
		at := f.bottom() - v/top*f.H
		l.lines = append(l.lines, segment{f.X, at, f.right(), at, "grid"})
		l.texts = append(l.texts, label{X: f.X - 8, Y: at + 4, Text: strconv.FormatFloat(v, 'f', decimals(step), 64), Class: "lbl quiet", Anchor: "end"})
	}
	l.lines = append(l.lines, segment{f.X, f.bottom(), f.right(), f.bottom(), "axis"})
	l.texts = append(l.texts, label{X: 0, Y: 13, Text: "chance, %", Class: "lbl"}, label{X: f.right(), Y: f.bottom() + 37, Text: "samples", Class: "lbl", Anchor: "end"})
	var said []string
	for i, s := range d.Steps {
		at := f.X + f.W*(float64(i)+0.5)/float64(len(d.Steps))
		name := strconv.Itoa(s.Samples)
		l.lines = append(l.lines, segment{at, y(s.Low), at, y(s.High), "interval"},
			segment{at - 6, y(s.Low), at + 6, y(s.Low), "interval"}, segment{at - 6, y(s.High), at + 6, y(s.High), "interval"})
		l.shapes = append(l.shapes, outline{D: new(pen).circle(at, y(s.Chance), 3.6).String(), Class: "solid"})
		l.texts = append(l.texts, label{X: at, Y: f.bottom() + 19, Text: name, Class: "lbl quiet", Anchor: "middle"},
			label{X: at + 10, Y: y(s.Chance) - 5, Text: percentText(s.Chance), Class: "lbl halo"})
		said = append(said, name+" samples: "+percentText(s.Chance)+", from "+percentText(s.Low)+" to "+percentText(s.High))
	}
	l.desc = strings.Join(said, ". ") + "."
	return l
}

func percentText(v float64) string { return units.Significant(100*v, 3) + "\u00a0%" }
