package uhpc

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
)

// ChartPoint is one value of a control chart with the limits that hold for it.
type ChartPoint struct {
	Test   int // position in the series
	Value  units.Stress
	Low    units.Stress // zero: no lower limit
	High   units.Stress
	Beyond bool
}

// Chart is a line of points about a center.
type Chart struct {
	Center units.Stress
	Points []ChartPoint
}

// Charts watch a production: whether the tests and their ranges stay within what
// chance makes. They inform; acceptance has its own rule.
type Charts struct {
	Means   Chart // individuals: each test's mean
	Moving  Chart // moving range of two tests in order
	Ranges  Chart // range within each test
	Running Chart // mean of three consecutive tests
}

// chartsOf builds the charts. The limits of the individuals come from the mean
// moving range over d2 of two, so that a shift between tests does not widen them.
func chartsOf(s Series, b basis.Basis) Charts {
	var c Charts
	sigmas := b.Value(basis.ChartSigmas)
	d2, _, _ := RangeFactors(2)
	n := len(s.Tests)
	moving := 0.0
	for i := 1; i < n; i++ {
		moving += abs(float64(s.Tests[i].Mean - s.Tests[i-1].Mean))
	}
	if n > 1 {
		moving /= float64(n - 1)
	}
	c.Means.Center, c.Moving.Center = s.Mean, units.Stress(moving)
	reach := units.Stress(sigmas * moving / d2)
	highMoving := units.Stress(moving * RangeLimit(2, sigmas))
	for i, t := range s.Tests {
		p := ChartPoint{Test: i, Value: t.Mean}
		if n > 1 {
			p.Low, p.High = max(0, s.Mean-reach), s.Mean+reach
			p.Beyond = t.Mean < p.Low || t.Mean > p.High
		}
		c.Means.Points = append(c.Means.Points, p)
		if i > 0 {
			m := units.Stress(abs(float64(t.Mean - s.Tests[i-1].Mean)))
			c.Moving.Points = append(c.Moving.Points, ChartPoint{Test: i, Value: m, High: highMoving, Beyond: m > highMoving})
		}
		if d2, d3, ok := RangeFactors(t.N); ok && s.Pairs > 0 {
			high := s.Within * units.Stress(d2+sigmas*d3)
			c.Ranges.Points = append(c.Ranges.Points, ChartPoint{Test: i, Value: t.Range, Low: max(0, s.Within*units.Stress(d2-sigmas*d3)), High: high, Beyond: t.Range > high})
		}
		if i >= 2 {
			m := (s.Tests[i-2].Mean + s.Tests[i-1].Mean + t.Mean) / 3
			c.Running.Points = append(c.Running.Points, ChartPoint{Test: i, Value: m})
		}
	}
	c.Ranges.Center = s.MeanR
	return c
}
