package tablet

import "time"

// ClockSlack is how far a tablet's clock may be off before its times are marked
// and set right. A quarter of an hour is the project's own figure: clocks that are
// set by a network are off by seconds.
const ClockSlack = 15 * time.Minute

// Clock is what a tablet's time is worth.
type Clock struct {
	At     time.Time     // when it was seen or done, by the server's clock
	Off    time.Duration // the tablet's clock minus the server's
	Marked bool          // the tablet's clock was wrong: both times are to be shown
}

// Read sets the time of an entry right. sent is the tablet's clock when it sent the
// entry, now the server's when it arrived, and recordNow the time that the record
// counts as now, which differs from now only in a demonstration. offMS is the
// difference that the tablet knew when the entry was made; nil where it knew none.
//
// A clock that is off at both moments by the same amount was wrong all along, so
// the difference is taken from the captured time. A time that still lies after the
// arrival cannot be right and becomes the time of arrival.
func Read(captured, sent, now, recordNow time.Time, offMS *float64) Clock {
	off := sent.Sub(now)
	known := off
	if offMS != nil {
		known = time.Duration(*offMS * float64(time.Millisecond))
	}
	c := Clock{At: captured, Off: off}
	switch {
	case known.Abs() > ClockSlack:
		c.At, c.Off, c.Marked = captured.Add(-known), known, true
	case off.Abs() > ClockSlack && offMS == nil:
		c.At, c.Marked = captured.Add(-off), true
	case off.Abs() > ClockSlack: // it went wrong after the entry was made
		c.Marked = true
	}
	if c.At.After(now) {
		c.Marked = c.Marked || c.At.Sub(now) > ClockSlack
		c.At = now
	}
	c.At = c.At.Add(recordNow.Sub(now)).UTC().Truncate(time.Microsecond)
	return c
}
