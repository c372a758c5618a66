package drawing

import (
	"math"
	"strconv"
	"strings"

	"endcast/internal/domain/units"
)

// ShareData is what each row of studs is foreseen to carry, and what is left in
// the web beside it. Heights in mm above the flange, forces in N, parts of one.
type ShareData struct {
	ID         string
	System     units.System
	Depth      float64 // of the girder
	Bottom     float64 // thickness of the bottom flange
	Panel      [2]float64
	Resistance float64 // of one stud, factored
	Rows       []ShareRow
}

// ShareRow is one row of studs.
type ShareRow struct {
	Z, Low, High    float64
	WebLow, WebHigh float64
	Studs           int
}

// layShare draws the rows to the height of the girder: the web and its panel at
// the left, the force on one stud in the middle, what is left in the web at the right.
func layShare(d ShareData, width float64) oddsLayout {
	l := oddsLayout{id: ident(d.ID, "share"), title: "Force on one stud, row by row", width: width,
		note: "Heights to scale. Dashed bars run from the least to the most that three laws of load and slip foresee; the stroke is the resistance of one stud. At the right, the part of the load placed after hardening that is left in the web below each row."}
	rows := len(d.Rows)
	tall := math.Max(220, math.Min(420, float64(rows)*26+90))
	top := 40.0
	depth := d.Depth
	if !finite(depth) || depth < 1 {
		depth = 1
	}
	if !finite(d.Bottom) || d.Bottom < 0 || d.Bottom > depth {
		d.Bottom = 0
	}
	if !finite(d.Resistance) || d.Resistance < 0 {
		d.Resistance = 0
	}
	z := func(v float64) float64 {
		if !finite(v) {
			v = 0
		}
		return top + tall*(1-math.Max(0, math.Min(1, (v+d.Bottom)/depth)))
	}
	narrow := width < narrowBelow
	web, bars, rest := 64.0, box{118, top, width - 118 - 190, tall}, box{width - 150, top, 132, tall}
	if narrow {
		web, bars, rest = 26, box{56, top, width - 56 - 92, tall}, box{width - 74, top, 66, tall}
	}
	// The end in elevation: flanges, web, panel, rows.
	l.shapes = append(l.shapes, outline{D: span(web-22, z(d.Panel[0]), web+22, z(d.Panel[1])).d(), Class: "sampled"},
		outline{D: span(web-24, z(-d.Bottom), web+24, z(0)).d(), Class: "flange"},
		outline{D: span(web-24, top, web+24, top+math.Max(3, tall*d.Bottom/depth)).d(), Class: "flange"})
	l.lines = append(l.lines, segment{web, top, web, z(0), "edge"})
	most := d.Resistance
	for _, r := range d.Rows {
		if finite(r.High) {
			most = math.Max(most, r.High)
		}
	}
	scale := ticks(0, math.Max(units.Forces.Shown(d.System, most), 1e-9), max(2, int(bars.W/70)))
	end := scale[len(scale)-1]
	x := func(v float64) float64 {
		if !finite(v) || v < 0 {
			v = 0
		}
		return bars.X + units.Forces.Shown(d.System, v)/end*bars.W
	}
	foot := top + tall
	for _, t := range scale {
		at := bars.X + t/end*bars.W
		l.lines = append(l.lines, segment{at, top, at, foot + 5, "grid"})
		l.texts = append(l.texts, label{X: at, Y: foot + 19, Text: strconv.FormatFloat(t, 'f', decimals(scale[1]-scale[0]), 64), Class: "lbl quiet", Anchor: "middle"})
	}
	l.lines = append(l.lines, segment{bars.X, foot, bars.right(), foot, "axis"}, segment{rest.X, foot, rest.right(), foot, "axis"})
	for _, part := range []float64{0, 0.5, 1} {
		at := rest.X + part*rest.W
		l.lines = append(l.lines, segment{at, top, at, foot + 5, "grid"})
		l.texts = append(l.texts, label{X: at, Y: foot + 19, Text: strconv.FormatFloat(100*part, 'f', 0, 64), Class: "lbl quiet", Anchor: "middle"})
	}
	force, left := "force on one stud, "+units.Forces.Label(d.System), "left in the web, %"
	if narrow {
		force, left = "one stud, "+units.Forces.Label(d.System), "web, %"
	}
	l.texts = append(l.texts, label{X: bars.right(), Y: foot + 37, Text: force, Class: "lbl", Anchor: "end"},
		label{X: rest.right(), Y: foot + 37, Text: left, Class: "lbl", Anchor: "end"})
	if d.Resistance > 0 {
		at := x(d.Resistance)
		l.lines = append(l.lines, segment{at, top, at, foot, "demand"})
		l.texts = append(l.texts, l.keep(at, top-7, "resistance "+units.Forces.Format(d.Resistance, d.System, -1), "lbl halo"))
	}
	var said []string
	above := [2]float64{1, 1}
	last := top
	bottomUp := math.Inf(-1)
	for i, r := range d.Rows {
		at := z(r.Z)
		l.lines = append(l.lines, segment{web + 26, at, bars.X, at, "ext"})
		l.shapes = append(l.shapes, outline{D: new(pen).circle(web-10, at, 3).circle(web+10, at, 3).String(), Class: "stud-dot"})
		bar := span(bars.X, at-4, x(r.High), at+4)
		l.shapes = append(l.shapes, outline{D: bar.d(), Class: "sampled"}, outline{D: span(bars.X, at-4, x(r.Low), at+4).d(), Class: "sampled-least"})
		if at-bottomUp >= 12 {
			name := "row " + strconv.Itoa(i+1)
			if narrow {
				name = strconv.Itoa(i + 1)
			}
			l.texts = append(l.texts, label{X: bars.X - 5, Y: at - 3, Text: name, Class: "lbl halo", Anchor: "end"})
			bottomUp = at
		}
		// Between two rows the web keeps what the rows above left it.
		l.shapes = append(l.shapes, leftBand(rest, last, at, above))
		above, last = [2]float64{r.WebLow, r.WebHigh}, at
		said = append(said, "Row "+strconv.Itoa(i+1)+" at "+units.Lengths.Format(r.Z, d.System, -1)+": "+units.Forces.Format(r.Low, d.System, -1)+" to "+
			units.Forces.Format(r.High, d.System, -1)+" on one stud, "+percentText(r.WebLow)+" to "+percentText(r.WebHigh)+" left in the web")
	}
	l.shapes = append(l.shapes, leftBand(rest, last, z(0), above))
	l.height = foot + 44
	l.desc = strings.Join(said, ". ") + "."
	return l
}

// leftBand is the range of what is left in the web over a height; a range of
// nothing is drawn as a thin stroke.
func leftBand(f box, from, to float64, parts [2]float64) outline {
	a, b := parts[0], parts[1]
	if !finite(a, b) {
		a, b = 0, 0
	}
	a, b = math.Max(0, math.Min(1, a)), math.Max(0, math.Min(1, b))
	x1, x2 := f.X+math.Min(a, b)*f.W, f.X+math.Max(a, b)*f.W
	if x2-x1 < 2 {
		x1, x2 = x1-1, x2+1
	}
	return outline{D: span(x1, from, x2, to).d(), Class: "sampled"}
}
