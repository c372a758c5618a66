package logfile

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// watch looks at the rows as they pass: their order, their steps, their values.
type watch struct {
	r       *Reader
	report  Report
	allowed map[Kind]bool

	last     int64 // instant of the row before, ns
	lastLine int
	lastName string
	lastWall int64
	wall     int64 // the row's date and time of day as written, seconds
	fixed    bool  // it carried its own offset
	prev     []float64
	steps    [8]stepCount
	cols     []watched
}

type stepCount struct {
	step int64
	n    int
}

// watched is what is kept of one column.
type watched struct {
	since     int64 // when the present reading was first seen
	sinceLine int
	unchanged int
	missing   Finding // run of rows without a reading
	saturated Finding
	value     float64 // last reading; NaN before the first
	jump      jump
}

// jump is a step that a change of units would explain, until the rows after it tell.
type jump struct {
	line, rows    int
	name          string
	before, after float64 // in the unit of the file
	to            string  // the unit in which the readings seem to go on
}

func (w *watch) start(r *Reader) {
	w.r = r
	w.allowed = map[Kind]bool{}
	for _, k := range r.rules.Allow {
		w.allowed[k] = true
	}
	n := len(r.cols)
	w.prev, w.cols = make([]float64, n), make([]watched, n)
	w.report.Counts = map[Kind]int{}
	w.report.Low, w.report.High = make([]float64, n), make([]float64, n)
	for i := range n {
		w.cols[i].value = math.NaN()
		w.report.Low[i], w.report.High[i] = math.Inf(1), math.Inf(-1)
	}
}

// add lists a finding of the present line, unless it says its own.
func (w *watch) add(f Finding) {
	w.report.Counts[f.Kind]++
	if n := w.report.Counts[f.Kind]; n > mostFindings {
		return
	}
	if f.Line == 0 && w.r.lines != nil {
		f.Line, f.File = w.r.lines.n, w.r.name
	}
	w.report.Findings = append(w.report.Findings, f)
}

// row looks at the row just read. It reports whether the row is to be taken and
// whether reading may go on.
func (w *watch) row() (taken, ok bool) {
	r := w.r
	if w.report.Rows > 0 {
		step := r.nano - w.last
		switch {
		case step < 0:
			return false, w.back(step)
		case step == 0:
			if w.same() {
				w.add(Finding{Kind: SameRow, From: r.At(), To: r.At(), Rows: 1, Text: "repeats the row above; it was left out"})
				return false, true
			}
			if !w.allowed[Repeated] {
				r.refuse(Repeated, r.m.Clock.Index, "the time %s is that of line %d, with other values; two readings cannot be of one time",
					r.At().Format("2006-01-02 15:04:05.999 UTC"), w.lastLine)
				return false, false
			}
			w.add(Finding{Kind: Repeated, From: r.At(), To: r.At(), Rows: 1, Text: "has the time of the row above with other values; the first counts"})
			return false, true
		}
		if !w.step(step) {
			return false, false
		}
	} else {
		w.report.First = r.At()
	}
	for i := range w.cols {
		if !w.column(i) {
			return false, false
		}
	}
	w.report.Rows++
	w.last, w.lastLine, w.lastName, w.lastWall = r.nano, r.lines.n, r.name, w.wall
	copy(w.prev, r.values)
	return true, true
}

func (w *watch) same() bool {
	for i, v := range w.r.values {
		if v != w.prev[i] && !(math.IsNaN(v) && math.IsNaN(w.prev[i])) {
			return false
		}
	}
	return true
}

// back refuses a time before that of the row above.
func (w *watch) back(step int64) bool {
	r := w.r
	if w.lastName != r.name {
		r.refuse(Backwards, r.m.Clock.Index, "%s begins before %s ends: the files overlap; leave one out", r.name, w.lastName)
		return false
	}
	usual := w.usual()
	if w.localTimes() && near(step, usual-3600e9, usual) {
		r.refuse(ClockChange, r.m.Clock.Index, "the time goes back by an hour after line %d, as clocks do at the end of daylight saving time, but %s knows no such change there: "+
			"name the zone of the place whose clock the logger kept", w.lastLine, r.rules.Zone)
		return false
	}
	hint := ""
	if step < -11*3600e9 && step > -13*3600e9 {
		hint = " (a twelve-hour clock without AM and PM?)"
	}
	r.refuse(Backwards, r.m.Clock.Index, "the time goes back by %s after line %d%s", Span(time.Duration(-step)), w.lastLine, hint)
	return false
}

// localTimes reports whether the row's time was told by a clock of a zone.
func (w *watch) localTimes() bool {
	k := w.r.m.Clock.Kind
	return (k == Dates && !w.fixed) || k == Serial
}

// near reports whether a step is the one expected, to a tenth of the usual one and
// at most a minute.
func near(step, expected, usual int64) bool {
	d := step - expected
	tol := min(max(usual/10, 1e9), 60e9)
	return usual > 0 && d >= -tol && d <= tol
}

// step judges the time since the row above.
func (w *watch) step(step int64) bool {
	usual := w.usual()
	if usual > 0 && w.localTimes() && step != usual && !w.clockHeld(step, usual) {
		return false
	}
	gap := int64(w.r.rules.Gap)
	if gap == 0 {
		gap = usual * 3 / 2
	}
	if usual > 0 && step != usual {
		if step > gap {
			from := time.Unix(0, w.last).UTC()
			w.add(Finding{Kind: Gap, From: from, To: w.r.At(), Rows: int(step/usual) - 1, Text: fmt.Sprintf("no rows for %s, where they come every %s", Span(time.Duration(step)), Span(time.Duration(usual)))})
		} else if d := max(step-usual, usual-step); d > usual/10 {
			// Words are made for the few that are listed only: a file may have a million.
			if w.report.Counts[Jitter] >= mostFindings {
				w.report.Counts[Jitter]++
			} else {
				w.add(Finding{Kind: Jitter, From: time.Unix(0, w.last).UTC(), To: w.r.At(), Rows: 1, Text: fmt.Sprintf("the step is %s, where it is %s as a rule", Span(time.Duration(step)), Span(time.Duration(usual)))})
			}
		}
	}
	w.count(step)
	return true
}

// clockHeld refuses steps that tell of a clock which was, or was not, put forward or
// back where the zone says otherwise.
func (w *watch) clockHeld(step, usual int64) bool {
	r := w.r
	if w.allowed[ClockChange] {
		return true
	}
	wallStep := (w.wall - w.lastWall) * 1e9
	if wallStep/1e9 != step/1e9 && near(wallStep, usual, usual) && !near(step, usual, usual) {
		at, by, ok := r.zone.change(w.wall)
		if !ok {
			return true
		}
		r.refuse(ClockChange, r.m.Clock.Index, "the logger's clock ran on through the night in which clocks in %s went from %s to %s: it did not follow. "+
			"Name the offset that it ran at (%s) as its zone", r.rules.Zone, hour(at), hour(at+by), offsetName(r.zone.offset(w.lastWall-aDay)))
		return false
	}
	if near(step, usual+3600e9, usual) && nightOfChange(w.wall) {
		if _, _, ok := r.zone.change(w.wall); !ok {
			r.refuse(ClockChange, r.m.Clock.Index, "an hour is missing after line %d, as where clocks are put forward, but %s knows no such change there: "+
				"name the zone of the place, or say that the pause is real", w.lastLine, r.rules.Zone)
			return false
		}
	}
	return true
}

// nightOfChange reports whether a date and time of day is one at which clocks change
// in most places that change them: early on a Sunday in March, April, September,
// October or November (common practice, no source).
func nightOfChange(wall int64) bool {
	t := time.Unix(wall, 0).UTC()
	m := t.Month()
	return t.Weekday() == time.Sunday && t.Hour() <= 4 && (m == 3 || m == 4 || m == 9 || m == 10 || m == 11)
}

// count keeps the commonest steps in a few slots (J. Misra and D. Gries, Finding
// repeated elements, 1982).
func (w *watch) count(step int64) {
	free := -1
	for i := range w.steps {
		if w.steps[i].n > 0 && w.steps[i].step == step {
			w.steps[i].n++
			if i > 0 && w.steps[i].n > w.steps[0].n {
				w.steps[0], w.steps[i] = w.steps[i], w.steps[0]
			}
			return
		}
		if w.steps[i].n == 0 {
			free = i
		}
	}
	if free >= 0 {
		w.steps[free] = stepCount{step, 1}
		if free > 0 && w.steps[0].n == 0 {
			w.steps[0], w.steps[free] = w.steps[free], w.steps[0]
		}
		return
	}
	for i := range w.steps {
		w.steps[i].n--
	}
}

// usual is the commonest step so far, 0 until one came twice.
func (w *watch) usual() int64 {
	if w.steps[0].n < 2 {
		return 0
	}
	return w.steps[0].step
}

// seen returns a copy of the report.
func (w *watch) seen() Report {
	out := w.report
	if out.Rows > 0 {
		out.Last = time.Unix(0, w.last).UTC()
	}
	out.Step = time.Duration(w.usual())
	out.Findings = slices.Clone(out.Findings)
	return out
}

// Span says a length of time in plain words: 1 h 20 min, 0.01 s.
func Span(d time.Duration) string {
	switch {
	case d < time.Minute:
		return fmt.Sprintf("%.4g s", d.Seconds())
	case d < time.Hour:
		if s := d % time.Minute; s > 0 {
			return fmt.Sprintf("%d min %.3g s", d/time.Minute, s.Seconds())
		}
		return fmt.Sprintf("%d min", d/time.Minute)
	case d < 48*time.Hour:
		if m := d % time.Hour / time.Minute; m > 0 {
			return fmt.Sprintf("%d h %d min", d/time.Hour, m)
		}
		return fmt.Sprintf("%d h", d/time.Hour)
	}
	if h := d % (24 * time.Hour) / time.Hour; h > 0 {
		return fmt.Sprintf("%d d %d h", d/(24*time.Hour), h)
	}
	return fmt.Sprintf("%d d", d/(24*time.Hour))
}
