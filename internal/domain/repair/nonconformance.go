package repair

import (
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/quality"
	"endcast/internal/domain/sequence"
)

// StateOf is where a nonconformance stands. One from before the whole rule was kept
// has no state of its own: what is on record of it tells.
func (n Nonconformance) StateOf() quality.State {
	info, _ := quality.Disposition(n.Disposition).Info()
	switch {
	case n.State != "":
		return quality.State(n.State)
	case n.ClosedAt != nil:
		return quality.Closed
	case n.Disposition != "" && info.Work:
		return quality.Decided
	case n.Disposition != "":
		return quality.Verified
	}
	return quality.Raised
}

// moment is a time that may be missing.
func moment(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return *t
}

// rule is the row as package quality reads it.
func (n Nonconformance) rule() quality.Nonconformance {
	q := quality.Nonconformance{Number: numberText(n.Number), State: n.StateOf(), Requirement: n.Requirement, Found: n.Found,
		RaisedBy: quality.Actor{ID: n.RaisedBy, At: n.RaisedAt}, Stops: n.Stops, Containment: n.Containment,
		Proposal: quality.Disposition(n.Proposed), Justification: n.Justification, Decision: quality.Disposition(n.Disposition), Instructions: n.Instructions, Ground: n.Ground,
		WorkDone: n.WorkDone, Reinspection: n.Reinspection, Failures: n.Failures, Cause: n.Cause, Corrective: n.Corrective, Reason: n.Reason}
	if n.ProposedAt != nil {
		q.ProposedBy = &quality.Actor{ID: n.Proposer, Name: n.ProposedBy, At: moment(n.ProposedAt)}
	}
	if n.WorkedAt != nil {
		q.WorkedBy = &quality.Actor{ID: n.Worker, Name: n.WorkedBy, At: moment(n.WorkedAt)}
	}
	return q
}

// put writes what the rule made of a nonconformance back into its row. What an actor
// of this entry did is signed by name and role.
func (n Nonconformance) put(q quality.Nonconformance, c Context) Nonconformance {
	now := c.Now
	by := func(a *quality.Actor, who *string, at **time.Time) {
		switch {
		case a == nil:
			*who, *at = "", nil
		case a.At.Equal(now) && a.ID == c.Actor.ID:
			*who, *at = signed(c.Actor), &now
		}
	}
	n.State, n.Containment = string(q.State), q.Containment
	n.Proposed, n.Justification = string(q.Proposal), q.Justification
	n.Disposition, n.Instructions, n.Ground = string(q.Decision), q.Instructions, q.Ground
	n.WorkDone, n.Reinspection, n.Failures = q.WorkDone, q.Reinspection, q.Failures
	n.Cause, n.Corrective, n.Reason = q.Cause, q.Corrective, q.Reason
	by(q.ProposedBy, &n.ProposedBy, &n.ProposedAt)
	if q.ProposedBy != nil {
		n.Proposer = q.ProposedBy.ID
	}
	if q.DecidedBy != nil {
		by(q.DecidedBy, &n.DecidedBy, &n.DecidedAt)
	}
	if q.Decision == "" {
		n.DecidedBy, n.DecidedAt = "", nil
	}
	by(q.WorkedBy, &n.WorkedBy, &n.WorkedAt)
	n.Worker = ""
	if q.WorkedBy != nil {
		n.Worker = q.WorkedBy.ID
	}
	if q.PassedBy != nil || q.State != quality.Closed {
		by(q.PassedBy, &n.VerifiedBy, &n.VerifiedAt)
	}
	switch {
	case q.Open():
		n.ClosedAt, n.ClosedBy = nil, ""
	case q.ClosedBy != nil && q.ClosedBy.At.Equal(now):
		n.ClosedAt, n.ClosedBy = &now, signed(c.Actor)
	}
	return n
}

// acting is the actor of an entry as package quality reads them.
func (c Context) acting() quality.Actor {
	return quality.Actor{ID: c.Actor.ID, Name: c.Actor.Name, Role: c.Actor.Role, At: c.Now}
}

// MayClose tells whether a role may close it: the owner's engineer may, and an
// inspector where nothing was conceded.
func (n Nonconformance) MayClose(role sequence.Role) bool {
	info, ok := quality.Disposition(n.Disposition).Info()
	return ok && (role == sequence.Engineer || role == sequence.Inspector && !info.Concession)
}

// Waits is the role that must act next; empty once it is closed. The engineer may
// decide without a proposal, so one that is only raised waits for the engineer.
func (n Nonconformance) Waits() sequence.Role {
	q := n.rule()
	if q.State == quality.Raised {
		return authz.Engineer
	}
	return q.Waits(nil)
}

// nonconformanceNumbered finds one of the end of the scope, open or closed.
func nonconformanceNumbered(s *Scope, number int) (*Nonconformance, error) {
	r, err := s.One()
	if err != nil {
		return nil, err
	}
	for i := range r.Nonconformances {
		if r.Nonconformances[i].Number == number {
			return &r.Nonconformances[i], nil
		}
	}
	return nil, missingNonconformance(number)
}

// act carries one act of the rule on a nonconformance of the end of the scope.
func act(s *Scope, c Context, number int, do func(quality.Nonconformance) (quality.Nonconformance, error)) error {
	n, err := nonconformanceNumbered(s, number)
	if err != nil {
		return err
	}
	q, err := do(n.rule())
	if err != nil {
		return err
	}
	*n = n.put(q, c)
	return nil
}
