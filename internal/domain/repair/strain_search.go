package repair

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/monitor"
)

// Searcher finds passages in the rows of a recording as they pass.
type Searcher struct {
	plan  StrainPlan
	a     *monitor.Analyzer // nil: there is nothing to search
	value []float64
	found Found
}

// NewSearcher searches by a plan, rows coming rate times a second. Without a gauge on
// the web, or below the rate that passages need, there is nothing to search.
func NewSearcher(plan StrainPlan, b basis.Basis, rate float64) (*Searcher, error) {
	s := &Searcher{plan: plan, value: make([]float64, len(plan.Converters)), found: Found{Sets: plan.Sets}}
	if len(plan.Sets) == 0 || rate < b.Value(basis.ScreenRate) {
		s.found.Sets = nil
		return s, nil
	}
	var err error
	s.a, err = monitor.NewAnalyzer(monitor.ParamsOf(b), rate, plan.Channels, plan.Sets, monitor.Sinks{
		Passage: func(p monitor.Passage) { s.found.Passages = append(s.found.Passages, p) },
		Level:   func(l monitor.Level) { s.found.Levels = append(s.found.Levels, l) },
		Stretch: func(x monitor.Stretch) { s.found.Stretches = append(s.found.Stretches, x) },
	})
	return s, err
}

// Row takes values as the file has them. What a sensor gave before it was put in or
// after it was taken out is no measurement.
func (s *Searcher) Row(t int64, values []float64) error {
	if s.a == nil {
		return nil
	}
	for i, v := range values {
		s.value[i] = s.plan.Converters[i].Value(v)
	}
	return s.a.Row(t, s.value)
}

// Close ends the search and returns what was found.
func (s *Searcher) Close() Found {
	if s.a != nil {
		s.found.Taken = s.a.Close()
	}
	return s.found
}
