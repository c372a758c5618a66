package logfile

import (
	"fmt"
	"math"
	"time"
)

// column judges the reading of one column in the row.
func (w *watch) column(i int) bool {
	r, c, v := w.r, &w.cols[i], w.r.values[i]
	if math.IsNaN(v) {
		if c.missing.Rows == 0 {
			c.missing = Finding{Kind: Missing, File: r.name, Line: r.lines.n, Column: r.cols[i].Index, From: r.At()}
		}
		c.missing.Rows++
		c.missing.To = r.At()
		return true
	}
	if c.missing.Rows > 0 {
		w.endMissing(c)
	}
	if c.saturated.Rows > 0 && !c.saturated.To.Equal(r.At()) {
		w.endSaturated(c)
	}
	w.report.Low[i], w.report.High[i] = min(w.report.Low[i], v), max(w.report.High[i], v)
	if v == c.value {
		c.unchanged++
	} else {
		w.endStuck(i)
		c.since, c.sinceLine, c.unchanged = r.nano, r.lines.n, 1
	}
	if u := &r.cols[i].unit; u.Quantity == Temperature && !w.allowed[MixedUnits] && !math.IsNaN(c.value) {
		if c.jump.rows > 0 {
			if !w.settle(i, v) {
				return false
			}
		} else if v != c.value {
			w.suspect(i, v)
		}
	}
	c.value = v
	return true
}

// The rule of mixed units. A change of the unit midway makes a reading p go on as
// 1.8 p + 32 or as (p - 32) / 1.8. Concrete does not do this from one row to the next:
// its temperature moves by a few degrees in an hour. A step counts as such a change
// when the conversion explains it to within unitsTolerance and three times better than
// no change does, and the rows after it stay. Limits: our proposal.
const (
	unitsTolerance = 6.0 // degrees of the file's unit
	unitsStay      = 3   // rows
)

func (w *watch) suspect(i int, v float64) {
	r, c := w.r, &w.cols[i]
	u := &r.cols[i].unit
	if d := v - c.value; d < 8 && d > -8 {
		return
	}
	p, q := (c.value-u.Offset)/u.Scale, (v-u.Offset)/u.Scale
	up, down := p*1.8+32, (p-32)/1.8
	d := math.Abs(q - p)
	var to string
	switch {
	case math.Abs(q-up) <= unitsTolerance && math.Abs(q-up)*3 < d && u.Name == "C":
		to = "°F"
	case math.Abs(q-down) <= unitsTolerance && math.Abs(q-down)*3 < d && u.Name == "F":
		to = "°C"
	case u.Name != "K" && (math.Abs(q-up) <= unitsTolerance && math.Abs(q-up)*3 < d || math.Abs(q-down) <= unitsTolerance && math.Abs(q-down)*3 < d):
		to = "the other of °C and °F" // the rows above were in the wrong unit
	default:
		return
	}
	c.jump = jump{line: r.lines.n, rows: 1, name: r.name, before: p, after: q, to: to}
}

// settle looks whether the readings after a jump stay or come back.
func (w *watch) settle(i int, v float64) bool {
	c := &w.cols[i]
	u := &w.r.cols[i].unit
	q := (v - u.Offset) / u.Scale
	j := &c.jump
	if math.Abs(q-j.before) < math.Abs(q-j.after) {
		w.add(Finding{Kind: Spike, File: j.name, Line: j.line, Column: w.r.cols[i].Index, From: time.Unix(0, c.since).UTC(), To: w.r.At(), Rows: j.rows,
			Text: fmt.Sprintf("jumps from %.4g to %.4g %s and back", j.before, j.after, u.Label)})
		*j = jump{}
		return true
	}
	if j.rows++; j.rows > unitsStay {
		w.r.err = w.mixed(i)
		return false
	}
	return true
}

func (w *watch) mixed(i int) error {
	j := w.cols[i].jump
	return &Problem{File: j.name, Line: j.line, Column: w.r.cols[i].Index, Kind: MixedUnits,
		Reason: fmt.Sprintf("mixed units: the temperature goes from %.4g to %.4g in one row and stays, as if it went on in %s. "+
			"Cut the file there and read each part in its own unit, or say that the concrete did this", j.before, j.after, j.to)}
}

func (w *watch) saturated(i int) {
	c := &w.cols[i]
	if c.saturated.Rows == 0 {
		c.saturated = Finding{Kind: Saturated, File: w.r.name, Line: w.r.lines.n, Column: w.r.cols[i].Index, From: w.r.At()}
	}
	c.saturated.Rows++
	c.saturated.To = w.r.At()
}

func (w *watch) endSaturated(c *watched) {
	c.saturated.Text = fmt.Sprintf("the channel is at its end for %d %s", c.saturated.Rows, plural(c.saturated.Rows, "row"))
	w.add(c.saturated)
	c.saturated = Finding{}
}

func (w *watch) endMissing(c *watched) {
	c.missing.Text = fmt.Sprintf("no reading in %d %s, %s", c.missing.Rows, plural(c.missing.Rows, "row"), Span(c.missing.To.Sub(c.missing.From)))
	w.add(c.missing)
	c.missing = Finding{}
}

func (w *watch) endStuck(i int) {
	c := &w.cols[i]
	long := w.r.rules.Stuck
	if long <= 0 || c.unchanged < 3 || time.Duration(w.last-c.since) < long {
		return
	}
	u := &w.r.cols[i].unit
	w.add(Finding{Kind: Stuck, File: w.lastName, Line: c.sinceLine, Column: w.r.cols[i].Index, From: time.Unix(0, c.since).UTC(), To: time.Unix(0, w.last).UTC(), Rows: c.unchanged,
		Text: fmt.Sprintf("the reading stays at %.4g %s for %s", (c.value-u.Offset)/u.Scale, u.Label, Span(time.Duration(w.last-c.since)))})
}

// end closes what was still running at the end of the rows.
func (w *watch) end() error {
	for i := range w.cols {
		c := &w.cols[i]
		if c.missing.Rows > 0 {
			w.endMissing(c)
		}
		if c.saturated.Rows > 0 {
			w.endSaturated(c)
		}
		w.endStuck(i)
		c.unchanged = 0
		if c.jump.rows > 0 {
			return w.mixed(i)
		}
	}
	return nil
}
