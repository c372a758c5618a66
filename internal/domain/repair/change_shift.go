package repair

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/fault"
)

func (s *Scope) window(id string) (Window, error) {
	i := slices.IndexFunc(s.Windows, func(x Window) bool { return x.ID == id })
	if i < 0 {
		return Window{}, fault.New(fault.NotFound, "this program has no such window")
	}
	return s.Windows[i], nil
}

// ConfirmWindow records that something a kind of access asks for is confirmed for one window.
type ConfirmWindow struct {
	forShifts
	WindowID string `json:"window_id"`
	Item     string `json:"item"`
	Note     string `json:"note"`
}

// Kind implements Change.
func (ConfirmWindow) Kind() string { return "shift.confirm" }

// Apply implements Change.
func (ch ConfirmWindow) Apply(s *Scope, c Context) error {
	w, err := s.window(ch.WindowID)
	if err != nil {
		return err
	}
	if w.State == WindowLost {
		return fault.New(fault.Refused, "the window was lost: %s", w.Reason)
	}
	var bad fault.Invalid
	item := strings.TrimSpace(ch.Item)
	if !slices.Contains(s.Shifts.asked(w.Kind), item) {
		bad.Add("item", ch.Item, "a window of %s does not ask for this", w.Kind)
	}
	tooLong(&bad, "note", ch.Note, 2000)
	if err := bad.Err(); err != nil {
		return err
	}
	if slices.ContainsFunc(s.Shifts.Confirmations, func(x WindowConfirmation) bool { return x.WindowID == w.ID && x.Item == item && x.WithdrawnAt == nil }) {
		return fault.New(fault.Duplicate, "%s is confirmed already", item)
	}
	s.Shifts.Confirmations = append(s.Shifts.Confirmations, WindowConfirmation{ID: c.NewID(), ProgramID: s.Program.ID, WindowID: w.ID, Item: item, Note: strings.TrimSpace(ch.Note),
		ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), CapturedAt: c.Captured, ArrivedAt: c.Now})
	return nil
}

// asked is what a kind of access has confirmed before work.
func (s Shifts) asked(kind string) []string {
	for _, k := range s.Kinds {
		if k.Name == kind {
			return k.Confirmations
		}
	}
	return nil
}

// Unconfirmed is what a window asks to have confirmed and nobody has.
func (s Shifts) Unconfirmed(w Window) []string {
	var out []string
	for _, item := range s.asked(w.Kind) {
		if !slices.ContainsFunc(s.Confirmations, func(x WindowConfirmation) bool { return x.WindowID == w.ID && x.Item == item && x.WithdrawnAt == nil }) {
			out = append(out, item)
		}
	}
	return out
}

// WithdrawConfirmation takes a confirmation back: the line is open again, the power is on again.
type WithdrawConfirmation struct {
	forShifts
	ID  string `json:"id"`
	Why string `json:"why"`
}

// Kind implements Change.
func (WithdrawConfirmation) Kind() string { return "shift.unconfirm" }

// Apply implements Change.
func (ch WithdrawConfirmation) Apply(s *Scope, c Context) error {
	i := slices.IndexFunc(s.Shifts.Confirmations, func(x WindowConfirmation) bool { return x.ID == ch.ID })
	if i < 0 {
		return fault.New(fault.NotFound, "this window has no such confirmation")
	}
	x := s.Shifts.Confirmations[i]
	if x.WithdrawnAt != nil {
		return fault.New(fault.Refused, "it was withdrawn by %s", x.WithdrawnBy)
	}
	var bad fault.Invalid
	need(&bad, "why", ch.Why, "say why it holds no longer")
	tooLong(&bad, "why", ch.Why, 2000)
	if err := bad.Err(); err != nil {
		return err
	}
	at := c.Now
	x.WithdrawnWhy, x.WithdrawnBy, x.WithdrawnAt = strings.TrimSpace(ch.Why), signed(c.Actor), &at
	s.Shifts.Confirmations[i] = x
	return nil
}

// ChooseForWindow is a person's choice for one end in one window: a crew and how many steps, or to leave it out for a
// reason, or neither, which withdraws the choice before.
type ChooseForWindow struct {
	forShifts
	WindowID string `json:"window_id"`
	EndID    string `json:"end_id"`
	CrewID   string `json:"crew_id,omitempty"`
	Steps    int    `json:"steps,omitempty"`
	LeaveOut string `json:"leave_out,omitempty"` // the reason
	From     string `json:"from"`                // id of the choice that the page showed; empty: none
}

// Kind implements Change.
func (ChooseForWindow) Kind() string { return "shift.choose" }

// Apply implements Change.
func (ch ChooseForWindow) Apply(s *Scope, c Context) error {
	w, err := s.window(ch.WindowID)
	if err != nil {
		return err
	}
	if w.State == WindowLost || w.State == WindowUsed {
		return fault.New(fault.Refused, "the window is %s: nothing is planned in it any more", w.State)
	}
	var bad fault.Invalid
	if ch.CrewID != "" && !slices.ContainsFunc(s.Shifts.Crews, func(x Crew) bool { return x.ID == ch.CrewID && !x.Retired }) {
		bad.Add("crew", ch.CrewID, "this program has no such crew")
	}
	if ch.CrewID != "" && ch.LeaveOut != "" {
		bad.Add("leave_out", ch.LeaveOut, "an end is either given to a crew or left out")
	}
	within(&bad, "steps", float64(ch.Steps), 0, 20)
	tooLong(&bad, "leave_out", ch.LeaveOut, 500)
	if err := bad.Err(); err != nil {
		return err
	}
	now := ""
	i := slices.IndexFunc(s.Shifts.Choices, func(x WindowChoice) bool { return x.WindowID == w.ID && x.EndID == ch.EndID && x.WithdrawnAt == nil })
	if i >= 0 {
		now = s.Shifts.Choices[i].ID
	}
	if now != ch.From {
		return fault.New(fault.Conflict, "somebody chose otherwise for this end since the page was opened")
	}
	if i >= 0 {
		x, at := s.Shifts.Choices[i], c.Now
		x.WithdrawnBy, x.WithdrawnAt = signed(c.Actor), &at
		s.Shifts.Choices[i] = x
	}
	if ch.CrewID == "" && strings.TrimSpace(ch.LeaveOut) == "" {
		return nil
	}
	x := WindowChoice{ID: c.NewID(), ProgramID: s.Program.ID, WindowID: w.ID, EndID: ch.EndID, Steps: ch.Steps, Reason: strings.TrimSpace(ch.LeaveOut),
		ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), At: c.Now}
	if ch.CrewID != "" {
		x.CrewID = &ch.CrewID
	}
	s.Shifts.Choices = append(s.Shifts.Choices, x)
	return nil
}

// PromiseIn is one step promised for a window.
type PromiseIn struct {
	EndID    string     `json:"end_id"`
	StepID   string     `json:"step_id"`
	CrewID   string     `json:"crew_id,omitempty"`
	Needs    string     `json:"needs,omitempty"`
	Owner    string     `json:"owner,omitempty"`
	NeededBy *time.Time `json:"needed_by,omitempty"`
}

// MakePromises promises steps for a window: all of them or none.
type MakePromises struct {
	forShifts
	WindowID string      `json:"window_id"`
	Steps    []PromiseIn `json:"steps"`
}

// Kind implements Change.
func (MakePromises) Kind() string { return "shift.promise" }

// Apply implements Change.
func (ch MakePromises) Apply(s *Scope, c Context) error {
	w, err := s.window(ch.WindowID)
	if err != nil {
		return err
	}
	if w.State == WindowLost || w.State == WindowUsed {
		return fault.New(fault.Refused, "the window is %s: nothing is promised in it any more", w.State)
	}
	var bad fault.Invalid
	if len(ch.Steps) == 0 {
		bad.Add("steps", "", "no step was named")
	}
	for i, p := range ch.Steps {
		at := fmt.Sprintf("steps-%d", i+1)
		if !slices.ContainsFunc(s.Steps, func(x StepRow) bool { return x.ID == p.StepID && !x.Retired }) {
			bad.Add(at, p.StepID, "the sequence has no such step")
		}
		if slices.ContainsFunc(s.Shifts.Promises, func(x Promise) bool {
			return x.WindowID == w.ID && x.EndID == p.EndID && x.StepID == p.StepID && x.State != PromiseWithdrawn
		}) {
			bad.Add(at, "", "is promised for this window already")
		}
		if p.Needs != "" && strings.TrimSpace(p.Owner) == "" {
			bad.Add(at, p.Needs, "name who clears what is open")
		}
		tooLong(&bad, at, p.Needs, 1000)
		tooLong(&bad, at, p.Owner, 200)
		x := Promise{ID: c.NewID(), ProgramID: s.Program.ID, WindowID: w.ID, EndID: p.EndID, StepID: p.StepID, Needs: strings.TrimSpace(p.Needs), Owner: strings.TrimSpace(p.Owner),
			NeededBy: p.NeededBy, Ready: strings.TrimSpace(p.Needs) == "", ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), At: c.Now, State: PromiseOpen}
		if p.CrewID != "" {
			x.CrewID = &p.CrewID
		}
		s.Shifts.Promises = append(s.Shifts.Promises, x)
	}
	return bad.Err()
}

// SettlePromise says what became of a promise.
type SettlePromise struct {
	forShifts
	ID    string `json:"id"`
	State string `json:"state"`
	Why   string `json:"why"`
	Cause string `json:"cause"` // one of SlipCauses, for a promise that slipped
}

// SlipCauses are the causes that slipped promises are counted by.
func SlipCauses() []string {
	return []string{"window lost or shortened", "crew or equipment", "material", "design or review", "nonconformance", "weather", "work before it not done", "longer than thought", "other"}
}

// Kind implements Change.
func (SettlePromise) Kind() string { return "shift.settle" }

// Apply implements Change.
func (ch SettlePromise) Apply(s *Scope, c Context) error {
	i := slices.IndexFunc(s.Shifts.Promises, func(x Promise) bool { return x.ID == ch.ID })
	if i < 0 {
		return fault.New(fault.NotFound, "there is no such promise that is still open")
	}
	p := s.Shifts.Promises[i]
	if p.State != PromiseOpen {
		return fault.New(fault.Conflict, "the promise was settled as %s by %s", p.State, p.SettledBy)
	}
	var bad fault.Invalid
	switch ch.State {
	case PromiseKept:
	case PromiseSlipped:
		need(&bad, "why", ch.Why, "say why it slipped")
		if !slices.Contains(SlipCauses(), ch.Cause) {
			bad.Add("cause", ch.Cause, "choose a cause to count it by")
		}
	case PromiseWithdrawn:
		need(&bad, "why", ch.Why, "say why it is withdrawn")
	default:
		bad.Add("state", ch.State, "must be kept, slipped or withdrawn")
	}
	tooLong(&bad, "why", ch.Why, 2000)
	if err := bad.Err(); err != nil {
		return err
	}
	at := c.Now
	p.State, p.Why, p.SettledBy, p.SettledAt = ch.State, strings.TrimSpace(ch.Why), signed(c.Actor), &at
	if ch.State == PromiseSlipped {
		p.Cause = ch.Cause
	}
	s.Shifts.Promises[i] = p
	return nil
}

// LeaveOutWindow leaves a past window out of the forecast's sample for a written reason, or, with an empty one, takes it
// back in.
type LeaveOutWindow struct {
	forShifts
	WindowID string `json:"window_id"`
	Reason   string `json:"reason"`
}

// Kind implements Change.
func (LeaveOutWindow) Kind() string { return "shift.leave_out" }

// Apply implements Change.
func (ch LeaveOutWindow) Apply(s *Scope, c Context) error {
	w, err := s.window(ch.WindowID)
	if err != nil {
		return err
	}
	var bad fault.Invalid
	tooLong(&bad, "reason", ch.Reason, 500)
	if err := bad.Err(); err != nil {
		return err
	}
	reason := strings.TrimSpace(ch.Reason)
	i := slices.IndexFunc(s.Shifts.Exclusions, func(x WindowExclusion) bool { return x.WindowID == w.ID && x.WithdrawnAt == nil })
	if i >= 0 {
		x, at := s.Shifts.Exclusions[i], c.Now
		if x.Reason == reason {
			return fault.New(fault.Duplicate, "the window is left out for this reason already")
		}
		x.WithdrawnBy, x.WithdrawnAt = signed(c.Actor), &at
		s.Shifts.Exclusions[i] = x
	} else if reason == "" {
		bad.Add("reason", "", "say why the window tells nothing of those to come")
		return bad.Err()
	}
	if reason != "" {
		s.Shifts.Exclusions = append(s.Shifts.Exclusions, WindowExclusion{ID: c.NewID(), ProgramID: s.Program.ID, WindowID: w.ID, Reason: reason,
			ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), At: c.Now})
	}
	return nil
}
