package sequence

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/fault"
)

// Act is what a person asks to do with a step.
type Act string

// The acts.
const (
	ToComplete Act = "complete"
	ToRelease  Act = "release"
	ToReturn   Act = "return"
	ToReopen   Act = "reopen"
)

// Why tells, for programs, why an act is refused.
type Why string

// Why an act is refused.
const (
	UnknownStep  Why = "unknown_step"
	NotAsked     Why = "not_asked" // retired, not chosen for this end, or passed before it was added
	AlreadyDone  Why = "already_done"
	NotRequested Why = "not_requested" // a release or return without a completion
	NothingDone  Why = "nothing_done"  // a reopening of an open step
	WrongRole    Why = "wrong_role"
	OwnRequest   Why = "own_request" // nobody releases what they completed themselves
	NoReason     Why = "no_reason"
	Lacking      Why = "lacking" // Unmet lists what
)

// Refusal says why a person may not do something with a step.
type Refusal struct {
	Act    Act
	StepID string
	Step   string // its name
	Why    Why
	Detail string
	Unmet  []Unmet
}

// Error names the step, the act, and every reason in plain words.
func (r *Refusal) Error() string {
	what := fmt.Sprintf("step %q: cannot %s", r.Step, r.Act)
	if r.Why == UnknownStep {
		return fmt.Sprintf("no step has the id %q", r.StepID)
	}
	if r.Why != Lacking {
		return what + ": " + r.Detail
	}
	parts := make([]string, len(r.Unmet))
	for i, u := range r.Unmet {
		parts[i] = u.Block.Reason.Words()
		if u.Block.Detail != "" {
			parts[i] += " (" + u.Block.Detail + ")"
		}
	}
	return what + ": " + strings.Join(parts, "; ")
}

// Unwrap gives the refusal its kind: the message is meant for the person.
func (r *Refusal) Unwrap() error {
	kind := fault.Refused
	switch r.Why {
	case UnknownStep:
		kind = fault.NotFound
	case WrongRole, OwnRequest:
		kind = fault.Forbidden
	}
	return fault.New(kind, "%s", r.Error())
}

// Person is who acts, and in which role.
type Person struct {
	ID   string
	Role Role
}

// CanComplete returns nil if the person may complete the step of the end now,
// and otherwise a *Refusal that names everything that stands against it.
//
// That an end has no window is no ground for a refusal: what was done in the
// field is recorded whatever the program says.
func CanComplete(steps []Step, f Facts, stepID string, p Person) error {
	all, i, s, err := place(steps, f, stepID, ToComplete)
	if err != nil {
		return err
	}
	switch s.State {
	case Done, Requested:
		return refuse(ToComplete, s.Step, AlreadyDone, "it is already "+s.State.Words())
	}
	if !hasRole(s.Step.Performer, p.Role) {
		return refuse(ToComplete, s.Step, WrongRole, "it is completed by "+rolesInWords(s.Step.Performer)+", not by "+RoleWords(p.Role))
	}
	return lacks(ToComplete, all, i, f)
}

// CanRelease returns nil if the person may release the hold now. The
// requirements are read again: a design may have gone out of date, or a
// nonconformance may have been raised, after the request.
func CanRelease(steps []Step, f Facts, stepID string, p Person) error {
	all, i, s, err := place(steps, f, stepID, ToRelease)
	if err != nil {
		return err
	}
	if err := mayAnswer(ToRelease, s, p); err != nil {
		return err
	}
	if p.ID != "" && s.Completed.By == p.ID {
		return refuse(ToRelease, s.Step, OwnRequest, "the person who completed it cannot also release it")
	}
	return lacks(ToRelease, all, i, f)
}

// CanReturn returns nil if the person may send the request back, with a reason.
func CanReturn(steps []Step, f Facts, stepID string, p Person, reason string) error {
	_, _, s, err := place(steps, f, stepID, ToReturn)
	if err != nil {
		return err
	}
	if err := mayAnswer(ToReturn, s, p); err != nil {
		return err
	}
	if strings.TrimSpace(reason) == "" {
		return refuse(ToReturn, s.Step, NoReason, "a reason is needed")
	}
	return nil
}

// CanReopen returns nil if the person may have a finished step done again. On a
// hold that is for its releasers, elsewhere for its performers; the owner's
// engineer may always. The steps after it keep their records.
func CanReopen(steps []Step, f Facts, stepID string, p Person, reason string) error {
	_, _, s, err := place(steps, f, stepID, ToReopen)
	if err != nil {
		return err
	}
	if s.State != Done && s.State != Requested {
		return refuse(ToReopen, s.Step, NothingDone, "it is not done")
	}
	who := s.Step.Performer
	if s.Step.Hold {
		who = s.Step.Releaser
	}
	if p.Role != Engineer && !hasRole(who, p.Role) {
		return refuse(ToReopen, s.Step, WrongRole, "it is reopened by "+rolesInWords(append([]Role{Engineer}, who...))+", not by "+RoleWords(p.Role))
	}
	if strings.TrimSpace(reason) == "" {
		return refuse(ToReopen, s.Step, NoReason, "a reason is needed")
	}
	return nil
}

func mayAnswer(a Act, s *Standing, p Person) error {
	if s.State != Requested {
		return refuse(a, s.Step, NotRequested, "its release has not been asked for")
	}
	if !hasRole(s.Step.Releaser, p.Role) {
		return refuse(a, s.Step, WrongRole, "it is released by "+rolesInWords(s.Step.Releaser)+", not by "+RoleWords(p.Role))
	}
	return nil
}

func place(steps []Step, f Facts, stepID string, a Act) ([]Standing, int, *Standing, error) {
	all := Stand(steps, f)
	for i := range all {
		s := &all[i]
		if s.Step.ID != stepID {
			continue
		}
		switch s.State {
		case RetiredStep, NotChosen, PassedBefore:
			return nil, 0, nil, refuse(a, s.Step, NotAsked, s.State.Words())
		}
		return all, i, s, nil
	}
	return nil, 0, nil, &Refusal{Act: a, StepID: stepID, Why: UnknownStep}
}

func lacks(a Act, all []Standing, i int, f Facts) error {
	u := unmet(all, i, f, time.Time{})
	if a == ToComplete {
		u = slices.DeleteFunc(u, func(x Unmet) bool { return releasedHere(x.Requirement, all[i].Step) })
	}
	if len(u) > 0 {
		return &Refusal{Act: a, StepID: all[i].Step.ID, Step: all[i].Step.Name, Why: Lacking, Unmet: u}
	}
	return nil
}

func refuse(a Act, s Step, w Why, detail string) error {
	return &Refusal{Act: a, StepID: s.ID, Step: s.Name, Why: w, Detail: detail}
}
