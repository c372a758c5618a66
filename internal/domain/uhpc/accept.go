package uhpc

import (
	"fmt"

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
	return a
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
		a.Evidence = append(a.Evidence, Evidence{Rule: "single", Text: "test " + tests[i].Label, Value: float64(means[i]), Limit: floor, Kind: units.Stresses})
	}
	for _, i := range r.LowMean {
		low[i] = true
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
	return a
}

// singles holds each result to the floor of EN 206.
func (a *Acceptance) singles(tests []Test, specified units.Stress, b basis.Basis) {
	floor := float64(specified) - b.Value(basis.IdentitySingle)
	for i, t := range tests {
		if !calc.AtLeast(float64(t.Mean), floor) {
			a.Low = append(a.Low, i)
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

func (a *Acceptance) mean(text string, tests []Test, limit float64) {
	sum := 0.0
	for _, t := range tests {
		sum += float64(t.Mean)
	}
	v := sum / float64(len(tests))
	a.Evidence = append(a.Evidence, Evidence{Rule: "mean", Text: text, Value: v, Limit: limit, Kind: units.Stresses, Met: calc.AtLeast(v, limit)})
}

// identity is for one to six results of a defined volume.
func (a *Acceptance) identity(tests []Test, specified units.Stress, b basis.Basis) {
	a.Name = "identity of one to six results (EN 206:2013, annex B)"
	a.singles(tests, specified, b)
	switch n := len(tests); {
	case n > 6:
		a.Evidence = append(a.Evidence, Evidence{Rule: "count", Text: fmt.Sprintf("the rule takes one to six results of a defined volume, and there are %d", n)})
	case n >= 5:
		a.mean(fmt.Sprintf("mean of %d results", n), tests, float64(specified)+b.Value(basis.IdentityMore))
	case n >= 2:
		a.mean(fmt.Sprintf("mean of %d results", n), tests, float64(specified)+b.Value(basis.IdentityFew))
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
			a.mean(fmt.Sprintf("mean of %s, %s and %s", tests[i].Label, tests[i+1].Label, tests[i+2].Label), tests[i:i+3], float64(specified)+b.Value(basis.ProductionInitial))
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
	a.mean(fmt.Sprintf("mean of the last %d results", take), last, float64(specified)+b.Value(basis.ProductionFactor)*sigma)
}

func least(values []units.Stress) (at int, v float64) {
	for i, x := range values {
		if x < values[at] {
			at = i
		}
	}
	return at, float64(values[at])
}
