package uhpc

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Rules of acceptance, as numbered in the design basis.
const (
	RunningRule    = 1 // ACI 318-14 26.12: running mean of three and single test
	IdentityRule   = 2 // EN 206:2013, annex B: a few results
	ProductionRule = 3 // EN 206:2013, 8.2.1.3: initial, then continuous production
)

// Acceptance is the outcome of the rule that the owner chose.
type Acceptance struct {
	Rule     int
	Name     string
	Accepted bool
	Evidence []Evidence
	// Outside says why the rule does not speak of this material; it is applied all
	// the same where the contract calls it up.
	Outside []string
	// Low are the positions, from 0, of the tests that fall short by themselves or
	// that close a mean which does.
	Low []int
	// Falls are the parts of the rule on the tests themselves that are not met, in the
	// order of the tests that close them.
	Falls []Fall
}

// Fall is one part of the rule that tests do not meet: a single test, or the mean of
// several.
type Fall struct {
	At           int   // position of the test that shows it: the last of those concerned
	Of           []int // positions of the tests concerned
	Value, Limit units.Stress
	Asks         string // what the rule asks, without its number
}

// Single tells that one test falls short by itself.
func (f Fall) Single() bool { return len(f.Of) == 1 }

// Asked is what the rule asks, with its number.
func (f Fall) Asked(sys units.System) string { return f.Asks + " at least " + f.Limit.Format(sys, 2) }

// Found is what was found.
func (f Fall) Found(sys units.System) string {
	if f.Single() {
		return "test of " + f.Value.Format(sys, 2)
	}
	return fmt.Sprintf("mean of %d tests %s", len(f.Of), f.Value.Format(sys, 2))
}

func (a *Acceptance) fall(of []int, value, limit units.Stress, asks string) {
	a.Falls = append(a.Falls, Fall{At: of[len(of)-1], Of: of, Value: value, Limit: limit, Asks: asks})
}

// Together is how many tests before and after another the rule may take into one
// mean with it; for the rule of a defined volume, whose tests a span of days takes
// together, it is 0 and the days are given.
func Together(b basis.Basis) (beside int, within time.Duration) {
	switch int(b.Value(basis.AcceptanceRule)) {
	case IdentityRule:
		return 0, time.Duration(b.Value(basis.IdentityDays) * 24 * float64(time.Hour))
	case ProductionRule:
		return int(max(3, b.Value(basis.ProductionResults))) - 1, 0
	}
	return 2, 0
}

// greatestClass is the strength of a cylinder in the highest class of EN 206,
// C100/115.
const greatestClass units.Stress = 100

// Acceptable holds tests in the order of casting to the owner's rule. Nothing
// tested is nothing accepted.
func Acceptable(tests []Test, specified units.Stress, b basis.Basis) Acceptance {
	rule := int(b.Value(basis.AcceptanceRule))
	if rule == RunningRule {
		return acceptRunning(tests, specified, b)
	}
	a := Acceptance{Rule: rule}
	if specified > greatestClass {
		a.Outside = append(a.Outside, fmt.Sprintf("EN 206 has no class above C100/115, and the specified strength is %s: the rule holds only where the contract calls it up", both(units.Stresses, float64(specified))))
	}
	if rule == IdentityRule {
		a.identity(tests, specified, b)
	} else {
		a.production(tests, specified, b)
	}
	a.Accepted = len(tests) > 0
	for _, e := range a.Evidence {
		a.Accepted = a.Accepted && e.Met
	}
	sortFalls(a.Falls)
	return a
}

func sortFalls(list []Fall) {
	slices.SortStableFunc(list, func(a, b Fall) int { return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(len(a.Of), len(b.Of))) })
}

func acceptRunning(tests []Test, specified units.Stress, b basis.Basis) Acceptance {
	means := make([]units.Stress, len(tests))
	for i, t := range tests {
		means[i] = t.Mean
	}
	r := Accept(means, specified, b)
	a := Acceptance{Rule: RunningRule, Name: "running mean of three tests and no low single test (ACI 318-14 26.12)", Accepted: r.Accepted}
	floor := b.Value(basis.SingleOfSpecified) * float64(specified)
	low := map[int]bool{}
	for _, i := range r.LowSingle {
		low[i] = true
		a.fall([]int{i}, means[i], units.Stress(floor), fmt.Sprintf("every single test, as %g of the strength specified,", b.Value(basis.SingleOfSpecified)))
		a.Evidence = append(a.Evidence, Evidence{Rule: "single", Text: "test " + tests[i].Label, Value: float64(means[i]), Limit: floor, Kind: units.Stresses})
	}
	for _, i := range r.LowMean {
		low[i] = true
		a.fall([]int{i - 2, i - 1, i}, r.Means3[i-2], specified, "every mean of 3 consecutive tests")
		a.Evidence = append(a.Evidence, Evidence{Rule: "mean of three", Text: fmt.Sprintf("mean of tests %s, %s and %s", tests[i-2].Label, tests[i-1].Label, tests[i].Label),
			Value: float64(r.Means3[i-2]), Limit: float64(specified), Kind: units.Stresses})
	}
	if len(tests) > 0 && len(r.LowSingle) == 0 {
		i, v := least(means)
		a.Evidence = append(a.Evidence, Evidence{Rule: "single", Text: "the lowest single test, " + tests[i].Label + ",", Value: v, Limit: floor, Kind: units.Stresses, Met: true})
	}
	if len(r.Means3) > 0 && len(r.LowMean) == 0 {
		i, v := least(r.Means3)
		a.Evidence = append(a.Evidence, Evidence{Rule: "mean of three", Text: "the lowest mean of three, closed by " + tests[i+2].Label + ",", Value: v, Limit: float64(specified), Kind: units.Stresses, Met: true})
	}
	for i := range tests {
		if low[i] {
			a.Low = append(a.Low, i)
		}
	}
	sortFalls(a.Falls)
	return a
}

// singles holds each result to the floor of EN 206.
func (a *Acceptance) singles(tests []Test, specified units.Stress, b basis.Basis) {
	floor := float64(specified) - b.Value(basis.IdentitySingle)
	for i, t := range tests {
		if !calc.AtLeast(float64(t.Mean), floor) {
			a.Low = append(a.Low, i)
			a.fall([]int{i}, t.Mean, units.Stress(floor), fmt.Sprintf("every result, as the strength specified less %s,", both(units.Stresses, b.Value(basis.IdentitySingle))))
			a.Evidence = append(a.Evidence, Evidence{Rule: "single", Text: "result " + t.Label, Value: float64(t.Mean), Limit: floor, Kind: units.Stresses})
		}
	}
	if len(a.Low) == 0 && len(tests) > 0 {
		means := make([]units.Stress, len(tests))
		for i, t := range tests {
			means[i] = t.Mean
		}
		i, v := least(means)
		a.Evidence = append(a.Evidence, Evidence{Rule: "single", Text: "the lowest result, " + tests[i].Label + ",", Value: v, Limit: floor, Kind: units.Stresses, Met: true})
	}
}

// mean holds the mean of the tests at some positions to a limit.
func (a *Acceptance) mean(text string, tests []Test, of []int, limit float64, asks string) {
	sum := 0.0
	for _, i := range of {
		sum += float64(tests[i].Mean)
	}
	v := sum / float64(len(of))
	met := calc.AtLeast(v, limit)
	a.Evidence = append(a.Evidence, Evidence{Rule: "mean", Text: text, Value: v, Limit: limit, Kind: units.Stresses, Met: met})
	if at := of[len(of)-1]; !met {
		a.fall(of, units.Stress(v), units.Stress(limit), asks)
		if !slices.Contains(a.Low, at) {
			a.Low = append(a.Low, at)
			slices.Sort(a.Low)
		}
	}
}

// positions counts from one position up to another.
func positions(from, to int) []int {
	var out []int
	for i := from; i < to; i++ {
		out = append(out, i)
	}
	return out
}

// volumes parts tests in the order of casting into the defined volumes of the
// identity rule: a volume begins with a casting and takes those of the days after it.
func volumes(tests []Test, b basis.Basis) [][]int {
	_, within := Together(b)
	var out [][]int
	for i, t := range tests {
		if n := len(out); n > 0 && t.Cast.Sub(tests[out[n-1][0]].Cast) < within {
			out[n-1] = append(out[n-1], i)
		} else {
			out = append(out, []int{i})
		}
	}
	return out
}

// identity is for one to six results of each defined volume.
func (a *Acceptance) identity(tests []Test, specified units.Stress, b basis.Basis) {
	a.Name = "identity of one to six results of a defined volume (EN 206:2013, annex B)"
	a.singles(tests, specified, b)
	list := volumes(tests, b)
	for _, of := range list {
		where := ""
		if len(list) > 1 {
			where = ", " + tests[of[0]].Label
			if n := len(of); n > 1 {
				where += " to " + tests[of[n-1]].Label
			}
		}
		switch n := len(of); {
		case n > 6:
			a.Evidence = append(a.Evidence, Evidence{Rule: "count", Text: fmt.Sprintf("the rule takes one to six results of a defined volume, and there are %d%s", n, where)})
		case n >= 5:
			a.mean(fmt.Sprintf("mean of %d results%s", n, where), tests, of, float64(specified)+b.Value(basis.IdentityMore), "mean of five or six results of a defined volume")
		case n >= 2:
			a.mean(fmt.Sprintf("mean of %d results%s", n, where), tests, of, float64(specified)+b.Value(basis.IdentityFew), "mean of two to four results of a defined volume")
		}
	}
}

// production is initial until there are enough results for a standard deviation,
// then continuous. Initial: means of three in order, not overlapping; the rest of a
// group of three waits. Continuous: the latest results of the number that the rule
// takes, against the deviation of the first results, which must still hold.
func (a *Acceptance) production(tests []Test, specified units.Stress, b basis.Basis) {
	a.singles(tests, specified, b)
	first, take := int(b.Value(basis.ProductionDeviationResults)), int(b.Value(basis.ProductionResults))
	if len(tests) < first+take {
		a.Name = "initial production (EN 206:2013, 8.2.1.3)"
		for i := 0; i+3 <= len(tests); i += 3 {
			a.mean(fmt.Sprintf("mean of %s, %s and %s", tests[i].Label, tests[i+1].Label, tests[i+2].Label), tests, positions(i, i+3), float64(specified)+b.Value(basis.ProductionInitial), "every mean of 3 results of initial production")
		}
		return
	}
	a.Name = "continuous production (EN 206:2013, 8.2.1.3)"
	values := func(list []Test) []float64 {
		var out []float64
		for _, t := range list {
			out = append(out, float64(t.Mean))
		}
		return out
	}
	sigma := float64(Spread(values(tests[:first])).Deviation)
	last := tests[len(tests)-take:]
	if span := tests[first-1].Cast.Sub(tests[0].Cast).Hours() / 24; span < 91 {
		a.Outside = append(a.Outside, fmt.Sprintf("the first %d results span %.0f days; the standard takes the deviation over more than three months", first, span))
	}
	// The standard keeps sigma while the deviation of the last 15 lies between 0.63
	// and 1.37 of it (read in guidance on EN 206).
	s := float64(Spread(values(last)).Deviation)
	a.Evidence = append(a.Evidence,
		Evidence{Rule: "deviation", Text: fmt.Sprintf("deviation of the last %d results", take), Value: s, Limit: 0.63 * sigma, Kind: units.Stresses, Met: s >= 0.63*sigma},
		Evidence{Rule: "spread", Text: fmt.Sprintf("deviation of the last %d results", take), Value: s, Limit: 1.37 * sigma, Kind: units.Stresses, Met: s <= 1.37*sigma})
	a.mean(fmt.Sprintf("mean of the last %d results", take), tests, positions(len(tests)-take, len(tests)), float64(specified)+b.Value(basis.ProductionFactor)*sigma,
		fmt.Sprintf("mean of the last %d results of continuous production", take))
}

func least(values []units.Stress) (at int, v float64) {
	for i, x := range values {
		if x < values[at] {
			at = i
		}
	}
	return at, float64(values[at])
}
