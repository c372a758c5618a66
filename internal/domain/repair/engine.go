package repair

import (
	"slices"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// remaining is the steel of an end as the layout rules ask of it.
type remaining struct {
	*survey.Map
	flange units.Length
}

// WebCut implements encasement.Steel.
func (m remaining) WebCut(x0, x1 units.Length) units.Area { return m.Panel(x0, x1).LeastCut }

// Flange implements encasement.Steel.
func (m remaining) Flange() units.Length { return m.flange }

func steelOf(b basis.Basis, g girder.Geometry, sv *survey.Survey) encasement.Steel {
	if sv == nil {
		return encasement.AsNew{Section: g.Section}
	}
	m := remaining{survey.NewMap(g, sv, survey.OptionsFrom(b)), g.Section.FlangeThickness}
	if sv.FlangeThickness != nil {
		m.flange = min(m.flange, *sv.FlangeThickness)
	}
	return m
}

// Steel is the steel that the latest survey left at an end.
func (r *Record) Steel(s *Scope) encasement.Steel {
	return steelOf(s.Basis(), r.Geometry(s), r.SurveyFindings(r.LatestSurvey()))
}

func corroded(in Inputs, b basis.Basis, p *calc.Pad) *Evaluation {
	res := rulesOf(in, b).Evaluate(p, b, in.Geometry, in.Survey, in.Demand)
	ev := conclude(in.Demand, res.Checks, res.Governing)
	ev.Capacity, ev.Upper = res.Capacity, res.BandUpper
	ev.Nominal, ev.Phi = res.Nominal, res.Phi
	for _, f := range res.Flags {
		ev.Flags = append(ev.Flags, f.Text)
	}
	return ev
}

func repaired(in Inputs, b basis.Basis, steel encasement.Steel, p *calc.Pad) *Evaluation {
	var accepted func(string) bool
	if len(in.Rejected) > 0 {
		gone := make(map[string]bool, len(in.Rejected))
		for _, m := range in.Rejected {
			gone[m] = true
		}
		accepted = func(mark string) bool { return !gone[mark] }
	}
	res := encasement.EvaluateLoads(p, b, in.Geometry, steel, *in.Design, encasement.Loads{Demand: in.Demand, Range: in.Range}, accepted)
	ev := conclude(in.Demand, res.Checks, res.Governs)
	ev.Capacity = res.Capacity
	ev.Nominal, ev.Phi = res.Capacity, 1 // the strengths that govern a repair have their factors in them
	ev.Studs = StudSummary{Designed: res.Designed, Counted: res.Counted, Required: res.Required, Effective: res.Effective, PerStud: res.PerStud}
	return ev
}

// orderReadings puts readings in an order of place, so that the order in which
// they came does not matter.
func orderReadings(rs []survey.Reading) {
	slices.SortFunc(rs, func(a, b survey.Reading) int {
		switch {
		case a.Z != b.Z:
			return sign(float64(a.Z - b.Z))
		case a.X != b.X:
			return sign(float64(a.X - b.X))
		case a.Face != b.Face:
			if a.Face < b.Face {
				return -1
			}
			return 1
		}
		return sign(float64(a.T - b.T))
	})
}

func sign(v float64) int {
	if v < 0 {
		return -1
	}
	if v > 0 {
		return 1
	}
	return 0
}

// deepestLoss is the greatest share of web thickness gone, 1 at a hole.
func deepestLoss(s *survey.Survey, web units.Length) float64 {
	if len(s.Holes) > 0 {
		return 1
	}
	least := web
	for _, r := range s.Readings {
		if !r.NoAccess {
			least = min(least, r.T)
		}
	}
	return float64(web-least) / float64(web)
}
