package drawing

import (
	"fmt"
	"math"
	"strconv"
)

// BandsData is what was foreseen beside what was measured, plain numbers.
type BandsData struct {
	ID, Title string
	XLabel    string
	Rows      []BandRow
	Width     float64 // pixels; 0 for two drawings, for wide and for small screens
}

// BandRow is one quantity: the band foreseen, and the value measured with its interval.
// What is no number is not drawn.
type BandRow struct {
	Name                      string
	ForeseenLow, ForeseenHigh float64
	Value, Low, High          float64
}

// layBands draws a row for each quantity on one scale from zero.
func layBands(d BandsData, width float64) oddsLayout {
	l := oddsLayout{id: ident(d.ID, "bands"), title: d.Title, width: width, note: "Dashed: the band foreseen. Heavy stroke with a mark: measured, with its 95 percent interval."}
	lo, hi := 0.0, 0.0
	for _, r := range d.Rows {
		for _, v := range []float64{r.ForeseenLow, r.ForeseenHigh, r.Value, r.Low, r.High} {
			if finite(v) {
				lo, hi = math.Min(lo, v), math.Max(hi, v)
			}
		}
	}
	scale := ticks(lo, math.Max(hi, 0.1), max(2, int(width/90)))
	lo, hi = scale[0], scale[len(scale)-1]
	const row = 52.0
	f := box{16, 8, width - 40, row * float64(len(d.Rows))}
	l.height = f.bottom() + 46
	x := func(v float64) float64 { return f.X + (v-lo)/(hi-lo)*f.W }
	for _, t := range scale {
		l.lines = append(l.lines, segment{x(t), f.Y, x(t), f.bottom() + 5, "grid"})
		l.texts = append(l.texts, label{X: x(t), Y: f.bottom() + 19, Text: strconv.FormatFloat(t, 'f', decimals(scale[1]-scale[0]), 64), Class: "lbl quiet", Anchor: "middle"})
	}
	l.lines = append(l.lines, segment{f.X, f.bottom(), f.right(), f.bottom(), "axis"})
	l.texts = append(l.texts, label{X: f.right(), Y: f.bottom() + 37, Text: d.XLabel, Class: "lbl", Anchor: "end"})
	for i, r := range d.Rows {
		top := f.Y + row*float64(i)
		mid := top + 33
		said := r.Name
		if finite(r.ForeseenLow, r.ForeseenHigh) {
			l.shapes = append(l.shapes, outline{D: span(x(r.ForeseenLow), mid-11, math.Max(x(r.ForeseenHigh), x(r.ForeseenLow)+2), mid+11).d(), Class: "sampled"})
			said += fmt.Sprintf(": foreseen %.2f to %.2f", r.ForeseenLow, r.ForeseenHigh)
		}
		if finite(r.Low, r.High) {
			l.shapes = append(l.shapes, outline{D: new(pen).move(x(r.Low), mid).to(x(r.High), mid).move(x(r.Low), mid-6).to(x(r.Low), mid+6).move(x(r.High), mid-6).to(x(r.High), mid+6).String(), Class: "demand"})
		}
		if finite(r.Value) {
			l.shapes = append(l.shapes, outline{D: new(pen).circle(x(r.Value), mid, 4.5).String(), Class: "origin"})
			said += fmt.Sprintf(", measured %.2f", r.Value)
		} else {
			said += ", not measured"
		}
		l.texts = append(l.texts, label{X: f.X, Y: top + 15, Text: r.Name, Class: "lbl halo"})
		if l.desc != "" {
			l.desc += "; "
		}
		l.desc += said
	}
	l.desc += "."
	return l
}
