package repair

import (
	"slices"

	"endcast/internal/domain/fault"
)

// SaveDesigns writes one layout as a draft at each of several ends, as SaveDesign
// does at one. Where one of the ends cannot take it, none does.
type SaveDesigns struct {
	Ends   []string `json:"ends"` // names, for the journal; they must be those of the scope
	Design DesignIn `json:"design"`
}

// Kind implements Change.
func (SaveDesigns) Kind() string { return "design.save_family" }

// Apply implements Change.
func (ch SaveDesigns) Apply(s *Scope, c Context) error {
	if len(s.Ends) == 0 || len(s.Ends) != len(ch.Ends) {
		return fault.New(fault.Malformed, "this entry names %d ends and came with %d", len(ch.Ends), len(s.Ends))
	}
	for _, r := range s.Ends {
		if !slices.Contains(ch.Ends, r.End.Name) {
			return fault.New(fault.Malformed, "this entry does not name %s, which it came with", r.End.Name)
		}
		if d := r.LatestDesign(); d != nil && (d.State == DesignApproved || d.State == DesignApprovedNoted || d.State == DesignSubmitted) {
			return fault.New(fault.Refused, "%s: revision %d is %s; make its next revision at the end itself", r.End.Name, d.Revision, stateWords(d.State))
		}
		in := ch.Design
		in.Typed = Typed{}
		if err := r.saveDraft(s, c, in); err != nil {
			return err
		}
	}
	return nil
}

func stateWords(state string) string {
	if state == DesignApprovedNoted {
		return "approved as noted"
	}
	return state
}
