package repair

import (
	"cmp"
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
	Requirement   string   `json:"requirement"`
	Found         string   `json:"found"`
	Containment   string   `json:"containment"`
	Proposed      string   `json:"proposed"`
	Justification string   `json:"justification,omitempty"` // of a proposal that leaves a departure
	Stops         []string `json:"stops"`                   // step codes
	Critical      bool     `json:"critical"`
}

// Kind implements Change.
func (RaiseNonconformance) Kind() string { return "nonconformance.raise" }

// Apply implements Change. What the finder thinks should become of it is noted; it is
// a proposal to decide on once it is justified, where it leaves a departure.
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
	n := Nonconformance{ID: c.NewID(), ProgramID: s.Program.ID, EndID: r.End.ID, Number: s.NextNonconformance,
		Requirement: ch.Requirement, Found: ch.Found, Containment: ch.Containment, Proposed: ch.Proposed, Stops: stops, Critical: ch.Critical,
		RaisedBy: c.Actor.ID, RaisedAt: c.Captured, State: string(quality.Raised)}
	if info, ok := quality.Disposition(ch.Proposed).Info(); ok && (!info.Concession || strings.TrimSpace(ch.Justification) != "") {
		q, err := n.rule().Propose(info.Disposition, ch.Justification, c.acting())
		if err != nil {
			return err
		}
		n = n.put(q, c)
	}
	r.Nonconformances = append(r.Nonconformances, n)
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
	why := cmp.Or(strings.TrimSpace(ch.Instructions), strings.TrimSpace(ch.Cause))
	q, err := n.rule().Decide(quality.Disposition(ch.Disposition), why, why, c.acting(), nil)
	if err != nil {
		return err
	}
	q.Instructions, q.Cause = ch.Instructions, ch.Cause
	*n = n.put(q, c)
	return nil
}

// CloseNonconformance ends one that was decided, with what the second look found. It
// may take the second look with it: that the work is done and accepted.
type CloseNonconformance struct {
	Number       int    `json:"number"`
	Reinspection string `json:"reinspection"`
	Cause        string `json:"cause,omitempty"` // needed where the decision names none
	Corrective   string `json:"corrective,omitempty"`
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
	q := n.rule()
	cause := cmp.Or(strings.TrimSpace(ch.Cause), n.Cause)
	var bad fault.Invalid
	if q.Reinspection == "" || q.State != quality.Verified {
		need(&bad, "reinspection", ch.Reinspection, "say what the re-inspection found")
	}
	need(&bad, "cause", cause, "say what caused it, so that it does not come again")
	if err := bad.Err(); err != nil {
		return err
	}
	if q.State == quality.Decided {
		// Whoever looks at the work says with it that it is done; who did it is not known.
		if q, err = q.Work("done, as the second look found", quality.Actor{Role: sequence.Contractor, At: c.Now}); err != nil {
			return err
		}
	}
	if q.State == quality.Worked {
		if q, err = q.Reinspect(true, ch.Reinspection, c.acting()); err != nil {
			return err
		}
	}
	if strings.TrimSpace(ch.Reinspection) != "" {
		q.Reinspection = ch.Reinspection
	}
	if q, err = q.Close(cause, ch.Corrective, c.acting()); err != nil {
		return err
	}
	*n = n.put(q, c)
	return nil
}

// ProposeDisposition puts forward what should become of it, and what contains it
// meanwhile.
type ProposeDisposition struct {
	Number        int    `json:"number"`
	Disposition   string `json:"disposition"`
	Justification string `json:"justification"`
	Containment   string `json:"containment"` // empty leaves what is on record
}

// Kind implements Change.
func (ProposeDisposition) Kind() string { return "nonconformance.propose" }

// Apply implements Change.
func (ch ProposeDisposition) Apply(s *Scope, c Context) error {
	return act(s, c, ch.Number, func(q quality.Nonconformance) (quality.Nonconformance, error) {
		if strings.TrimSpace(ch.Containment) != "" {
			var err error
			if q, err = q.Contain(ch.Containment, c.acting()); err != nil {
				return q, err
			}
		}
		return q.Propose(quality.Disposition(ch.Disposition), ch.Justification, c.acting())
	})
}

// SendBackDisposition refuses a proposal; another one is to be made.
type SendBackDisposition struct {
	Number int    `json:"number"`
	Reason string `json:"reason"`
}

// Kind implements Change.
func (SendBackDisposition) Kind() string { return "nonconformance.return" }

// Apply implements Change.
func (ch SendBackDisposition) Apply(s *Scope, c Context) error {
	return act(s, c, ch.Number, func(q quality.Nonconformance) (quality.Nonconformance, error) {
		return q.SendBack(ch.Reason, c.acting(), nil)
	})
}

// WorkNonconformance says that the work decided is done.
type WorkNonconformance struct {
	Number int    `json:"number"`
	Done   string `json:"done"`
}

// Kind implements Change.
func (WorkNonconformance) Kind() string { return "nonconformance.work" }

// Apply implements Change.
func (ch WorkNonconformance) Apply(s *Scope, c Context) error {
	return act(s, c, ch.Number, func(q quality.Nonconformance) (quality.Nonconformance, error) {
		return q.Work(ch.Done, c.acting())
	})
}

// ReinspectNonconformance is the second look at the work, by another person.
type ReinspectNonconformance struct {
	Number   int    `json:"number"`
	Accepted bool   `json:"accepted"`
	Result   string `json:"result"`
}

// Kind implements Change.
func (ReinspectNonconformance) Kind() string { return "nonconformance.reinspect" }

// Apply implements Change.
func (ch ReinspectNonconformance) Apply(s *Scope, c Context) error {
	return act(s, c, ch.Number, func(q quality.Nonconformance) (quality.Nonconformance, error) {
		return q.Reinspect(ch.Accepted, ch.Result, c.acting())
	})
}

// WithdrawNonconformance ends one that was raised by mistake.
type WithdrawNonconformance struct {
	Number int    `json:"number"`
	Reason string `json:"reason"`
}

// Kind implements Change.
func (WithdrawNonconformance) Kind() string { return "nonconformance.withdraw" }

// Apply implements Change.
func (ch WithdrawNonconformance) Apply(s *Scope, c Context) error {
	return act(s, c, ch.Number, func(q quality.Nonconformance) (quality.Nonconformance, error) {
		return q.Withdraw(ch.Reason, c.acting())
	})
}

// ReopenNonconformance takes a closed one back to the start.
type ReopenNonconformance struct {
	Number int    `json:"number"`
	Reason string `json:"reason"`
}

// Kind implements Change.
func (ReopenNonconformance) Kind() string { return "nonconformance.reopen" }

// Apply implements Change. The decision of before is no decision any more.
func (ch ReopenNonconformance) Apply(s *Scope, c Context) error {
	return act(s, c, ch.Number, func(q quality.Nonconformance) (quality.Nonconformance, error) {
		q, err := q.Reopen(ch.Reason, c.acting())
		if err == nil {
			q.Decision, q.DecidedBy = "", nil
		}
		return q, err
	})
}

func openNonconformance(s *Scope, number int) (*Nonconformance, error) {
	n, err := nonconformanceNumbered(s, number)
	if err != nil {
		return nil, err
	}
	if n.ClosedAt != nil {
		return nil, fault.New(fault.Refused, "nonconformance %d is closed", number)
	}
	return n, nil
}

func missingNonconformance(number int) error {
	return fault.New(fault.NotFound, "this end has no nonconformance %d", number)
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
