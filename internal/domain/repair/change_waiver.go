package repair

import (
	"slices"
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/sequence"
)

// Waive does without a condition of a step at one end, or without one line of its
// tick list, for a reason.
type Waive struct {
	StepID    string `json:"step_id"`
	Condition string `json:"condition"`
	Line      string `json:"line"` // of a tick list
	Reason    string `json:"reason"`
}

// Kind implements Change.
func (Waive) Kind() string { return "step.waive" }

// Waivers are the roles that may waive a condition of a step: those that release it
// where it is a hold, else the owner's engineer.
func Waivers(st sequence.Step) []sequence.Role {
	if st.Hold && len(st.Releaser) > 0 {
		return st.Releaser
	}
	return []sequence.Role{sequence.Engineer}
}

// Apply implements Change.
func (ch Waive) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	st, err := s.stepToWaive(ch.StepID, c)
	if err != nil {
		return err
	}
	cond := sequence.Condition(ch.Condition)
	line := strings.TrimSpace(ch.Line)
	var bad fault.Invalid
	at := slices.IndexFunc(st.Requires, func(q sequence.Requirement) bool {
		return q.Condition == cond && (line == "" || slices.Contains(q.Items(), line))
	})
	if cond == sequence.CastingRelease {
		at = s.releaseLineAt(st, line)
	}
	switch info, ok := cond.Info(); {
	case cond == sequence.CastingRelease && at < 0:
		bad.Add("line", ch.Line, "the list before casting has no line of this name that may be waived")
	case !ok || at < 0 && line == "":
		bad.Add("condition", ch.Condition, "step %q does not ask for this", st.Name)
	case !info.Waivable:
		bad.Add("condition", ch.Condition, "%s is never waived", info.Name)
	case at < 0:
		bad.Add("line", ch.Line, "the tick list of step %q has no such line", st.Name)
	case cond == sequence.TickList && line == "":
		bad.Add("line", "", "name the line of the tick list")
	case cond != sequence.TickList && cond != sequence.CastingRelease && line != "":
		bad.Add("line", ch.Line, "only a tick list has lines")
	}
	if slices.ContainsFunc(r.Waivers, func(w Waiver) bool {
		return w.StepID == ch.StepID && w.Condition == ch.Condition && w.Line == line && w.WithdrawnAt == nil
	}) {
		bad.Add("condition", ch.Condition, "is waived already")
	}
	need(&bad, "reason", ch.Reason, "say why it may be done without")
	tooLong(&bad, "reason", ch.Reason, 4000)
	if err := bad.Err(); err != nil {
		return err
	}
	r.Waivers = append(r.Waivers, Waiver{ID: c.NewID(), EndID: r.End.ID, StepID: ch.StepID, Condition: ch.Condition, Line: line, Reason: ch.Reason,
		ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), At: c.Now})
	return nil
}

// releaseLineAt finds a line of the list before casting that may be waived at a step,
// below zero where there is none: one that comes from the record, or one that a person
// ticks where the step has no tick list of its own.
func (s *Scope) releaseLineAt(st sequence.Step, line string) int {
	rel := s.ReleaseStep()
	if rel == nil || rel.ID != st.ID {
		return -1
	}
	if i := slices.Index(waivableLines, line); i >= 0 {
		return i
	}
	if slices.ContainsFunc(st.Requires, func(q sequence.Requirement) bool { return q.Condition == sequence.TickList }) {
		return -1
	}
	return slices.Index(PersonLines(st), line)
}

// stepToWaive is a step of which the actor may waive conditions.
func (s *Scope) stepToWaive(id string, c Context) (sequence.Step, error) {
	steps := s.Sequence()
	i := slices.IndexFunc(steps, func(x sequence.Step) bool { return x.ID == id && !x.Retired })
	if i < 0 {
		return sequence.Step{}, fault.New(fault.NotFound, "the sequence has no such step")
	}
	if may := Waivers(steps[i]); !slices.Contains(may, c.Actor.Role) {
		words := make([]string, len(may))
		for j, r := range may {
			words[j] = sequence.RoleWords(r)
		}
		return sequence.Step{}, fault.New(fault.Forbidden, "conditions of step %q are waived by %s", steps[i].Name, strings.Join(words, " or "))
	}
	return steps[i], nil
}

// WithdrawWaiver takes a waiver back: the condition is asked for again. A step that
// was completed on it stays complete.
type WithdrawWaiver struct {
	ID  string `json:"id"`
	Why string `json:"why"`
}

// Kind implements Change.
func (WithdrawWaiver) Kind() string { return "step.unwaive" }

// Apply implements Change.
func (ch WithdrawWaiver) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	i := slices.IndexFunc(r.Waivers, func(w Waiver) bool { return w.ID == ch.ID })
	if i < 0 {
		return fault.New(fault.NotFound, "this end has no such waiver")
	}
	w := r.Waivers[i]
	if w.WithdrawnAt != nil {
		return fault.New(fault.Refused, "the waiver was withdrawn by %s", w.WithdrawnBy)
	}
	if _, err := s.stepToWaive(w.StepID, c); err != nil {
		return err
	}
	var bad fault.Invalid
	need(&bad, "why", ch.Why, "say why it is asked for again")
	tooLong(&bad, "why", ch.Why, 4000)
	if err := bad.Err(); err != nil {
		return err
	}
	at := c.Now
	w.WithdrawnWhy, w.WithdrawnBy, w.WithdrawnAt = ch.Why, signed(c.Actor), &at
	r.Waivers[i] = w
	return nil
}

// waivers are those that hold, as the sequence reads them.
func (r *Record) waivers() []sequence.Waiver {
	var out []sequence.Waiver
	for _, w := range r.Waivers {
		if w.WithdrawnAt == nil {
			out = append(out, sequence.Waiver{StepID: w.StepID, Condition: sequence.Condition(w.Condition), Line: w.Line,
				By: w.ByName + ", " + sequence.RoleWords(sequence.Role(w.ByRole)), Reason: w.Reason, At: w.At})
		}
	}
	return out
}
