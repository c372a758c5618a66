package sequence

import "time"

// StepState is where one step stands at one end.
type StepState string

// States of a step.
const (
	Open         StepState = "open"
	Requested    StepState = "requested"     // complete, waiting for its release
	Done         StepState = "done"          // complete, and released where it is a hold
	PassedBefore StepState = "passed_before" // joined the sequence after the end had gone by
	NotChosen    StepState = "not_chosen"    // only chosen ends go through it
	RetiredStep  StepState = "retired"
)

// Words is the state in plain words.
func (s StepState) Words() string {
	switch s {
	case Open:
		return "open"
	case Requested:
		return "waiting for release"
	case Done:
		return "done"
	case PassedBefore:
		return "not asked: added after this end had passed"
	case NotChosen:
		return "not for this end"
	case RetiredStep:
		return "retired"
	}
	return string(s)
}

// Standing is one step at one end with the records that hold now. Earlier
// records, undone by a return or a reopening, are in History.
type Standing struct {
	Step      Step
	State     StepState
	Completed *Record
	Released  *Record
	Returned  *Record // the last return, while it has not been answered
	Reopened  *Record // the last reopening, while it has not been answered
	History   []Record
}

// finished reports whether the step's own records finish it, and when they did.
func (s Standing) finished() (time.Time, bool) {
	if s.Completed == nil {
		return time.Time{}, false
	}
	if s.Released != nil {
		return s.Released.At, true
	}
	before := !s.Step.HoldSince.IsZero() && s.Completed.At.Before(s.Step.HoldSince)
	if !s.Step.Hold || before {
		return s.Completed.At, true
	}
	return time.Time{}, false
}

// waits reports whether the step still asks something of someone.
func (s Standing) waits() bool { return s.State == Open || s.State == Requested }

// Stand returns every step, in order, with its state at the end. Retired steps
// are included so that what was recorded on them can be read.
func Stand(steps []Step, f Facts) []Standing {
	ordered := Ordered(steps)
	out := make([]Standing, len(ordered))
	at := make(map[string]int, len(ordered))
	for i, s := range ordered {
		out[i].Step = s
		at[s.ID] = i
	}
	for i := range f.Records {
		r := f.Records[i]
		n, ok := at[r.StepID]
		if !ok {
			continue
		}
		st := &out[n]
		st.History = append(st.History, r)
		switch r.Kind {
		case Completed:
			st.Completed, st.Released, st.Returned, st.Reopened = &r, nil, nil, nil
		case Released:
			if st.Completed != nil {
				st.Released = &r
			}
		case Returned:
			st.Completed, st.Released, st.Returned = nil, nil, &r
		case Reopened:
			st.Completed, st.Released, st.Reopened = nil, nil, &r
		}
	}
	chosen := make(map[string]bool, len(f.Chosen))
	for _, id := range f.Chosen {
		chosen[id] = true
	}
	for i := range out {
		out[i].State = state(out, i, chosen)
	}
	return out
}

func state(all []Standing, i int, chosen map[string]bool) StepState {
	s := all[i]
	_, finished := s.finished()
	switch {
	case s.Step.Retired:
		return RetiredStep
	case finished:
		// A step once done stays done even if the end is no longer chosen for it.
		return Done
	case !s.Step.AppliesToAll && !chosen[s.Step.ID]:
		return NotChosen
	case s.Completed != nil:
		return Requested
	case s.Returned == nil && s.Reopened == nil && passedBefore(all, i):
		return PassedBefore
	}
	return Open
}

// passedBefore reports whether the end had finished a later step before this
// step joined the sequence.
func passedBefore(all []Standing, i int) bool {
	added := all[i].Step.Added
	if added.IsZero() {
		return false
	}
	for _, later := range all[i+1:] {
		if at, ok := later.finished(); ok && at.Before(added) {
			return true
		}
	}
	return false
}

// find returns the standing of a step, or nil.
func find(all []Standing, stepID string) *Standing {
	for i := range all {
		if all[i].Step.ID == stepID {
			return &all[i]
		}
	}
	return nil
}
