package quality

import "time"

// ShiftBegins is the hour at which a day of work begins: what is seen before belongs
// to the night before (common practice, no source).
const ShiftBegins = 6 * time.Hour

// ShiftDay is the day that a shift is named after, as 2006-01-02: the one on which
// it began, by the clock of the zone that t stands in.
func ShiftDay(t time.Time) string { return t.Add(-ShiftBegins).Format(time.DateOnly) }
