package quality

import (
	"strings"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
)

// State is where a nonconformance stands.
type State string

// States.
const (
	Raised    State = "raised"    // found, nothing proposed
	Proposed  State = "proposed"  // waits for a decision
	Decided   State = "decided"   // the work decided is to be done
	Worked    State = "worked"    // done, waits to be looked at again
	Verified  State = "verified"  // may be closed
	Closed    State = "closed"    // done with
	Withdrawn State = "withdrawn" // raised by mistake
)

// Words is the state in plain words.
func (s State) Words() string {
	switch s {
	case Raised:
		return "raised, nothing proposed"
	case Proposed:
		return "waiting for a decision"
	case Decided:
		return "decided, work to be done"
	case Worked:
		return "waiting to be looked at again"
	case Verified:
		return "ready to close"
	}
	return string(s)
}

// Nonconformance is one record that something does not meet its requirement. It
// changes only through the methods below; each takes the record as it is and
// returns the record as it becomes, or an error and no change.
type Nonconformance struct {
	Number      string
	State       State
	Requirement string // document, clause and value
	Found       string
	Evidence    string
	RaisedBy    Actor

	// Stops lists the steps, by ID, that it stops; empty means every step that
	// asks for none to be open.
	Stops []string

	Containment string
	ContainedBy *Actor

	Proposal      Disposition
	Justification string
	ProposedBy    *Actor

	Decision     Disposition
	Instructions string
	Ground       string // why the decision is sound; needed for a concession
	DecidedBy    *Actor

	WorkDone string
	WorkedBy *Actor

	Reinspection string
	PassedBy     *Actor
	// Failures counts how often the work was looked at again and not accepted.
	Failures int

	Cause      string
	Corrective string
	ClosedBy   *Actor

	// Reason is why it was last sent back, reopened or withdrawn.
	Reason string
}

// Raise begins a record. What is wrong is named in a *fault.Invalid.
func Raise(number, requirement, found, evidence string, stops []string, by Actor) (Nonconformance, error) {
	v := &fault.Invalid{}
	needText(v, "number", number)
	needText(v, "requirement", requirement)
	needText(v, "found", found)
	if by.At.IsZero() {
		v.Add("at", "", "the time at which it was found is needed")
	}
	if err := v.Err(); err != nil {
		return Nonconformance{}, err
	}
	return Nonconformance{Number: number, State: Raised, Requirement: requirement, Found: found, Evidence: evidence,
		Stops: append([]string(nil), stops...), RaisedBy: by}, nil
}

// Open reports whether it still stops work.
func (n Nonconformance) Open() bool { return n.State != Closed && n.State != Withdrawn }

// Waits returns the role that must act next; empty when nobody must.
func (n Nonconformance) Waits(a Authorities) authz.Role {
	switch n.State {
	case Raised, Decided:
		return authz.Contractor
	case Proposed:
		if who := a.Of(n.Proposal); len(who) > 0 {
			return who[0]
		}
		return authz.Engineer
	case Worked:
		return authz.Inspector
	case Verified:
		return authz.Engineer
	}
	return ""
}

// Contain notes what was done at once: marked, stopped, shored. It is open to
// anyone and changes no state.
func (n Nonconformance) Contain(text string, by Actor) (Nonconformance, error) {
	if !n.Open() {
		return n, n.wrongState("containment", Raised, Proposed, Decided, Worked, Verified)
	}
	v := &fault.Invalid{}
	needText(v, "containment", text)
	if err := v.Err(); err != nil {
		return n, err
	}
	n.Containment, n.ContainedBy = text, &by
	return n, nil
}

// Propose puts a disposition forward. A concession needs its justification.
func (n Nonconformance) Propose(d Disposition, justification string, by Actor) (Nonconformance, error) {
	if n.State != Raised && n.State != Proposed {
		return n, n.wrongState("a proposal", Raised, Proposed)
	}
	info, ok := d.Info()
	v := &fault.Invalid{}
	if !ok {
		v.Add("proposal", string(d), "no disposition is called %q", string(d))
	}
	if info.Concession {
		needText(v, "justification", justification)
	}
	if err := v.Err(); err != nil {
		return n, err
	}
	n.State, n.Proposal, n.Justification, n.ProposedBy = Proposed, d, justification, &by
	return n, nil
}

// SendBack refuses a proposal; another one must be made.
func (n Nonconformance) SendBack(reason string, by Actor, a Authorities) (Nonconformance, error) {
	if n.State != Proposed {
		return n, n.wrongState("sending back", Proposed)
	}
	if !a.allows(n.Proposal, by.Role) {
		return n, n.wrongRole("decide", n.Proposal.Words(), by.Role)
	}
	v := &fault.Invalid{}
	needText(v, "reason", reason)
	if err := v.Err(); err != nil {
		return n, err
	}
	n.State, n.Reason = Raised, reason
	return n, nil
}

// Decide settles the disposition, the one proposed or another, and may settle it
// anew until work is done on it. Use as is needs no work and goes straight to Verified. A concession needs its ground, and is
// never decided by the person who proposed it.
func (n Nonconformance) Decide(d Disposition, instructions, ground string, by Actor, a Authorities) (Nonconformance, error) {
	if n.State != Raised && n.State != Proposed && n.State != Decided && (n.State != Verified || n.WorkedBy != nil) {
		return n, n.wrongState("a decision", Raised, Proposed, Decided)
	}
	info, ok := d.Info()
	if !ok {
		v := &fault.Invalid{}
		v.Add("decision", string(d), "no disposition is called %q", string(d))
		return n, v.Err()
	}
	if !a.allows(d, by.Role) {
		return n, n.wrongRole("decide", info.Name, by.Role)
	}
	if info.Concession && n.ProposedBy != nil && n.ProposedBy.ID != "" && n.ProposedBy.ID == by.ID {
		return n, fault.New(fault.Forbidden, "nonconformance %s: the person who proposed %s cannot also decide it", n.Number, n.Proposal.Words())
	}
	v := &fault.Invalid{}
	if info.Concession {
		needText(v, "ground", ground)
	}
	if info.Work {
		needText(v, "instructions", instructions)
	}
	if err := v.Err(); err != nil {
		return n, err
	}
	n.Decision, n.Instructions, n.Ground, n.DecidedBy = d, instructions, ground, &by
	// A second look at work decided earlier says nothing about this decision.
	n.WorkDone, n.WorkedBy, n.Reinspection, n.PassedBy = "", nil, "", nil
	n.State = Verified
	if info.Work {
		n.State = Decided
	}
	return n, nil
}

// Work notes that the decided work is done.
func (n Nonconformance) Work(done string, by Actor) (Nonconformance, error) {
	if n.State != Decided {
		return n, n.wrongState("work", Decided)
	}
	v := &fault.Invalid{}
	needText(v, "work_done", done)
	if err := v.Err(); err != nil {
		return n, err
	}
	n.State, n.WorkDone, n.WorkedBy = Worked, done, &by
	return n, nil
}

// Reinspect notes the second look. If it is not accepted the work is to be done
// again. Only an inspector or the owner's engineer looks, and never at their own
// work.
func (n Nonconformance) Reinspect(accepted bool, result string, by Actor) (Nonconformance, error) {
	if n.State != Worked {
		return n, n.wrongState("a second look", Worked)
	}
	if by.Role != authz.Inspector && by.Role != authz.Engineer {
		return n, n.wrongRole("look again at", "the work", by.Role)
	}
	if n.WorkedBy != nil && n.WorkedBy.ID != "" && n.WorkedBy.ID == by.ID {
		return n, fault.New(fault.Forbidden, "nonconformance %s: the person who did the work cannot also accept it", n.Number)
	}
	v := &fault.Invalid{}
	needText(v, "reinspection", result)
	if err := v.Err(); err != nil {
		return n, err
	}
	n.Reinspection = result
	if !accepted {
		n.State, n.PassedBy = Decided, nil
		n.Failures++
		return n, nil
	}
	n.State, n.PassedBy = Verified, &by
	return n, nil
}

// Close ends the record with its cause. The owner's engineer closes; an inspector
// may close what is no concession.
func (n Nonconformance) Close(cause, corrective string, by Actor) (Nonconformance, error) {
	if n.State != Verified {
		return n, n.wrongState("closing", Verified)
	}
	info, _ := n.Decision.Info()
	if by.Role != authz.Engineer && !(by.Role == authz.Inspector && !info.Concession) {
		return n, n.wrongRole("close", n.Decision.Words(), by.Role)
	}
	v := &fault.Invalid{}
	needText(v, "cause", cause)
	if err := v.Err(); err != nil {
		return n, err
	}
	n.State, n.Cause, n.Corrective, n.ClosedBy = Closed, cause, corrective, &by
	return n, nil
}

// Reopen takes a closed record back to the start. What was written stays until it
// is written anew.
func (n Nonconformance) Reopen(reason string, by Actor) (Nonconformance, error) {
	if n.Open() {
		return n, n.wrongState("reopening", Closed, Withdrawn)
	}
	return n.set(Raised, reason, "reopen", by)
}

// Withdraw ends a record that was raised by mistake.
func (n Nonconformance) Withdraw(reason string, by Actor) (Nonconformance, error) {
	if !n.Open() {
		return n, n.wrongState("withdrawing", Raised, Proposed, Decided, Worked, Verified)
	}
	return n.set(Withdrawn, reason, "withdraw", by)
}

func (n Nonconformance) set(s State, reason, act string, by Actor) (Nonconformance, error) {
	if by.Role != authz.Engineer {
		return n, n.wrongRole(act, "it", by.Role)
	}
	v := &fault.Invalid{}
	needText(v, "reason", reason)
	if err := v.Err(); err != nil {
		return n, err
	}
	n.State, n.Reason = s, reason
	n.ClosedBy = nil
	if s == Withdrawn {
		n.ClosedBy = &by
	}
	return n, nil
}

func (n Nonconformance) wrongState(what string, want ...State) error {
	words := make([]string, len(want))
	for i, s := range want {
		words[i] = s.Words()
	}
	return fault.New(fault.Refused, "nonconformance %s: %s needs it to be %s; it is %s", n.Number, what, strings.Join(words, " or "), n.State.Words())
}

func (n Nonconformance) wrongRole(act, what string, r authz.Role) error {
	return fault.New(fault.Forbidden, "nonconformance %s: the role %s may not %s %s", n.Number, string(r), act, what)
}

// maxText bounds a field of free text.
const maxText = 10000

func needText(v *fault.Invalid, field, text string) {
	switch n := len([]rune(strings.TrimSpace(text))); {
	case n == 0:
		v.Add(field, text, "%s is needed", strings.ReplaceAll(field, "_", " "))
	case n > maxText:
		v.Add(field, "", "%s has %d characters, at most %d", strings.ReplaceAll(field, "_", " "), n, maxText)
	}
}
