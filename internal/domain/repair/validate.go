package repair

import (
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/survey"
)

func (r *Record) validateEnd(s *Scope) error {
	var bad fault.Invalid
	if _, ok := s.Section(r.End.SectionID); !ok {
		bad.Add("section", r.End.SectionID, "the program has no such section")
	}
	if !(r.End.Reaction > 0 && r.End.Reaction < 1e8) {
		bad.Add("reaction", "", "must lie from 0 to 100,000 kN, got %g N", float64(r.End.Reaction))
	}
	if strings.TrimSpace(r.End.Access) == "" {
		bad.Add("access", "", "name the kind of access, for example open")
	}
	if err := bad.Err(); err != nil {
		return err
	}
	for _, p := range r.Geometry(s).Validate() {
		bad.Add(p.Field, p.Value, "must %s, got %s", p.Limit, p.Value)
	}
	return bad.Err()
}

// findings is what came in, in the order in which it came, so that a problem
// names the reading as the person numbered it.
func (f SurveyFacts) findings(readings []ReadingIn, holes []HoleIn) survey.Survey {
	out := survey.Survey{FlangeThickness: f.FlangeThick, StiffenerThickness: f.StiffenerThick, StiffenerWidth: f.StiffenerWidth,
		WebDeviation: f.WebDeviation, WebDetached: f.WebDetached}
	for _, x := range readings {
		out.Readings = append(out.Readings, survey.Reading{Face: survey.Face(x.Face), X: x.X, Z: x.Z, T: x.T, NoAccess: x.NoAccess})
	}
	for _, h := range holes {
		out.Holes = append(out.Holes, survey.Hole{X: h.X, Z: h.Z, Width: h.Width, Height: h.Height, Rim: h.Rim})
	}
	return out
}

// Findings is what a survey form holds, for a preview.
func (ch RecordSurvey) Findings() survey.Survey { return ch.Facts.findings(ch.Readings, ch.Holes) }

// ValidateSurvey refuses findings that cannot be true of the end. Metal above
// the as-new thickness stands only with a reason.
func (r *Record) ValidateSurvey(s *Scope, f SurveyFacts, readings []ReadingIn, holes []HoleIn) error {
	b := s.Basis()
	if strings.TrimSpace(f.ThickerReason) != "" {
		d, _ := basis.Lookup(basis.SurveyAboveNominal)
		if nb, err := b.With(d.Key, d.Max); err == nil {
			b = nb
		}
	}
	sv := f.findings(readings, holes)
	return survey.Validate(r.Geometry(s), &sv, b)
}

func (r *Record) validateDesign(s *Scope, designID string) error {
	for i := range r.Designs {
		if r.Designs[i].ID == designID {
			return r.DesignOf(&r.Designs[i]).Validate(r.Geometry(s))
		}
	}
	return fault.New(fault.NotFound, "this end has no such design")
}
