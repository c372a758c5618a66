package drawing

import (
	"math"
	"strconv"
	"strings"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// CapacityData is a chart of what an end must carry against what it can carry, one
// row a state: as it was new, as it is now, as repaired.
type CapacityData struct {
	ID     string
	Title  string // "" for "Demand against capacity"
	System units.System
	Kind   units.Kind // of the values, which are in the coherent unit
	Rows   []CapacityRow
	Width  float64 // pixels; 0 for 660, and beside it a narrow drawing for small screens
}

// CapacityRow is one state. Verdict is that of the check; a zero verdict leaves the
// word out.
type CapacityRow struct {
	Label            string
	Capacity, Demand float64
	Verdict          calc.Verdict
}

// Sizes of the bars in pixels.
const (
	chartWidth  = 660.0
	rowHeight   = 46.0
	rowLabel    = 118.0
	rowVerdict  = 150.0
	barTall     = 16.0
	chartTop    = 12.0
	chartBottom = 34.0
	narrowChart = 328.0 // on small screens
	narrowBelow = 480.0 // charts below this width letter over their bars
	narrowRow   = 66.0
)

type capacityLayout struct {
	id, title, desc string
	width, height   float64
	lines           []segment
	texts           []label
	rows            []capacityBar
}

type capacityBar struct {
	bar   box
	short *box // what is missing to the demand
	tick  segment
	class string
	texts []label
}

// layCapacity computes the chart. Values that are no numbers count as zero and
// print as a dash.
func layCapacity(d CapacityData) capacityLayout {
	c := capacityLayout{id: ident(d.ID, "capacity"), title: d.Title, width: chartRoom(d.Width, chartWidth)}
	if c.title == "" {
		c.title = "Demand against capacity"
	}
	most := 0.0
	for _, r := range d.Rows {
		for _, v := range []float64{r.Capacity, r.Demand} {
			if finite(v) {
				most = max(most, d.Kind.Shown(d.System, v))
			}
		}
	}
	left, right, tall := rowLabel, rowVerdict, rowHeight
	narrow := c.width < narrowBelow
	if narrow {
		left, right, tall = 2, 30, narrowRow
	}
	scale := ticks(0, max(most, 1e-9), min(5, int(c.width/80)))
	room := c.width - left - right
	per := room / scale[len(scale)-1]
	x := func(v float64) float64 {
		if !finite(v) || v < 0 {
			v = 0
		}
		return left + d.Kind.Shown(d.System, v)*per
	}
	foot := chartTop + tall*float64(len(d.Rows))
	step := scale[1] - scale[0]
	for i, t := range scale {
		at := left + t*per
		c.lines = append(c.lines, segment{at, chartTop, at, foot + 5, "grid"})
		l := label{X: at, Y: foot + 19, Text: strconv.FormatFloat(t, 'f', decimals(step), 64), Class: "lbl quiet", Anchor: "middle"}
		if i == 0 && narrow {
			l.X, l.Anchor = 0, "start"
		}
		c.texts = append(c.texts, l)
	}
	c.texts = append(c.texts, label{X: left + room + 16, Y: foot + 19, Text: d.Kind.Label(d.System), Class: "lbl quiet"})
	c.lines = append(c.lines, segment{left, chartTop, left, foot, "axis"})
	var said []string
	for i, r := range d.Rows {
		y := chartTop + tall*float64(i) + tall - barTall - 8
		b := capacityBar{bar: span(x(0), y, x(r.Capacity), y+barTall), class: "cap"}
		tick := x(r.Demand)
		b.tick = segment{tick, y - 6, tick, y + barTall + 5, "demand"}
		if tick > b.bar.right()+0.01 {
			gap := span(b.bar.right(), y, tick, y+barTall)
			b.short = &gap
			b.class = "cap short"
		}
		capText, demText := d.Kind.Format(r.Capacity, d.System, -1), d.Kind.Format(r.Demand, d.System, -1)
		in := label{X: b.bar.right() - 6, Y: y + 12.5, Text: capText, Class: "lbl", Anchor: "end"}
		if wide(capText, 11.5)+12 > b.bar.W {
			in = label{X: max(b.bar.right(), tick) + 8, Y: y + 12.5, Text: capText, Class: "lbl halo"}
		}
		b.texts = append(b.texts, in, over(tick, y-7, "demand "+demText, left, left+room+right))
		name := label{X: left - 10, Y: y + 12.5, Text: clip(r.Label, 18), Class: "strong", Anchor: "end"}
		ratio := label{X: c.width - 2, Y: y + 3, Text: "demand/capacity " + ratioText(r), Class: "lbl halo", Anchor: "end"}
		verdict := label{X: c.width - 2, Y: y + 17, Text: r.Verdict.String(), Class: "lbl halo verdict " + r.Verdict.Key(), Anchor: "end"}
		if narrow {
			name = label{X: left + 6, Y: y - 23, Text: clip(r.Label, 14), Class: "strong halo"}
			verdict.Y, ratio.Y = y-23, y-23
			ratio.X, ratio.Text = left+144, "ratio "+ratioText(r)
		}
		b.texts = append(b.texts, name, ratio)
		words := r.Label + ": capacity " + capText + ", demand " + demText + ", ratio " + ratioText(r)
		if r.Verdict != calc.Undecided {
			b.texts = append(b.texts, verdict)
			words += ", " + r.Verdict.String()
		}
		said = append(said, words)
		c.rows = append(c.rows, b)
	}
	c.height = foot + chartBottom
	c.desc = strings.Join(said, ". ") + "."
	return c
}

func ratioText(r CapacityRow) string {
	switch {
	case !finite(r.Capacity, r.Demand):
		return "–"
	case r.Capacity <= 0 && r.Demand > 0:
		return "∞"
	case r.Capacity <= 0:
		return "–"
	}
	return strconv.FormatFloat(r.Demand/r.Capacity, 'f', 2, 64)
}

// over centers a text over x and keeps it between two limits.
func over(x, y float64, text string, lo, hi float64) label {
	half := wide(text, 11) / 2
	return label{X: math.Max(lo+half+2, math.Min(x, hi-half)), Y: y, Text: text, Class: "lbl quiet halo", Anchor: "middle"}
}

func chartRoom(asked, otherwise float64) float64 {
	if asked >= 320 && finite(asked) {
		return asked
	}
	return otherwise
}
