package monitor

import (
	"fmt"
	"math"
	"strings"

	"endcast/internal/domain/basis"
)

// FaultKind is what is wrong with a stream.
type FaultKind string

// Faults.
const (
	Gap       FaultKind = "gap"        // rows are missing
	Jitter    FaultKind = "jitter"     // time stamps lie off their even place
	Duplicate FaultKind = "duplicate"  // a time comes twice
	ClockBack FaultKind = "clock_back" // time goes backwards
	ClockStep FaultKind = "clock_step" // time jumps forward by no whole number of intervals
	Missing   FaultKind = "missing"    // no number in a channel
	Stuck     FaultKind = "stuck"      // one value repeated
	Saturated FaultKind = "saturated"  // at the end of the range, or with flat tops
)

// Fault is a thing wrong with a stream, with the place of its first sight.
type Fault struct {
	Kind     FaultKind
	Channel  int   // -1: of the rows
	Line     int   // of the file, where it begins
	From, To int64 // ns
	Rows     int64 // concerned
	// Size is, by kind: s missing; largest part of an interval off; s that time went
	// back or jumped; the value repeated or that the top is flat at.
	Size  float64
	Words string
}

// mostListed bounds the list of each kind; what is beyond is only counted.
const mostListed = 100

// Listed are the faults found, the worst of each kind kept where there are many.
type Listed struct {
	Faults []Fault
	Total  map[FaultKind]int // all of them, also those not listed
	Rows   int64
	From   int64
	To     int64
	// Lost is the time without rows over the time between the first and the last row.
	Lost float64
	// Interval is the median of the first thousand intervals, ns: compare it with the
	// rate that was entered.
	Interval int64
}

// Screen looks at the rows of a stream as they come, before anything is done with
// them. Its memory does not grow with the stream. A wrong stream is listed, not
// refused: whether to take it is for the reader and for the person.
type Screen struct {
	rate, interval   float64 // a second; ns
	jitter, gap      float64
	clipped          int
	channels         []screened
	faults           map[FaultKind][]Fault
	total            map[FaultKind]int
	rows             int64
	first, last, top int64 // times: of the first row, the row before, the latest
	lastValues       []float64
	lost             int64
	off              Fault // worst jitter
	offRows          int64
	back             int // index of the open step back, -1
	intervals        []float64
}

// ScreenChannel is what a Screen must know of a column.
type ScreenChannel struct {
	Name      string
	Kind      Kind
	Low, High float64 // range of the logger; equal: not known
}

type screened struct {
	ScreenChannel
	stuckFor     int64 // ns
	run          Fault // of one value
	value        float64
	missing      Fault
	end          Fault // at the end of the range
	high, low    flat
	running, out bool
}

// flat watches for tops that are cut off where the range is not known: the extreme of
// the stream, met again and again for several samples in a row.
type flat struct {
	value float64
	now   int // samples in a row at it
	runs  int // rows of at least so many samples
	rows  int64
	first Fault
}

// NewScreen looks at columns of a stream of rate samples a second.
func NewScreen(b basis.Basis, rate float64, channels []ScreenChannel) *Screen {
	s := &Screen{rate: rate, interval: 1e9 / rate, jitter: b.Value(basis.ScreenJitter), gap: b.Value(basis.ScreenGap), clipped: int(b.Value(basis.ScreenClipped)),
		faults: map[FaultKind][]Fault{}, total: map[FaultKind]int{}, back: -1, lastValues: make([]float64, len(channels))}
	for _, c := range channels {
		x := screened{ScreenChannel: c, stuckFor: int64(b.Value(basis.ScreenStuckFast) * 1e9), high: flat{value: math.Inf(-1)}, low: flat{value: math.Inf(1)}}
		if c.Kind == Thermometer || c.Kind == StrengthSensor {
			x.stuckFor = int64(b.Value(basis.ScreenStuckSlow) * 3600e9)
		}
		s.channels = append(s.channels, x)
	}
	return s
}

// Row takes a row of a file: its line, its time and the values as the logger wrote
// them, NaN for none. It says whether the row is in order; one that is not, a
// duplicate or one before the latest, should be left out.
func (s *Screen) Row(line int, t int64, values []float64) (inOrder bool) {
	s.rows++
	if s.rows == 1 {
		s.first, s.last, s.top = t, t, t
	} else if !s.time(line, t, values) {
		s.last = t
		return false
	}
	s.last, s.top = t, max(s.top, t)
	for c := range s.channels {
		v := math.NaN()
		if c < len(values) {
			v = values[c]
		}
		s.channel(c, line, t, v)
		s.lastValues[c] = v
	}
	return true
}

// time looks at the step from the row before.
func (s *Screen) time(line int, t int64, values []float64) bool {
	step := t - s.last
	switch {
	case t > s.top:
		s.back = -1
		s.forward(line, t, t-s.top)
		return true
	case step == 0:
		what := "with the same values"
		for c := range s.lastValues {
			if c < len(values) && values[c] != s.lastValues[c] && (values[c] == values[c] || s.lastValues[c] == s.lastValues[c]) {
				what = "with other values"
			}
		}
		s.add(Fault{Kind: Duplicate, Channel: -1, Line: line, From: t, To: t, Rows: 1, Words: "a time comes twice, " + what})
	case step < 0:
		s.back = s.add(Fault{Kind: ClockBack, Channel: -1, Line: line, From: t, To: t, Rows: 1, Size: float64(-step) / 1e9,
			Words: fmt.Sprintf("time goes back by %s", seconds(float64(-step)/1e9))})
	case s.back >= 0: // still before the latest
		f := &s.faults[ClockBack][s.back]
		f.To, f.Rows = t, f.Rows+1
	}
	return false
}

// forward looks at a step to a later time.
func (s *Screen) forward(line int, t, step int64) {
	n := float64(step) / s.interval
	if len(s.intervals) < 1000 {
		s.intervals = append(s.intervals, float64(step))
	}
	if n > s.gap {
		lost := float64(step) - s.interval
		s.lost += int64(lost)
		f := Fault{Kind: Gap, Channel: -1, Line: line, From: s.top, To: t, Rows: int64(math.Round(n)) - 1, Size: lost / 1e9,
			Words: fmt.Sprintf("%s without rows", seconds(lost/1e9))}
		// Rows that were lost leave the clock in step; a clock that was set does not. Over
		// long gaps the clock drifts, and nothing can be told.
		if off := math.Abs(n - math.Round(n)); off > s.jitter && step < 10e9 {
			f.Kind, f.Words = ClockStep, fmt.Sprintf("time jumps by %s, no whole number of sampling intervals: the clock was set, or the rate is another", seconds(float64(step)/1e9))
		}
		s.add(f)
		return
	}
	if off := math.Abs(n - 1); off > s.jitter {
		s.offRows++
		if off > s.off.Size {
			s.off = Fault{Kind: Jitter, Channel: -1, Line: line, From: s.top, To: t, Size: off}
		}
	}
}

func (s *Screen) channel(c, line int, t int64, v float64) {
	x := &s.channels[c]
	if v != v || math.IsInf(v, 0) {
		s.endRun(c)
		s.endClip(c)
		x.high.now, x.low.now = 0, 0
		if x.missing.Rows == 0 {
			x.missing = Fault{Kind: Missing, Channel: c, Line: line, From: t}
		}
		x.missing.Rows, x.missing.To = x.missing.Rows+1, t
		return
	}
	s.endMissing(c)
	if x.running && v == x.value {
		x.run.To, x.run.Rows = t, x.run.Rows+1
	} else {
		s.endRun(c)
		x.running, x.value = true, v
		x.run = Fault{Kind: Stuck, Channel: c, Line: line, From: t, To: t, Rows: 1, Size: v}
	}
	if x.Low < x.High {
		if v > x.Low && v < x.High {
			s.endClip(c)
		} else {
			if !x.out {
				x.out, x.end = true, Fault{Kind: Saturated, Channel: c, Line: line, From: t, Size: v}
			}
			x.end.To, x.end.Rows = t, x.end.Rows+1
		}
		return
	}
	x.high.look(v, v > x.high.value, line, t, s.clipped)
	x.low.look(v, v < x.low.value, line, t, s.clipped)
}

func (f *flat) look(v float64, beyond bool, line int, t int64, least int) {
	if beyond {
		*f = flat{value: v}
	}
	if v != f.value {
		f.now = 0
		return
	}
	if f.now == 0 && f.runs == 0 {
		f.first = Fault{Line: line, From: t}
	}
	f.now++
	switch {
	case f.now == least:
		f.runs++
		f.rows += int64(least)
	case f.now > least:
		f.rows++
	}
	f.first.To = t
}

func (s *Screen) endRun(c int) {
	x := &s.channels[c]
	if x.running && x.run.To-x.run.From >= x.stuckFor && x.run.Rows > 1 {
		x.run.Words = fmt.Sprintf("%s reads %g for %s", x.Name, x.value, seconds(float64(x.run.To-x.run.From)/1e9))
		s.add(x.run)
	}
	x.running = false
}

func (s *Screen) endClip(c int) {
	x := &s.channels[c]
	if x.out && x.end.Rows >= int64(s.clipped) {
		x.end.Words = fmt.Sprintf("%s lies at or beyond the end of its range of %g to %g for %d samples", x.Name, x.Low, x.High, x.end.Rows)
		s.add(x.end)
	}
	x.out, x.end = false, Fault{}
}

func (s *Screen) endMissing(c int) {
	x := &s.channels[c]
	if x.missing.Rows > 0 {
		f := x.missing
		f.Size = float64(f.To-f.From)/1e9 + 1/s.rate
		f.Words = fmt.Sprintf("%s gives no number for %s", x.Name, seconds(f.Size))
		s.add(f)
		x.missing = Fault{}
	}
}

// add lists a fault and returns its index, or -1 when only counted. A full list
// keeps the longest.
func (s *Screen) add(f Fault) int {
	s.total[f.Kind]++
	list := s.faults[f.Kind]
	if len(list) < mostListed {
		s.faults[f.Kind] = append(list, f)
		return len(list)
	}
	least := 0
	for i := range list {
		if list[i].Rows < list[least].Rows {
			least = i
		}
	}
	if f.Rows > list[least].Rows {
		copy(list[least:], list[least+1:])
		list[len(list)-1] = f
		return len(list) - 1
	}
	return -1
}

// Close ends the stream and lists what was found, kind by kind in the order of time.
func (s *Screen) Close() Listed {
	for c := range s.channels {
		x := &s.channels[c]
		s.endRun(c)
		s.endClip(c)
		s.endMissing(c)
		// A top is flat when it was met more than once: one peak may well hold a value for
		// a few samples.
		for _, f := range []*flat{&x.high, &x.low} {
			if f.runs >= 2 && x.high.value > x.low.value {
				f.first.Kind, f.first.Channel, f.first.Rows, f.first.Size = Saturated, c, f.rows, f.value
				f.first.Words = fmt.Sprintf("%s has flat ends at %g, %d times for %d samples or more: the range of the logger may be too small", x.Name, f.value, f.runs, s.clipped)
				s.add(f.first)
			}
		}
	}
	if s.offRows > 0 {
		s.off.Rows = s.offRows
		s.off.Words = fmt.Sprintf("%d time stamps lie more than %.0f percent of an interval off their even place, at most %.0f percent", s.offRows, 100*s.jitter, 100*s.off.Size)
		s.add(s.off)
	}
	out := Listed{Total: s.total, Rows: s.rows, From: s.first, To: s.top}
	for _, k := range []FaultKind{ClockBack, ClockStep, Gap, Duplicate, Jitter, Missing, Stuck, Saturated} {
		out.Faults = append(out.Faults, s.faults[k]...)
	}
	if s.top > s.first {
		out.Lost = float64(s.lost) / float64(s.top-s.first)
	}
	if len(s.intervals) > 0 {
		out.Interval = int64(medianIn(s.intervals))
	}
	return out
}

// seconds is a time in words.
func seconds(s float64) string {
	switch {
	case s < 120:
		return strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.3f", s), "0"), ".") + " s"
	case s < 7200:
		return fmt.Sprintf("%.1f min", s/60)
	}
	return fmt.Sprintf("%.1f h", s/3600)
}
