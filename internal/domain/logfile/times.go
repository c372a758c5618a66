package logfile

import (
	"fmt"
	"math"
	"time"
)

// time takes the time of a row into nano.
func (r *Reader) time(f [][]byte) bool {
	c := &r.m.Clock
	if c.Kind == Counted {
		s, n, _ := count(float64(r.rows), c.Every)
		return r.since(s, n)
	}
	cell := f[c.Index-1]
	if c.Kind == Dates {
		var day []byte
		if c.Time > 0 {
			day = f[c.Time-1]
			if day == nil {
				day = []byte{}
			}
		}
		w, ok := stamp(cell, day, c.Order)
		if !ok {
			if day != nil {
				cell = append(append(append([]byte(nil), cell...), ' '), day...)
			}
			return r.badTime(cell)
		}
		return r.instant(w)
	}
	if c.Kind == ElapsedC {
		s, n, ok := span(cell)
		if !ok {
			return r.badTime(cell)
		}
		return r.since(s, n)
	}
	v, rest, ok := number(cell, r.point)
	if !ok || len(rest) > 0 {
		return r.badTime(cell)
	}
	var s, n int64
	switch c.Kind {
	case EpochS, ElapsedS:
		s, n, ok = count(v, 1)
	case EpochMS:
		s, n, ok = count(v, 1e-3)
	case ElapsedM:
		s, n, ok = count(v, 60)
	case ElapsedH:
		s, n, ok = count(v, 3600)
	case Serial:
		// A day has 86400 s; 25569 days lie between the two beginnings. Spreadsheets show
		// milliseconds and keep little more.
		if s, n, ok = count(v-25569, aDay); ok {
			n = (n + 5e5) / 1e6 * 1e6
			return r.instant(wall{sec: s + n/1e9, nano: n % 1e9})
		}
	}
	if !ok {
		return r.badTime(cell)
	}
	if c.Kind == EpochS || c.Kind == EpochMS {
		return r.set(s, n, cell)
	}
	return r.since(s, n)
}

func (r *Reader) since(s, n int64) bool {
	t := r.m.Clock.Start
	return r.set(t.Unix()+s, int64(t.Nanosecond())+n, nil)
}

func (r *Reader) set(s, n int64, cell []byte) bool {
	s += n / 1e9
	n %= 1e9
	if s < -2208988800 || s >= 7258118400 { // 1900 to 2200
		if cell == nil {
			r.refuse(BadTime, r.m.Clock.Index, "the time lies outside the years 1900 to 2199")
			return false
		}
		return r.badTime(cell)
	}
	r.nano = s*1e9 + n
	return true
}

var clockWords = map[string]string{Dates: "a date and time", EpochS: "seconds since 1970", EpochMS: "milliseconds since 1970", Serial: "a spreadsheet's count of days",
	ElapsedS: "a number of seconds", ElapsedM: "a number of minutes", ElapsedH: "a number of hours", ElapsedC: "hours:minutes:seconds"}

func (r *Reader) badTime(cell []byte) bool {
	c := r.m.Clock
	what := clockWords[c.Kind]
	if c.Kind == Dates {
		what = fmt.Sprintf("a date and time in the order %s", orderWords[c.Order])
		for _, o := range []string{"ymd", "dmy", "mdy"} {
			if _, _, ok := date(cell, o); ok && o != c.Order {
				what += fmt.Sprintf(" (it is one in the order %s)", orderWords[o])
				break
			}
		}
	}
	r.refuse(BadTime, c.Index, "%q is not %s", clip(cell), what)
	return false
}

var orderWords = map[string]string{"ymd": "year, month, day", "dmy": "day, month, year", "mdy": "month, day, year"}

// instant turns a date and time of day into an instant, by its own offset or in
// the zone of the map.
func (r *Reader) instant(w wall) bool {
	r.watch.wall, r.watch.fixed = w.sec, w.has
	if w.has {
		return r.set(w.sec-int64(w.off), w.nano, nil)
	}
	if r.rules.Zone == nil {
		r.refuse(BadTime, r.m.Clock.Index, "the time has no offset and no zone is named: name the zone of the logger's clock")
		return false
	}
	a, b, n := r.zone.at(w.sec)
	switch n {
	case 0:
		at, by, _ := r.zone.change(w.sec)
		r.refuse(ClockChange, r.m.Clock.Index, "there is no %s in %s: clocks went from %s to %s in that night. "+
			"The logger did not follow: name the offset that its clock ran at (%s) as its zone",
			clock(w.sec), r.rules.Zone, hour(at), hour(at+by), offsetName(r.zone.offset(w.sec-aDay)))
		return false
	case 2:
		return r.twice(w, a, b)
	}
	return r.set(a, w.nano, nil)
}

// twice settles which of two instants a time of day is that came twice in the night.
// It goes by the order of rows and by their usual step.
func (r *Reader) twice(w wall, a, b int64) bool {
	if r.watch.report.Rows == 0 {
		r.refuse(ClockChange, r.m.Clock.Index, "%s came twice in %s, as clocks went back, and the file begins with it: name the offset (%s or %s) as its zone",
			clock(w.sec), r.rules.Zone, offsetName(w.sec-a), offsetName(w.sec-b))
		return false
	}
	first, second := a*1e9+w.nano-r.watch.last, b*1e9+w.nano-r.watch.last
	usual := r.watch.usual()
	switch {
	case first < 0:
		a = b
	case usual > 0 && math.Abs(float64(second-usual)) < math.Abs(float64(first-usual)):
		a = b
	}
	return r.set(a, w.nano, nil)
}

func clock(w int64) string { return time.Unix(w, 0).UTC().Format("15:04 on 2 January 2006") }
func hour(w int64) string  { return time.Unix(w, 0).UTC().Format("15:04") }

func offsetName(off int64) string {
	sign := '+'
	if off < 0 {
		sign, off = '-', -off
	}
	return fmt.Sprintf("UTC%c%02d:%02d", sign, off/3600, off/60%60)
}
