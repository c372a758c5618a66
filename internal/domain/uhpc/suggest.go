package uhpc

import (
	"fmt"
	"math"
	"time"

	"endcast/internal/domain/basis"
)

// LabHours is when a laboratory works.
type LabHours struct {
	Opens, Closes float64 // hours of the day
	Days          int     // of the week, from Monday
	// Shut lists other days on which it does not work, as year-month-day.
	Shut map[string]bool
	Zone *time.Location
}

// HoursOf are those of the design basis.
func HoursOf(zone *time.Location, shut map[string]bool, b basis.Basis) LabHours {
	return LabHours{Opens: b.Value(basis.LabOpens), Closes: b.Value(basis.LabCloses), Days: int(b.Value(basis.LabDays)), Shut: shut, Zone: zone}
}

// WorksOn tells whether the laboratory works on the day of an instant.
func (l LabHours) WorksOn(at time.Time) bool {
	at = at.In(l.Zone)
	return (int(at.Weekday())+6)%7 < l.Days && !l.Shut[at.Format(time.DateOnly)]
}

// span is when the laboratory is open on a day; a change of summer time moves the
// clock and not the hours on the door.
func (l LabHours) span(day time.Time) (from, to time.Time) {
	clock := func(hours float64) time.Time {
		minutes := int(math.Round(hours * 60))
		return time.Date(day.Year(), day.Month(), day.Day(), minutes/60, minutes%60, 0, 0, l.Zone)
	}
	return clock(l.Opens), clock(l.Closes)
}

// Suggestion is when to break a specimen.
type Suggestion struct {
	At  time.Time // zero if no time suits
	Off float64   // hours after the nominal age, negative before it
	Why string    // why no time suits, or why it is not the nominal one
}

// mostDays bounds the search; no window of the design basis is longer.
const mostDays = 64

// Suggest finds the instant nearest to the nominal age that lies in the window of
// the break, from asOf on, while the laboratory is open. A specimen that is broken
// has none.
func (d Due) Suggest(l LabHours, asOf time.Time) Suggestion {
	if !d.Specimen.Broken.IsZero() {
		return Suggestion{Why: "broken already"}
	}
	from := d.From
	if asOf.After(from) {
		from = asOf
	}
	if from.After(d.To) {
		return Suggestion{Why: "the window of the break is past"}
	}
	var best time.Time
	day := from.In(l.Zone)
	day = time.Date(day.Year(), day.Month(), day.Day(), 12, 0, 0, 0, l.Zone)
	for range mostDays {
		open, shut := l.span(day)
		if open.After(d.To) {
			break
		}
		if l.WorksOn(day) {
			if open.Before(from) {
				open = from
			}
			if shut.After(d.To) {
				shut = d.To
			}
			if !open.After(shut) {
				at := nearest(d.At, open, shut)
				if best.IsZero() || at.Sub(d.At).Abs() < best.Sub(d.At).Abs() {
					best = at
				}
			}
		}
		day = day.AddDate(0, 0, 1)
	}
	if best.IsZero() {
		return Suggestion{Why: fmt.Sprintf("no hour of the laboratory lies from %s to %s: arrange for a break outside them, or tell the engineer",
			from.In(l.Zone).Format("Mon 2006-01-02 15:04"), d.To.In(l.Zone).Format("Mon 2006-01-02 15:04"))}
	}
	s := Suggestion{At: best, Off: best.Sub(d.At).Hours()}
	if !best.Equal(d.At) {
		when := "while the laboratory is shut"
		if d.At.Before(from) {
			when = "already past"
		}
		s.Why = fmt.Sprintf("the nominal age falls on %s, %s", d.At.In(l.Zone).Format("Mon 15:04"), when)
	}
	return s
}

func nearest(at, from, to time.Time) time.Time {
	switch {
	case at.Before(from):
		return from
	case at.After(to):
		return to
	}
	return at
}
