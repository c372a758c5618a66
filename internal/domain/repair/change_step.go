package repair

import (
	"errors"
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/sequence"
)

// StepAct is one act on one step of an end: it is completed, released, its
// request returned, or it is reopened.
type StepAct struct {
	StepID string   `json:"step_id"`
	Act    string   `json:"act"` // completed, released, returned, reopened
	Note   string   `json:"note"`
	Ticks  []string `json:"ticks"`
}

// Kind implements Change.
func (a StepAct) Kind() string { return "step." + a.Act }

// Apply implements Change. It refuses with a fault that names every condition
// that does not hold.
func (a StepAct) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	var bad fault.Invalid
	notAfter(&bad, "captured_at", c.Captured, c.Now)
	if err := bad.Err(); err != nil {
		return err
	}
	facts, err := r.Facts(s)
	if err != nil {
		return err
	}
	if len(a.Ticks) > 0 {
		facts.Ticks = cloneTicks(facts.Ticks)
		facts.Ticks[a.StepID] = append(append([]string(nil), facts.Ticks[a.StepID]...), a.Ticks...)
	}
	p := sequence.Person{ID: c.Actor.ID, Role: c.Actor.Role}
	steps := s.Sequence()
	switch sequence.RecordKind(a.Act) {
	case sequence.Completed:
		err = sequence.CanComplete(steps, facts, a.StepID, p)
	case sequence.Released:
		err = sequence.CanRelease(steps, facts, a.StepID, p)
	case sequence.Returned:
		err = sequence.CanReturn(steps, facts, a.StepID, p, a.Note)
	case sequence.Reopened:
		err = sequence.CanReopen(steps, facts, a.StepID, p, a.Note)
	default:
		err = fault.New(fault.Malformed, "a step cannot be %q", a.Act)
	}
	if err != nil {
		return stepFault(err)
	}
	ticks := []string{}
	for _, t := range a.Ticks {
		if t = strings.TrimSpace(t); t != "" {
			ticks = append(ticks, t)
		}
	}
	r.StepRecords = append(r.StepRecords, StepRecord{ID: c.NewID(), EndID: r.End.ID, StepID: a.StepID, Kind: a.Act, ByUser: c.Actor.ID,
		ByName: c.Actor.Name, ByRole: string(c.Actor.Role), Note: a.Note, Ticks: ticks, CapturedAt: c.Captured, ArrivedAt: c.Now})
	return nil
}

func stepFault(err error) error {
	var ref *sequence.Refusal
	if errors.As(err, &ref) {
		return fault.Wrap(fault.Refused, ref, "%s", ref.Error())
	}
	return err
}

func cloneTicks(m map[string][]string) map[string][]string {
	out := make(map[string][]string, len(m)+1)
	for k, v := range m {
		out[k] = v
	}
	return out
}
