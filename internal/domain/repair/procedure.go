package repair

import (
	"fmt"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/resistance"
)

// Rules is the row as package resistance reads it.
func (p Procedure) Rules() resistance.Procedure {
	out := resistance.Procedure{Name: p.Name, Body: p.Body, Edition: p.Edition, Tag: basis.Tag(p.Tag), ZoneHeight: p.ZoneHeight, ZoneSearch: p.ZoneSearch,
		LowestRow: p.LowestRow, Averaging: resistance.Averaging(p.Averaging), Yielding: resistance.Factors{Sound: p.YieldingSound, Holed: p.YieldingHoled},
		Crippling: resistance.Factors{Sound: p.CripplingSound, Holed: p.CripplingHoled}, DeviationFlag: p.DeviationFlag, DeviationLimit: p.DeviationLimit,
		HoleLimit: p.HoleLimit, FewestReadings: p.FewestReadings}
	if p.Version > 1 {
		out.Edition = fmt.Sprintf("%s, entry %d", p.Edition, p.Version)
	}
	if p.Checked() {
		out.CheckedBy, out.CheckedOn = p.CheckedName, p.CheckedAt.UTC().Format(time.DateOnly)
	}
	return out
}

// Checked reports whether a second person compared the pack with its text.
func (p Procedure) Checked() bool { return p.CheckedAt != nil }

// Retired reports whether the pack was taken out of use.
func (p Procedure) Retired() bool { return p.RetiredAt != nil }

// Title is the pack as a list names it.
func (p Procedure) Title() string {
	out := p.Name + ", " + p.Edition
	if p.Version > 1 {
		out += fmt.Sprintf(", entry %d", p.Version)
	}
	return out
}

// Digest names the pack as it stands, for a change to say what it was made from.
func (p Procedure) Digest() string { return calc.Digest(p) }

// InForce is the pack that evaluations follow, nil where it is the procedure that
// ships.
func (s *Scope) InForce() *Procedure {
	for i := range s.Procedures {
		if s.Procedures[i].InForce {
			return &s.Procedures[i]
		}
	}
	return nil
}

// InForceDigest names the choice of procedure as it stands.
func (s *Scope) InForceDigest() string {
	if p := s.InForce(); p != nil {
		return p.Digest()
	}
	return calc.Digest("the procedure that ships")
}

// Procedure returns a pack by its identifier, nil when there is none.
func (s *Scope) Procedure(id string) *Procedure {
	for i := range s.Procedures {
		if s.Procedures[i].ID == id {
			return &s.Procedures[i]
		}
	}
	return nil
}

// rules is the procedure in force as the numbers follow it, nil for the one that
// ships, whose numbers are those of the design basis.
func (s *Scope) rules() *resistance.Procedure {
	p := s.InForce()
	if p == nil {
		return nil
	}
	out := p.Rules()
	return &out
}

// EvaluateBeside evaluates the corroded end by the latest survey with another
// pack than the one in force, checked or not; an empty identifier means the
// procedure that ships. It decides nothing.
func (r *Record) EvaluateBeside(s *Scope, procedureID string, p *calc.Pad) (*Evaluation, error) {
	in := r.inputs(s)
	in.Procedure = nil
	if procedureID != "" {
		row := s.Procedure(procedureID)
		if row == nil {
			return nil, fault.New(fault.NotFound, "the program has no such procedure")
		}
		rules := row.Rules()
		in.Procedure = &rules
	}
	sv := r.LatestSurvey()
	in.Survey = r.SurveyFindings(sv)
	ev := corroded(in, s.Basis(), p)
	ev.Digest = in.digests().of(sv != nil, false, nil)
	return ev, nil
}
