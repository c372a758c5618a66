package sequence

import (
	"fmt"
	"strings"
	"time"

	"endcast/internal/domain/fault"
)

// Limits on what an owner may write.
const (
	MaxSteps    = 100
	maxName     = 120
	maxCode     = 16
	maxListText = 8000
)

// Problem is one thing wrong with an edited sequence. StepID and Field say where.
type Problem struct {
	StepID string
	Field  string
	Text   string
}

// Invalid collects every problem of an edited sequence.
type Invalid struct{ Problems []Problem }

// Error lists every problem.
func (e *Invalid) Error() string {
	parts := make([]string, len(e.Problems))
	for i, p := range e.Problems {
		parts[i] = fmt.Sprintf("step %q: %s: %s", p.StepID, p.Field, p.Text)
	}
	return "sequence: " + strings.Join(parts, "; ")
}

// Unwrap gives the problems as the fields of one form, named "stepID.field".
func (e *Invalid) Unwrap() error {
	v := &fault.Invalid{}
	for _, p := range e.Problems {
		v.Fields = append(v.Fields, fault.Field{Field: p.StepID + "." + p.Field, Reason: p.Text})
	}
	return v
}

// Validate checks a sequence on its own. It returns nil or an *Invalid with all
// that is wrong.
func Validate(steps []Step) error {
	v := &Invalid{}
	add := func(s Step, field, format string, args ...any) {
		v.Problems = append(v.Problems, Problem{s.ID, field, fmt.Sprintf(format, args...)})
	}
	if len(steps) > MaxSteps {
		add(Step{}, "steps", "at most %d, got %d", MaxSteps, len(steps))
		return v
	}
	ids, codes, orders := map[string]bool{}, map[string]bool{}, map[int]string{}
	live := 0
	for _, s := range steps {
		if s.ID == "" {
			add(s, "id", "is empty")
		} else if ids[s.ID] {
			add(s, "id", "is used twice")
		}
		ids[s.ID] = true
		if s.Retired {
			continue // what is out of use may share a code or a place with what replaced it
		}
		live++
		validateStep(s, add)
		code := strings.ToLower(strings.TrimSpace(s.Code))
		if code != "" && codes[code] {
			add(s, "code", "%q is used twice", s.Code)
		}
		codes[code] = true
		if other, taken := orders[s.Order]; taken {
			add(s, "order", "%d is also the place of step %q", s.Order, other)
		}
		orders[s.Order] = s.ID
	}
	if live == 0 {
		add(Step{}, "steps", "at least one step must be in use")
	}
	if len(v.Problems) > 0 {
		return v
	}
	return nil
}

func validateStep(s Step, add func(s Step, field, format string, args ...any)) {
	text := func(field, value string, limit int) {
		switch n := len([]rune(strings.TrimSpace(value))); {
		case n == 0:
			add(s, field, "is empty")
		case n > limit:
			add(s, field, "has %d characters, at most %d", n, limit)
		}
	}
	text("name", s.Name, maxName)
	text("code", s.Code, maxCode)
	if len(s.Performer) == 0 {
		add(s, "performer", "at least one role is needed")
	}
	if s.Hold && len(s.Releaser) == 0 {
		add(s, "releaser", "a hold needs at least one role that releases it")
	}
	if len([]rune(s.Window)) > maxName {
		add(s, "window", "has more than %d characters", maxName)
	}
	roles := func(field string, list []Role) {
		for _, r := range list {
			if !r.Valid() {
				add(s, field, "no role is called %q", string(r))
			}
		}
	}
	roles("performer", s.Performer)
	roles("releaser", s.Releaser)
	seen := map[Requirement]bool{}
	for _, r := range s.Requires {
		validateRequirement(s, r, add)
		if seen[r] {
			add(s, "requires", "%s is asked for twice", r.Condition.Words())
		}
		seen[r] = true
	}
}

func validateRequirement(s Step, r Requirement, add func(s Step, field, format string, args ...any)) {
	info, ok := r.Condition.Info()
	if !ok {
		add(s, "requires", "no condition is called %q", string(r.Condition))
		return
	}
	// A NaN fails both comparisons and is refused with the rest.
	if info.UsesAge && !(r.AgeDays >= 0 && r.AgeDays <= 3650) {
		add(s, "requires", "%s: age must lie from 0 to 3650 days, got %g", info.Name, r.AgeDays)
	}
	switch r.Condition {
	case StrengthReached:
		if !(r.Value > 0 && r.Value <= 500) {
			add(s, "requires", "%s: strength must be above 0 and at most 500 MPa, got %g", info.Name, r.Value)
		}
	case Photo:
		if !(r.Value >= 0 && r.Value <= 100) {
			add(s, "requires", "%s: count must lie from 0 to 100, got %g", info.Name, r.Value)
		}
	case TickList:
		if len(r.Items()) == 0 {
			add(s, "requires", "%s: at least one line is needed", info.Name)
		}
		if len(r.Text) > maxListText {
			add(s, "requires", "%s: at most %d characters, got %d", info.Name, maxListText, len(r.Text))
		}
	}
}

// Revise turns an owner's edit into the sequence to store, so that what was done
// under the old one stays done. Steps of old that edited no longer names are
// kept, retired. A step that is new is dated at, so that no end is sent back for
// it, and so is a step that becomes a hold. The IDs of new steps come from the
// caller.
func Revise(old, edited []Step, at time.Time) ([]Step, error) {
	if err := Validate(edited); err != nil {
		return nil, err
	}
	before := make(map[string]Step, len(old))
	for _, s := range old {
		before[s.ID] = s
	}
	out := make([]Step, 0, len(edited))
	named := map[string]bool{}
	for _, s := range edited {
		s = s.clone()
		named[s.ID] = true
		was, existed := before[s.ID]
		switch {
		case !existed:
			s.Added, s.HoldSince = at, time.Time{}
		case was.Retired && !s.Retired:
			// Brought back: for the ends it is as good as new.
			s.Added, s.HoldSince = at, was.HoldSince
			if s.Hold && !was.Hold {
				s.HoldSince = at
			}
		default:
			s.Added, s.HoldSince = was.Added, was.HoldSince
			if s.Hold && !was.Hold {
				s.HoldSince = at
			}
			if !s.Hold {
				s.HoldSince = time.Time{}
			}
		}
		out = append(out, s)
	}
	for _, s := range old {
		if !named[s.ID] {
			s = s.clone()
			s.Retired = true
			out = append(out, s)
		}
	}
	if len(out) > 10*MaxSteps {
		return nil, &Invalid{[]Problem{{Field: "steps", Text: fmt.Sprintf("with the retired ones at most %d, got %d", 10*MaxSteps, len(out))}}}
	}
	return Ordered(out), nil
}
