package repair

import (
	"slices"
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/quality"
	"endcast/internal/domain/sequence"
)

// dispositions that may be decided.
var dispositions = []string{"use_as_is", "repair", "rework", "reject"}

// RaiseNonconformance says that a requirement is not met at an end.
type RaiseNonconformance struct {
	Requirement string   `json:"requirement"`
	Found       string   `json:"found"`
	Containment string   `json:"containment"`
	Proposed    string   `json:"proposed"`
	Stops       []string `json:"stops"` // step codes
	Critical    bool     `json:"critical"`
}

// Kind implements Change.
func (RaiseNonconformance) Kind() string { return "nonconformance.raise" }

// Apply implements Change.
func (ch RaiseNonconformance) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	var bad fault.Invalid
	need(&bad, "requirement", ch.Requirement, "name the requirement: document, clause, value")
	need(&bad, "found", ch.Found, "say what was found, with its value")
	if ch.Proposed != "" && !slices.Contains(dispositions, ch.Proposed) {
		bad.Add("proposed", ch.Proposed, "must be one of: %s", strings.Join(dispositions, ", "))
	}
	stops := []string{}
	for _, code := range ch.Stops {
		if !slices.ContainsFunc(s.Steps, func(st StepRow) bool { return st.Code == code }) {
			bad.Add("stops", code, "the sequence has no step of that code")
		}
		stops = append(stops, code)
	}
	if err := bad.Err(); err != nil {
		return err
	}
	r.Nonconformances = append(r.Nonconformances, Nonconformance{ID: c.NewID(), ProgramID: s.Program.ID, EndID: r.End.ID, Number: s.NextNonconformance,
		Requirement: ch.Requirement, Found: ch.Found, Containment: ch.Containment, Proposed: ch.Proposed, Stops: stops, Critical: ch.Critical,
		RaisedBy: c.Actor.ID, RaisedAt: c.Captured})
	s.NextNonconformance++
	return nil
}

// DecideNonconformance is the disposition, by the authority that decides.
type DecideNonconformance struct {
	Number      int    `json:"number"`
	Disposition string `json:"disposition"`
	// Instructions say what is to be done or, for a concession, why it may stay.
	Instructions string `json:"instructions"`
	Cause        string `json:"cause"`
}

// Kind implements Change.
func (DecideNonconformance) Kind() string { return "nonconformance.decide" }

// Apply implements Change.
func (ch DecideNonconformance) Apply(s *Scope, c Context) error {
	n, err := openNonconformance(s, ch.Number)
	if err != nil {
		return err
	}
	var bad fault.Invalid
	if !slices.Contains(dispositions, ch.Disposition) {
		bad.Add("disposition", ch.Disposition, "must be one of: %s", strings.Join(dispositions, ", "))
	}
	need(&bad, "instructions", ch.Instructions+ch.Cause, "say what is to be done, or why it may stay as it is")
	if err := bad.Err(); err != nil {
		return err
	}
	n.Disposition, n.Instructions, n.Cause = ch.Disposition, ch.Instructions, ch.Cause
	n.DecidedBy = c.Actor.Name + ", " + sequence.RoleWords(c.Actor.Role)
	n.DecidedAt = &c.Now
	return nil
}

// MayClose tells whether a role may close it: the owner's engineer may, and an
// inspector where nothing was conceded.
func (n Nonconformance) MayClose(role sequence.Role) bool {
	info, ok := quality.Disposition(n.Disposition).Info()
	return ok && (role == sequence.Engineer || role == sequence.Inspector && !info.Concession)
}

// Waits is the role that must act next; empty once it is closed. What was decided
// and is no concession to the work as it stands is the contractor's to do first.
func (n Nonconformance) Waits() sequence.Role {
	info, _ := quality.Disposition(n.Disposition).Info()
	switch {
	case n.ClosedAt != nil:
		return ""
	case n.Disposition != "" && info.Work:
		return sequence.Contractor
	}
	return sequence.Engineer
}

// CloseNonconformance ends one that was decided, with what the re-inspection found.
type CloseNonconformance struct {
	Number       int    `json:"number"`
	Reinspection string `json:"reinspection"`
}

// Kind implements Change.
func (CloseNonconformance) Kind() string { return "nonconformance.close" }

// Apply implements Change.
func (ch CloseNonconformance) Apply(s *Scope, c Context) error {
	n, err := openNonconformance(s, ch.Number)
	if err != nil {
		return err
	}
	if n.Disposition == "" {
		return fault.New(fault.Refused, "nonconformance %d has no disposition yet", n.Number)
	}
	var bad fault.Invalid
	need(&bad, "reinspection", ch.Reinspection, "say what the re-inspection found")
	if err := bad.Err(); err != nil {
		return err
	}
	n.Reinspection, n.ClosedAt = ch.Reinspection, &c.Now
	n.ClosedBy = c.Actor.Name + ", " + sequence.RoleWords(c.Actor.Role)
	return nil
}

func openNonconformance(s *Scope, number int) (*Nonconformance, error) {
	r, err := s.One()
	if err != nil {
		return nil, err
	}
	for i := range r.Nonconformances {
		if n := &r.Nonconformances[i]; n.Number == number {
			if n.ClosedAt != nil {
				return nil, fault.New(fault.Refused, "nonconformance %d is closed", number)
			}
			return n, nil
		}
	}
	return nil, fault.New(fault.NotFound, "this end has no nonconformance %d", number)
}

func need(bad *fault.Invalid, field, v, reason string) {
	if strings.TrimSpace(v) == "" {
		bad.Add(field, v, "%s", reason)
	}
}

// openOf lists the open nonconformances of an end as the sequence reads them.
func (r *Record) openOf(s *Scope) []sequence.OpenNonconformance {
	var out []sequence.OpenNonconformance
	for _, n := range r.Nonconformances {
		if n.ClosedAt != nil {
			continue
		}
		o := sequence.OpenNonconformance{Number: numberText(n.Number), Since: n.RaisedAt, Actor: n.Waits()}
		for _, code := range n.Stops {
			for _, st := range s.Steps {
				if st.Code == code {
					o.Stops = append(o.Stops, st.ID)
				}
			}
		}
		out = append(out, o)
	}
	return out
}
