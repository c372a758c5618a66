package quality

import "gonum.org/v1/gonum/mathext"

// Rejects counts the studs of one group: a shift, a welder, a place on the web.
type Rejects struct {
	Group    string
	Welded   int
	Rejected int // had to come off the web
	Repaired int // gap closed or proven by the bend, and kept
}

// RejectSignal says how a group stands to all of them together.
type RejectSignal int8

// Signals.
const (
	RejectsUsual RejectSignal = iota // within what chance alone brings
	RejectsHigh                      // more than chance brings: look for the cause
	RejectsLow                       // fewer: look for what is done better, or not looked at
)

// RejectPoint is one group of the chart with its own limits, since a group of few
// studs varies more by chance.
type RejectPoint struct {
	Rejects
	Rate   float64
	Most   int     // the most rejected studs that chance alone explains
	Fewest int     // the fewest
	Tail   float64 // chance of so many or more at the common rate
	Signal RejectSignal
}

// RejectChart compares the reject rate of each group with that of all together. The
// limits are those of the binomial distribution itself, not of the normal one that
// stands in for it with large numbers: a shift welds 10 to 30 studs. risk is the
// chance of a false signal, both tails together. Groups without a stud are left out.
func RejectChart(groups []Rejects, risk float64) (rate float64, points []RejectPoint) {
	welded, rejected := 0, 0
	for _, g := range groups {
		welded, rejected = welded+max(g.Welded, 0), rejected+max(g.Rejected, 0)
	}
	if welded == 0 {
		return 0, nil
	}
	rate = float64(rejected) / float64(welded)
	for _, g := range groups {
		if g.Welded <= 0 {
			continue
		}
		p := RejectPoint{Rejects: g, Rate: float64(g.Rejected) / float64(g.Welded), Tail: AtLeast(g.Welded, g.Rejected, rate)}
		p.Fewest, p.Most = rejectLimits(g.Welded, rate, risk)
		switch {
		case g.Rejected > p.Most:
			p.Signal = RejectsHigh
		case g.Rejected < p.Fewest:
			p.Signal = RejectsLow
		}
		points = append(points, p)
	}
	return rate, points
}

// rejectLimits are the counts outside of which lies at most half the risk each.
func rejectLimits(n int, p, risk float64) (fewest, most int) {
	most = n
	for most > 0 && AtLeast(n, most, p) <= risk/2 {
		most--
	}
	for fewest < n && 1-AtLeast(n, fewest+1, p) <= risk/2 {
		fewest++
	}
	return fewest, most
}

// AtLeast is the chance of k or more out of n at a rate p each, by the binomial
// distribution.
func AtLeast(n, k int, p float64) float64 {
	switch {
	case k <= 0:
		return 1
	case k > n || p <= 0:
		return 0
	case p >= 1:
		return 1
	}
	return mathext.RegIncBeta(float64(k), float64(n-k+1), p)
}
