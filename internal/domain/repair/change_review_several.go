package repair

import (
	"slices"
	"strings"

	"endcast/internal/domain/fault"
)

// MostTogether is the most ends that are decided in one sitting: as many as can be
// looked at on one page.
const MostTogether = 24

// ReviewDesigns is one decision on the submitted revisions of several ends that share
// one layout on one section. Each end gets a decision of its own, for what it stands on
// itself. Where one of them cannot be decided so, none is.
type ReviewDesigns struct {
	Ends     []DecidedEnd `json:"ends"`
	Decision string       `json:"decision"` // as in ReviewDesign
	Reasons  string       `json:"reasons"`
	Notes    []string     `json:"notes,omitempty"`
}

// DecidedEnd is one end of a sitting with what the reviewer had on the screen of it.
type DecidedEnd struct {
	End      string `json:"end"` // name
	DesignID string `json:"design_id"`
	Digest   string `json:"digest"`
}

// Kind implements Change.
func (ReviewDesigns) Kind() string { return "design.review_several" }

// Apply implements Change. It refuses with the names of all ends that stand in the way,
// as fault.Conflict where the record of one of them moved.
func (ch ReviewDesigns) Apply(s *Scope, c Context) error {
	if len(ch.Ends) == 0 || len(s.Ends) != len(ch.Ends) {
		return fault.New(fault.Malformed, "this entry names %d ends and came with %d", len(ch.Ends), len(s.Ends))
	}
	if len(ch.Ends) > MostTogether {
		return fault.New(fault.Refused, "at most %d ends are decided in one sitting, got %d", MostTogether, len(ch.Ends))
	}
	layout := ""
	kind, refused := fault.Refused, []string{}
	for _, r := range s.Ends {
		i := slices.IndexFunc(ch.Ends, func(x DecidedEnd) bool { return x.End == r.End.Name })
		if i < 0 {
			return fault.New(fault.Malformed, "this entry does not name %s, which it came with", r.End.Name)
		}
		d := r.Revision(ch.Ends[i].DesignID)
		if d == nil {
			return fault.New(fault.NotFound, "%s has no such revision", r.End.Name)
		}
		err := error(nil)
		if this := r.LayoutDigest(s, d); layout == "" {
			layout = this
		} else if this != layout {
			err = fault.New(fault.Refused, "its layout or its section is not that of %s: decide on it by itself", s.Ends[0].End.Name)
		}
		if err == nil {
			err = r.review(s, c, ReviewDesign{DesignID: d.ID, Decision: ch.Decision, Reasons: ch.Reasons, Notes: ch.Notes, Digest: ch.Ends[i].Digest})
		}
		switch k := fault.KindOf(err); {
		case err == nil:
		case k == fault.Conflict:
			kind = k
			refused = append(refused, r.End.Name+": "+fault.Message(err))
		case k == fault.Refused:
			refused = append(refused, r.End.Name+": "+fault.Message(err))
		default:
			return err
		}
	}
	if len(refused) > 0 {
		return fault.New(kind, "nothing was recorded at any end; %s", strings.Join(refused, "; "))
	}
	return nil
}
