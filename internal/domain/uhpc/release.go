package uhpc

import (
	"fmt"
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Release compares the mean of a set with a limit: stripping the form, letting
// traffic on, or the strength that a design counts on. The set is that of the
// governing batch, the last or the coldest one. The rule is our proposal: enough
// specimens that count, each at least a share of the limit, the spread within
// what needs no review, the mean at or above the limit, compared unrounded.
type Release struct {
	Key, Name string
	Set       Set
	Limit     units.Stress
}

// Check returns a pass only if the whole rule is met; a set that does not count
// is outside, never a pass.
func (r Release) Check(p *calc.Pad, b basis.Basis) calc.Check {
	for _, s := range r.Set.Specimens {
		if !s.Broken.IsZero() {
			p.Note("specimen " + s.Mark)
			s.Break(p, b)
		}
	}
	st := r.Set.Stats(b)
	each := b.Value(basis.EachOfLimit)
	least := units.Stress(each) * r.Limit
	state := "the set counts"
	if st.Why != "" {
		state += ": " + st.Why
	}
	c := calc.Check{
		Lines: p.Lines(),
		Key:   r.Key, Name: r.Name, Group: "material", Dim: calc.Stress,
		Demand: float64(r.Limit), Resistance: float64(st.Mean),
		Clause: calc.Clause{Document: "release rule of the design basis", Tag: basis.Proposal},
		Limits: []calc.Limit{
			{Text: state, Met: st.State == Sound},
			{Text: fmt.Sprintf("each specimen reaches %.2f of the limit: the least is %s, at least %s", each,
				twoPlaces(st.Least), twoPlaces(least)), Met: st.Counted > 0 && st.Least >= least},
		},
	}
	if st.Counted == 0 {
		// Nothing counts, which is not the same as a strength of zero that fails.
		c.Verdict, c.Ratio = calc.Outside, math.Inf(1)
		return c
	}
	return calc.Finish(c)
}

// twoPlaces prints a strength in both families of units with the two decimals that
// tell 13.95 from 14.
func twoPlaces(f units.Stress) string {
	return f.Format(units.US, 2) + " (" + f.Format(units.SI, 2) + ")"
}

// Reached is a strength that a sound set has proved.
type Reached struct {
	Batch   string
	Cure    Cure
	Value   units.Stress
	AgeDays float64 // nominal
}

// ReachedBy returns the proved strengths of the sound sets.
func ReachedBy(sets []Set, b basis.Basis) []Reached {
	var out []Reached
	for _, s := range sets {
		if st := s.Stats(b); st.State == Sound {
			out = append(out, Reached{Batch: s.Batch, Cure: s.Cure, Value: st.Mean, AgeDays: s.NominalHours / 24})
		}
	}
	return out
}

// Running is the acceptance of a series of tests, each the mean of a set, in the
// order of casting. Rule: every mean of three consecutive tests at least the
// specified strength, and no test below a share of it. Source: ACI 318-14 26.12
// for strengths above 5000 psi, read second-hand; the share is a setting.
type Running struct {
	Means3    []units.Stress
	LowSingle []int // positions, from 0, of tests below the share
	LowMean   []int // positions of the last test of a low mean of three
	Accepted  bool
}

// Accept applies the rule of Running. Fewer than three tests are accepted on the
// rule for single tests alone.
func Accept(tests []units.Stress, specified units.Stress, b basis.Basis) Running {
	var r Running
	floor := units.Stress(b.Value(basis.SingleOfSpecified)) * specified
	for i, t := range tests {
		if !(t >= floor) {
			r.LowSingle = append(r.LowSingle, i)
		}
		if i >= 2 {
			m := (tests[i-2] + tests[i-1] + t) / 3
			r.Means3 = append(r.Means3, m)
			if !(m >= specified) {
				r.LowMean = append(r.LowMean, i)
			}
		}
	}
	r.Accepted = len(tests) > 0 && len(r.LowSingle) == 0 && len(r.LowMean) == 0
	return r
}
