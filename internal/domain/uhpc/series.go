package uhpc

import (
	"fmt"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Test is one strength test: the mean of a set with its range.
type Test struct {
	Label string
	Cast  time.Time
	Mean  units.Stress
	Range units.Stress
	N     int // specimens that count in it
}

// rangeFactors are the mean and the standard deviation of the range of n values of
// a normal distribution over its standard deviation, d2 and d3 of the control
// charts, from n = 2: recomputed by integration.
var rangeFactors = [...]struct{ d2, d3 float64 }{
	{1.128379, 0.852502}, {1.692569, 0.888368}, {2.058751, 0.879808}, {2.325929, 0.864082}, {2.534413, 0.848040},
	{2.704357, 0.833205}, {2.847201, 0.819831}, {2.970026, 0.807834}, {3.077505, 0.797051},
}

// RangeFactors returns d2 and d3 for sets of n, and false outside 2 to 10.
func RangeFactors(n int) (d2, d3 float64, ok bool) {
	if n < 2 || n >= len(rangeFactors)+2 {
		return 0, 0, false
	}
	f := rangeFactors[n-2]
	return f.d2, f.d3, true
}

// RangeLimit is D4: the upper limit of a chart of ranges over its center line, for
// limits of so many standard deviations; zero outside sets of 2 to 10.
func RangeLimit(n int, sigmas float64) float64 {
	d2, d3, ok := RangeFactors(n)
	if !ok {
		return 0
	}
	return 1 + sigmas*d3/d2
}

var (
	withinTest = calc.Define(calc.Def{Symbol: "s_1", Name: "standard deviation within a test", Expr: "R_m/d_2", Dim: calc.Stress,
		Params: []calc.Param{{Symbol: "R_m", Name: "mean range", Dim: calc.Stress}, {Symbol: "d_2", Name: "range over standard deviation", Dim: calc.Scalar}},
		Clause: calc.Clause{Document: "ACI 214R", Tag: basis.Memory}})
	variation = calc.Define(calc.Def{Symbol: "V", Name: "coefficient of variation", Expr: "s/f_m", Dim: calc.Percent,
		Params: []calc.Param{{Symbol: "s", Name: "standard deviation", Dim: calc.Stress}, {Symbol: "f_m", Name: "mean of the tests", Dim: calc.Stress}}})
	requiredMean = calc.Define(calc.Def{Symbol: "f_cr", Name: "required average", Expr: "max(f'_c + k_1*s, r*f'_c + k_2*s)", Dim: calc.Stress,
		Params: []calc.Param{{Symbol: "f'_c", Name: "specified strength", Dim: calc.Stress}, {Symbol: "k_1", Name: "standard deviations, mean of three", Dim: calc.Scalar},
			{Symbol: "s", Name: "standard deviation", Dim: calc.Stress}, {Symbol: "r", Name: "share of a single test", Dim: calc.Scalar}, {Symbol: "k_2", Name: "standard deviations, single test", Dim: calc.Scalar}},
		Clause: calc.Clause{Document: "ACI 318 and 214R, above 5000 psi", Tag: basis.Memory}})
)

// RequiredMean is the average that a production must aim at so that the running
// rule is met nearly always.
func RequiredMean(p *calc.Pad, specified, deviation units.Stress, b basis.Basis) units.Stress {
	return units.Stress(requiredMean.Eval(p, float64(specified), b.Value(basis.RequiredMeanFactor), float64(deviation), b.Value(basis.SingleOfSpecified), b.Value(basis.RequiredSingleFactor)))
}

// Series are the numbers of a production: tests in the order of casting.
type Series struct {
	Tests     []Test
	Mean      units.Stress
	Deviation units.Stress // of the tests
	V         float64
	// Within is the standard deviation within a test and V1 its share of the mean;
	// Pairs is how many tests gave a range.
	Within   units.Stress
	V1       float64
	Pairs    int
	MeanR    units.Stress // mean range, of the sets of the commonest size
	Required units.Stress // average to aim at with this deviation
	Notes    []string
	Charts   Charts
}

// SeriesOf works the numbers out, with the sheet on p if p is not nil.
func SeriesOf(p *calc.Pad, tests []Test, specified units.Stress, b basis.Basis) Series {
	s := Series{Tests: tests}
	if len(tests) == 0 {
		return s
	}
	means := make([]float64, len(tests))
	bySize := map[int][]float64{}
	for i, t := range tests {
		means[i] = float64(t.Mean)
		if _, _, ok := RangeFactors(t.N); ok {
			bySize[t.N] = append(bySize[t.N], float64(t.Range))
		}
	}
	st := Spread(means)
	s.Mean, s.Deviation = st.Mean, st.Deviation
	p.Given("f_m", "mean of the tests", calc.Stress, float64(s.Mean), fmt.Sprintf("%d tests", len(tests)))
	p.Given("s", "standard deviation of the tests", calc.Stress, float64(s.Deviation), "sample, n - 1")
	if len(tests) > 1 && s.Mean > 0 {
		s.V = variation.Eval(p, float64(s.Deviation), float64(s.Mean))
	}
	s.within(p, bySize)
	if len(tests) > 1 {
		s.Required = RequiredMean(p, specified, s.Deviation, b)
		if need := int(b.Value(basis.DeviationTests)); len(tests) < need {
			s.Notes = append(s.Notes, fmt.Sprintf("a standard deviation of %d tests is not taken as known: %d are usual", len(tests), need))
		}
	}
	s.Charts = chartsOf(s, b)
	return s
}

// within pools the sets of each size: the mean range over d2 of that size, weighed
// by how many sets there are.
func (s *Series) within(p *calc.Pad, bySize map[int][]float64) {
	sum, most := 0.0, 0
	for n := 2; n < len(rangeFactors)+2; n++ {
		ranges := bySize[n]
		if len(ranges) == 0 {
			continue
		}
		mean := float64(Spread(ranges).Mean)
		d2, _, _ := RangeFactors(n)
		if len(bySize) > 1 {
			p.Note(fmt.Sprintf("%d tests of %d specimens", len(ranges), n))
		}
		p.Given("d_2", fmt.Sprintf("range over standard deviation, %d specimens", n), calc.Scalar, d2, "recomputed by integration")
		sum += withinTest.Eval(p, mean, d2) * float64(len(ranges))
		s.Pairs += len(ranges)
		if len(ranges) > most {
			most, s.MeanR = len(ranges), units.Stress(mean)
		}
	}
	if s.Pairs == 0 {
		return
	}
	s.Within = units.Stress(sum / float64(s.Pairs))
	if len(bySize) > 1 {
		p.Given("s_1", "standard deviation within a test, all sizes", calc.Stress, float64(s.Within), "weighed by the number of tests")
	}
	if s.Mean > 0 {
		s.V1 = variation.Eval(p, float64(s.Within), float64(s.Mean))
	}
}
