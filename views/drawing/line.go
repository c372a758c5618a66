package drawing

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/units"
)

// LineData is a chart of lines: open ends over time, strength over age.
type LineData struct {
	ID, Title      string
	XLabel, YLabel string
	Kind           units.Kind // of Y, held in the coherent unit
	System         units.System
	// Days makes X a date, in days since 1970-01-01; otherwise X is a plain number.
	Days bool
	// Ages makes X the square root of an age in days, so that the first days get the room.
	Ages   bool
	Zero   bool // the scale of Y begins at zero
	Series []Series
	Levels []Rule  // limits, at a Y
	Dates  []Rule  // such as today, at an X
	Width  float64 // pixels; 0 for 660, and beside it a narrow drawing for small screens
	Height float64 // pixels, 0 for 300
}

// Series is one line. Points are in order of X; one that is no number parts it.
type Series struct {
	Name   string
	Points []Point
	Step   bool     // holds its value until the next point
	Dots   bool     // marks each point
	Dashed bool     // a forecast or a limit rather than a record
	Band   []Spread // the range around it
}

// Point is one value of a series.
type Point struct{ X, Y float64 }

// Spread is a range at a place.
type Spread struct{ X, Lo, Hi float64 }

// Rule is a line across the chart with a word.
type Rule struct {
	At   float64
	Text string
}

// DayNumber is the X of a date.
func DayNumber(t time.Time) float64 {
	y, m, d := t.Date()
	return float64(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix()) / 86400
}

type lineLayout struct {
	id, title, desc string
	width, height   float64
	lines           []segment
	texts           []label
	curves          []curve
	frame           box
	x1, x2          float64 // of the frame's left and right
}

type curve struct {
	class string
	d     string
	band  string
	dots  []string // path of each mark
	end   point    // of the line
	name  label
	tie   segment // from the end of the line to its name
}

// layLine computes the chart.
func layLine(d LineData) lineLayout {
	l := lineLayout{id: ident(d.ID, "chart"), title: d.Title, width: chartRoom(d.Width, chartWidth), height: 300}
	if l.title == "" {
		l.title = strings.TrimSpace(d.YLabel + " by " + d.XLabel)
	}
	if d.Height >= 160 && finite(d.Height) {
		l.height = d.Height
	}
	show := func(v float64) float64 { return d.Kind.Shown(d.System, v) }
	x1, x2, y1, y2 := extent(d, show)
	ys := ticks(y1, y2, 5)
	y1, y2 = ys[0], ys[len(ys)-1]
	xs, xtexts := d.across(&x1, &x2, l.width/88)

	right := 14.0
	for _, s := range d.Series {
		right = max(right, min(wide(s.Name, 12)+26, l.width*0.3))
	}
	step := ys[1] - ys[0]
	left := 24.0
	for _, v := range ys {
		left = max(left, wide(strconv.FormatFloat(v, 'f', decimals(step), 64), 11)+16)
	}
	f := box{left, 30, l.width - left - right, l.height - 30 - 46}
	l.frame, l.x1, l.x2 = f, x1, x2
	px := func(x float64) float64 { return f.X + (x-x1)/(x2-x1)*f.W }
	py := func(y float64) float64 { return f.bottom() - (y-y1)/(y2-y1)*f.H }

	for _, v := range ys {
		l.lines = append(l.lines, segment{f.X, py(v), f.right(), py(v), "grid"})
		l.texts = append(l.texts, label{X: f.X - 8, Y: py(v) + 4, Text: strconv.FormatFloat(v, 'f', decimals(step), 64), Class: "lbl quiet", Anchor: "end"})
	}
	for i, v := range xs {
		l.lines = append(l.lines, segment{px(v), f.bottom(), px(v), f.bottom() + 5, "axis"})
		l.texts = append(l.texts, label{X: px(v), Y: f.bottom() + 19, Text: xtexts[i], Class: "lbl quiet", Anchor: "middle"})
	}
	l.lines = append(l.lines, segment{f.X, f.bottom(), f.right(), f.bottom(), "axis"})
	name := d.YLabel
	if u := d.Kind.Label(d.System); u != "" {
		name = strings.TrimSpace(name + ", " + u)
	}
	l.texts = append(l.texts,
		label{X: 0, Y: 13, Text: strings.TrimPrefix(name, ", "), Class: "lbl"},
		label{X: f.right(), Y: f.bottom() + 37, Text: d.XLabel, Class: "lbl", Anchor: "end"})
	l.rules(d, f, px, func(v float64) float64 { return py(show(v)) })
	for i, s := range d.Series {
		l.curves = append(l.curves, drawCurve(s, i, px, func(v float64) float64 { return py(show(v)) }))
	}
	l.names(f)
	l.desc = describeLine(d)
	return l
}

// extent is the range of all that must be seen.
func extent(d LineData, show func(float64) float64) (x1, x2, y1, y2 float64) {
	x1, y1, x2, y2 = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	seeX := func(v float64) {
		if finite(v) {
			x1, x2 = min(x1, v), max(x2, v)
		}
	}
	seeY := func(v float64) {
		if finite(v) {
			y1, y2 = min(y1, show(v)), max(y2, show(v))
		}
	}
	for _, s := range d.Series {
		for _, p := range s.Points {
			if finite(p.X, p.Y) {
				seeX(p.X)
				seeY(p.Y)
			}
		}
		for _, b := range s.Band {
			seeX(b.X)
			seeY(b.Lo)
			seeY(b.Hi)
		}
	}
	for _, r := range d.Levels {
		seeY(r.At)
	}
	for _, r := range d.Dates {
		seeX(r.At)
	}
	if d.Zero {
		y1, y2 = min(y1, 0), max(y2, 0)
	}
	if !finite(x1, x2) {
		x1, x2 = 0, 1
	}
	if x1 == x2 {
		x1, x2 = x1-1, x2+1
	}
	if !finite(y1, y2) {
		y1, y2 = 0, 1
	}
	return x1, x2, y1, y2
}

// across gives the ticks of X, about so many at the most. Numbers widen the range to whole ticks; dates do not.
func (d LineData) across(x1, x2 *float64, most float64) ([]float64, []string) {
	if d.Days {
		return days(*x1, *x2, most)
	}
	if d.Ages {
		return ages(x1, x2)
	}
	xs := ticks(*x1, *x2, int(most))
	*x1, *x2 = xs[0], xs[len(xs)-1]
	texts := make([]string, len(xs))
	for i, v := range xs {
		texts[i] = strconv.FormatFloat(v, 'f', decimals(xs[1]-xs[0]), 64)
	}
	return xs, texts
}

// ages gives the ticks of square roots of ages, from zero to a little past the last.
func ages(x1, x2 *float64) (xs []float64, texts []string) {
	*x1 = 0
	for _, d := range []float64{1, 2, 4, 7, 14, 28, 56, 90, 180, 360} {
		if r := math.Sqrt(d); r <= *x2*1.001 {
			xs, texts = append(xs, r), append(texts, strconv.FormatFloat(d, 'f', -1, 64))
		}
	}
	return xs, texts
}

// days gives the ticks of a range of dates, about so many at the most: days,
// Mondays, or firsts of months.
func days(x1, x2, most float64) (xs []float64, texts []string) {
	if x2-x1 > 400*366 || !finite(x1, x2) { // not a program of repairs
		return nil, nil
	}
	date := func(v float64) time.Time { return time.Unix(int64(v)*86400, 0).UTC() }
	span := x2 - x1
	for _, step := range []float64{1, 2, 7, 14} {
		if span/step > most {
			continue
		}
		first := math.Ceil(x1/step) * step
		if step >= 7 {
			first = math.Ceil((x1-4)/7)*7 + 4 // day 4 of 1970 was a Monday
		}
		for v := first; v <= x2; v += step {
			xs, texts = append(xs, v), append(texts, date(v).Format("Jan 2"))
		}
		return xs, texts
	}
	months := 1
	for _, m := range []int{1, 2, 3, 6, 12, 24, 60, 120} {
		months = m
		if span/(30.4*float64(m)) <= most+1 {
			break
		}
	}
	at := date(x1)
	t := time.Date(at.Year(), time.January, 1, 0, 0, 0, 0, time.UTC)
	for ; DayNumber(t) <= x2; t = t.AddDate(0, months, 0) {
		if v := DayNumber(t); v >= x1 {
			text := t.Format("Jan")
			if t.Month() == time.January || len(xs) == 0 {
				text = t.Format("Jan 2006")
			}
			xs, texts = append(xs, v), append(texts, text)
		}
	}
	return xs, texts
}

// rules draws levels and dates. Words of dates step down where they would run
// into each other.
func (l *lineLayout) rules(d LineData, f box, px, py func(float64) float64) {
	for _, r := range d.Levels {
		if !finite(r.At) {
			continue
		}
		y := py(r.At)
		l.lines = append(l.lines, segment{f.X, y, f.right(), y, "level"})
		l.texts = append(l.texts, label{X: f.X + 6, Y: y - 5, Text: r.Text, Class: "lbl halo"})
	}
	sorted := slices.Clone(d.Dates)
	slices.SortStableFunc(sorted, func(a, b Rule) int {
		if a.At < b.At {
			return -1
		}
		return 1
	})
	free := math.Inf(-1)
	y := f.Y - 5
	for _, r := range sorted {
		if !finite(r.At) {
			continue
		}
		x, w := px(r.At), wide(r.Text, 11.5)
		t := label{X: x, Y: f.Y - 5, Text: r.Text, Class: "lbl halo", Anchor: "middle"}
		if x-w/2 < free {
			y += 14
			t.Y = y
		} else {
			y = f.Y - 5
		}
		free = max(free, x+w/2+6)
		l.lines = append(l.lines, segment{x, f.Y, x, f.bottom(), "date"})
		l.texts = append(l.texts, t)
	}
}

func drawCurve(s Series, i int, px, py func(float64) float64) curve {
	c := curve{class: "curve s-" + strconv.Itoa(i%5)}
	if s.Dashed {
		c.class += " dashed"
	}
	p := new(pen)
	down, last := false, point{}
	for _, v := range s.Points {
		if !finite(v.X, v.Y) {
			down = false
			continue
		}
		q := point{px(v.X), py(v.Y)}
		switch {
		case !down:
			p.move(q.X, q.Y)
		case s.Step:
			p.to(q.X, last.Y).to(q.X, q.Y)
		default:
			p.to(q.X, q.Y)
		}
		down, last = true, q
		if s.Dots {
			c.dots = append(c.dots, dot(i, q))
		}
	}
	c.d, c.end = p.String(), last
	c.name = label{X: last.X, Y: last.Y, Text: s.Name, Class: "lbl halo name-" + strconv.Itoa(i%5)}
	var up, back []point
	for _, b := range s.Band {
		if finite(b.X, b.Lo, b.Hi) {
			up, back = append(up, point{px(b.X), py(b.Hi)}), append(back, point{px(b.X), py(b.Lo)})
		}
	}
	if len(up) > 1 {
		slices.Reverse(back)
		c.band = poly(append(up, back...)...)
	}
	return c
}

// dot is the mark of a point; each series has a shape of its own.
func dot(i int, q point) string {
	switch i % 5 {
	case 1:
		return box{q.X - 3.2, q.Y - 3.2, 6.4, 6.4}.d()
	case 2:
		return poly(point{q.X, q.Y - 4.4}, point{q.X + 4, q.Y + 3.2}, point{q.X - 4, q.Y + 3.2})
	case 3:
		return poly(point{q.X, q.Y - 4.6}, point{q.X + 4.6, q.Y}, point{q.X, q.Y + 4.6}, point{q.X - 4.6, q.Y})
	case 4:
		return poly(point{q.X, q.Y + 4.4}, point{q.X + 4, q.Y - 3.2}, point{q.X - 4, q.Y - 3.2})
	}
	return new(pen).circle(q.X, q.Y, 3.4).String()
}

// names sets the names of the lines at their ends, one under the other, and ties
// each to its line.
func (l *lineLayout) names(f box) {
	order := make([]int, 0, len(l.curves))
	for i, c := range l.curves {
		if c.d != "" {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int {
		if l.curves[a].name.Y < l.curves[b].name.Y {
			return -1
		}
		return 1
	})
	const pitch = 15.0
	lowest := f.bottom() - 2
	for k := len(order) - 1; k >= 0; k-- { // from the bottom up, no lower than the axis
		c := &l.curves[order[k]]
		c.name.Y = min(c.name.Y, lowest)
		lowest = c.name.Y - pitch
	}
	highest := f.Y
	for _, i := range order {
		c := &l.curves[i]
		c.name.Y = max(c.name.Y, highest)
		highest = c.name.Y + pitch
		c.tie = segment{c.end.X + 4, c.end.Y, f.right() + 9, c.name.Y, "tie"}
		c.name.X = f.right() + 12
		c.name.Y += 4
		c.name.Text = clip(c.name.Text, max(4, int((l.width-c.name.X)/6.2)))
	}
}

func describeLine(d LineData) string {
	var out []string
	for _, s := range d.Series {
		var ok []Point
		for _, p := range s.Points {
			if finite(p.X, p.Y) {
				ok = append(ok, p)
			}
		}
		if len(ok) == 0 {
			continue
		}
		a, b := ok[0], ok[len(ok)-1]
		out = append(out, s.Name+": from "+d.Kind.Format(a.Y, d.System, -1)+" at "+d.place(a.X)+" to "+d.Kind.Format(b.Y, d.System, -1)+" at "+d.place(b.X))
	}
	for _, r := range d.Levels {
		out = append(out, r.Text+": "+d.Kind.Format(r.At, d.System, -1))
	}
	for _, r := range d.Dates {
		out = append(out, r.Text+": "+d.place(r.At))
	}
	return strings.Join(out, ". ") + "."
}

// place says an X in words.
func (d LineData) place(x float64) string {
	if d.Ages {
		return units.Days.Format(x*x, d.System, 1)
	}
	if d.Days && finite(x) {
		return time.Unix(int64(x)*86400, 0).UTC().Format("2006-01-02")
	}
	return units.Significant(x, 4)
}
