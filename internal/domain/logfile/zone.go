package logfile

import "time"

// local turns times of a zone into instants. It keeps the stretch between two
// changes of the clock in which the last row lay, since looking it up for each row
// costs more than reading the row.
type local struct {
	zone     *time.Location
	from, to int64 // the offset holds for instants from..to with a day to spare on both sides
	off      int64
}

const aDay = 86400

// at returns the instants that the time of day w can be: one as a rule, none in the
// hour that is left out when clocks go forward, two in the hour that comes twice
// when they go back. The earlier is first.
func (l *local) at(w int64) (a, b int64, n int) {
	if u := w - l.off; u > l.from && u < l.to {
		return u, u, 1
	}
	before, after := l.offset(w-aDay), l.offset(w+aDay)
	if before == after {
		u := w - before
		start, end := time.Unix(u, 0).In(l.zone).ZoneBounds()
		l.off, l.from, l.to = before, -1<<62, 1<<62
		if !start.IsZero() {
			l.from = start.Unix() + aDay
		}
		if !end.IsZero() {
			l.to = end.Unix() - aDay
		}
		return u, u, 1
	}
	a, b = w-max(before, after), w-min(before, after)
	okA, okB := l.offset(a) == w-a, l.offset(b) == w-b
	switch {
	case okA && okB:
		return a, b, 2
	case okA:
		return a, a, 1
	case okB:
		return b, b, 1
	}
	return 0, 0, 0
}

func (l *local) offset(u int64) int64 {
	_, off := time.Unix(u, 0).In(l.zone).Zone()
	return int64(off)
}

// change returns the change of the clock nearest to w in the two days around it: the
// time of day at which it happens by the clock as it was before, and by how many
// seconds the clock goes forward.
func (l *local) change(w int64) (at, by int64, ok bool) {
	before, after := l.offset(w-aDay), l.offset(w+aDay)
	if before == after {
		return 0, 0, false
	}
	_, end := time.Unix(w-aDay-before, 0).In(l.zone).ZoneBounds()
	if end.IsZero() {
		return 0, 0, false
	}
	return end.Unix() + before, after - before, true
}
