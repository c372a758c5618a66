package repair

import (
	"errors"
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/girder"
)

// fields turns problems of a rule into the fields of a form.
func fields(err error) error {
	if err == nil {
		return nil
	}
	var ps girder.Problems
	if errors.As(err, &ps) {
		if len(ps) == 0 {
			return nil
		}
		var bad fault.Invalid
		for _, p := range ps {
			bad.Add(p.Field, p.Value, "must %s, got %s", p.Limit, p.Value)
		}
		return bad.Err()
	}
	return err
}

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
	return fields(r.Geometry(s).Validate().Err())
}

func (r *Record) validateSurvey(s *Scope, surveyID string) error {
	return nil
}

func (r *Record) validateDesign(s *Scope, designID string) error {
	for i := range r.Designs {
		if r.Designs[i].ID == designID {
			return nil
		}
	}
	return fault.New(fault.NotFound, "this end has no such design")
}

func containsFold(s, part string) bool {
	return strings.Contains(strings.ToLower(s), strings.ToLower(part))
}
