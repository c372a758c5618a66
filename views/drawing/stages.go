package drawing

import (
	"math"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/units"
)

// StagesData is the capacity of an end at each stage of the work. Forces in N.
type StagesData struct {
	ID     string
	System units.System
	Stages []StageMark // in order of time; those without a date come first
}

// StageMark is one stage. Number is the one in the table beside.
type StageMark struct {
	Number           int
	Label            string
	On               time.Time // zero: before the dates of the chart
	Capacity, Demand float64
}

// layStages computes the chart: a step line over dates, with the stages that have
// no date on a piece before a break of the axis.
func layStages(d StagesData, width float64) oddsLayout {
	l := oddsLayout{id: ident(d.ID, "stages"), title: "Capacity at each stage of the work", width: width, height: 320,
		note: "Solid step: capacity as computed from what was on record at that stage. Heavy stroke: the demand. Numbers are those of the table."}
	most := 0.0
	x1, x2 := math.Inf(1), math.Inf(-1)
	undated := 0
	for _, s := range d.Stages {
		for _, v := range []float64{s.Capacity, s.Demand} {
			if finite(v) {
				most = max(most, units.Forces.Shown(d.System, v))
			}
		}
		if s.On.IsZero() {
			undated++
			continue
		}
		x1, x2 = min(x1, DayNumber(s.On)), max(x2, DayNumber(s.On))
	}
	if !finite(x1, x2) {
		x1, x2 = 0, 1
	}
	pad := math.Max((x2-x1)*0.05, 7)
	x1, x2 = x1-pad, x2+2*pad
	ys := ticks(0, max(most, 1e-9), 5)
	top := ys[len(ys)-1]
	f := box{52, 34, width - 66, 212}
	lead := 0.0
	if undated > 0 {
		lead = math.Min(96, width*0.18)
	}
	px := func(day float64) float64 { return f.X + lead + (day-x1)/(x2-x1)*(f.W-lead) }
	py := func(v float64) float64 {
		if !finite(v) {
			v = 0
		}
		return f.bottom() - units.Forces.Shown(d.System, v)/top*f.H
	}
	for _, v := range ys {
		y := f.bottom() - v/top*f.H
		l.lines = append(l.lines, segment{f.X, y, f.right(), y, "grid"})
		l.texts = append(l.texts, label{X: f.X - 8, Y: y + 4, Text: strconv.FormatFloat(v, 'f', decimals(ys[1]-ys[0]), 64), Class: "lbl quiet", Anchor: "end"})
	}
	xs, names := days(x1, x2, (f.W-lead)/88)
	for i, v := range xs {
		l.lines = append(l.lines, segment{px(v), f.bottom(), px(v), f.bottom() + 5, "axis"})
		l.texts = append(l.texts, l.keep(px(v), f.bottom()+19, names[i], "lbl quiet"))
	}
	l.texts = append(l.texts, label{X: 0, Y: 13, Text: "capacity, " + units.Forces.Label(d.System), Class: "lbl"})
	from := f.X
	if lead > 0 {
		from = f.X + lead
		cut := f.X + lead - 8
		l.lines = append(l.lines, segment{f.X, f.bottom(), cut - 4, f.bottom(), "axis"},
			segment{cut - 7, f.bottom() + 5, cut - 1, f.bottom() - 5, "axis"}, segment{cut - 1, f.bottom() + 5, cut + 5, f.bottom() - 5, "axis"})
		l.texts = append(l.texts, label{X: f.X + (lead-12)/2, Y: f.bottom() + 19, Text: "before", Class: "lbl quiet", Anchor: "middle"})
	}
	l.lines = append(l.lines, segment{from, f.bottom(), f.right(), f.bottom(), "axis"})
	steps := new(pen)
	seen := 0
	var last point
	var said []string
	free := map[int]float64{} // lowest y taken by a number in a column
	for i, s := range d.Stages {
		at := point{Y: py(s.Capacity)}
		if s.On.IsZero() {
			at.X = f.X + (lead-12)*(float64(seen)+0.2)/float64(undated)
			seen++
		} else {
			at.X = px(DayNumber(s.On))
		}
		if i == 0 {
			steps.move(at.X, at.Y)
		} else {
			steps.to(at.X, last.Y).to(at.X, at.Y)
		}
		last = at
		l.shapes = append(l.shapes, outline{D: new(pen).circle(at.X, at.Y, 3.6).String(), Class: "solid"})
		y := at.Y - 9
		col := int(at.X / 14)
		for _, c := range []int{col - 1, col, col + 1} {
			if v, ok := free[c]; ok && math.Abs(v-y) < 14 {
				y = v - 14
			}
		}
		free[col] = y
		l.texts = append(l.texts, label{X: at.X + 5, Y: math.Max(24, y), Text: strconv.Itoa(s.Number), Class: "strong halo"})
		when := "no date"
		if !s.On.IsZero() {
			when = s.On.Format(time.DateOnly)
		}
		said = append(said, s.Label+", "+when+": capacity "+units.Forces.Format(s.Capacity, d.System, -1)+", demand "+units.Forces.Format(s.Demand, d.System, -1))
	}
	if len(d.Stages) > 0 {
		steps.to(f.right(), last.Y)
		l.shapes = append([]outline{{D: steps.String(), Class: "curve s-0"}}, l.shapes...)
		demand := d.Stages[len(d.Stages)-1].Demand
		if demand > 0 {
			l.lines = append(l.lines, segment{f.X, py(demand), f.right(), py(demand), "demand"})
			l.texts = append(l.texts, label{X: f.X + 6, Y: py(demand) + 15, Text: "demand " + units.Forces.Format(demand, d.System, -1), Class: "lbl halo"})
		}
	}
	l.height = f.bottom() + 34
	l.desc = strings.Join(said, ". ") + "."
	return l
}
