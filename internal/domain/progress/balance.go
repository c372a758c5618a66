package progress

import "time"

// Balance sets two counts of the work beside each other that come from different
// sides of the record: how many ends were in work on average, counted day by day, and
// what Little's law makes of the ends that are done. They differ by those that are
// still in work, whose days so far no finished end counts.
type Balance struct {
	Days     int     // whole days from the first that anything was begun to today
	Average  float64 // in work at the end of a day, on average, from what came and went
	Rate     float64 // finished a day
	Took     float64 // days that each of the finished was in work, on average
	ByLaw    float64 // Rate · Took
	InWork   int64   // begun and not finished
	Standing int64   // days so far of those in work
}

// Apart is how far the two sides are apart.
func (b Balance) Apart() float64 { return b.Average - b.ByLaw }

// Unsaid is what remains of the difference once the days of those in work are set
// against it. Rounding to whole days leaves at most one day for each end finished;
// more says that the counts do not belong together.
func (b Balance) Unsaid() float64 {
	if b.Days == 0 {
		return 0
	}
	return b.Apart() - float64(b.Standing)/float64(b.Days)
}

// Holds says whether the two sides agree but for the rounding to whole days.
func (b Balance) Holds() bool {
	return b.Unsaid() <= b.Rate+1e-9 && b.Unsaid() >= -b.Rate-1e-9
}

// Weigh makes the balance: began and done are the days on which ends were begun and
// finished, took the days that the finished ones were in work, standing the days on
// which those still in work were begun. All days are of one calendar; today is the
// last, and not over. Nothing before the first day counts.
//
// Source: J. D. C. Little, "A proof for the queuing formula L = λW", 1961, for a time
// that begins empty; the days of those still in work are what a time that does not end
// empty adds.
func Weigh(began, done Flow, took Spread, standing Flow, today time.Time) Balance {
	b := Balance{Took: took.Mean()}
	levels := Levels(began, done)
	if len(levels) == 0 || !levels[0].Day.Before(today) {
		return b
	}
	from := levels[0].Day
	b.Days = daysFrom(from, today)
	b.Average = MeanLevel(levels, from, today.AddDate(0, 0, -1))
	b.Rate = float64(took.N()) / float64(b.Days)
	b.ByLaw = Little(b.Rate, b.Took)
	for d, n := range standing {
		if at, err := time.Parse(time.DateOnly, d); err == nil {
			b.InWork += n
			b.Standing += n * int64(max(daysFrom(at, today), 0))
		}
	}
	return b
}

// daysFrom is how many days lie between two midnights of UTC.
func daysFrom(from, to time.Time) int { return int(to.Sub(from) / (24 * time.Hour)) }
