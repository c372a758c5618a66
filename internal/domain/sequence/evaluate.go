package sequence

import (
	"sort"
	"time"
)

// Status answers where an end stands and what stops it.
type Status struct {
	// Current is the first step that still asks something; nil when none is left.
	Current *Step
	// CurrentState is Open or Requested.
	CurrentState StepState
	// Next is the step that comes after Current.
	Next *Step
	// Since is when the end came to Current.
	Since time.Time
	// Closed: no step is left to do.
	Closed bool
	// Done holds the finished steps in order, All every step.
	Done []Standing
	All  []Standing
	// Blocks is what stops Current, the most pressing first; empty means that its
	// performer may go to work.
	Blocks []Block
	// ToDo is what doing Current will bring: it is asked for at completion, and is
	// not a reason to wait.
	ToDo []Block
}

// First is the one line that answers "what is blocking this end", and false if
// nothing is.
func (s Status) First() (Block, bool) {
	if len(s.Blocks) == 0 {
		return Block{}, false
	}
	return s.Blocks[0], true
}

// Share is the part of the steps asked of this end that are finished, 0 to 1.
func (s Status) Share() float64 {
	done, asked := 0, 0
	for _, st := range s.All {
		switch {
		case st.State == Done:
			done++
			asked++
		case st.waits():
			asked++
		}
	}
	if asked == 0 {
		return 0
	}
	return float64(done) / float64(asked)
}

// Evaluate places an end in the sequence. It never fails: an unknown condition
// counts as not met, and a record of an unknown step is left out.
func Evaluate(steps []Step, f Facts) Status {
	all := Stand(steps, f)
	st := Status{All: all}
	current := -1
	asked := false
	for i := range all {
		switch {
		case all[i].State == Done:
			st.Done = append(st.Done, all[i])
			asked = true
		case all[i].waits() && current < 0:
			current = i
			asked = true
		case all[i].waits() && st.Next == nil:
			s := all[i].Step.clone()
			st.Next = &s
		}
	}
	if current < 0 {
		st.Closed = asked
		for _, d := range st.Done {
			if at, ok := d.finished(); ok && at.After(st.Since) {
				st.Since = at
			}
		}
		return st
	}
	cur := all[current].Step.clone()
	st.Current, st.CurrentState = &cur, all[current].State
	st.Since = cameTo(all, current, f.Started)
	st.Blocks, st.ToDo = stops(all, current, f, st.Since)
	return st
}

// Blocking returns what stops one step of an end, whether or not the end has
// come to it: the steps before it first if they are not done. It returns nil for
// a step that asks nothing of the end.
func Blocking(steps []Step, f Facts, stepID string) []Block {
	all := Stand(steps, f)
	for i := range all {
		if all[i].Step.ID == stepID && all[i].waits() {
			blocks, _ := stops(all, i, f, cameTo(all, i, f.Started))
			return blocks
		}
	}
	return nil
}

// cameTo is when the end came to step i: when the last step before it was
// finished, or when it was itself sent back.
func cameTo(all []Standing, i int, started time.Time) time.Time {
	at := started
	for _, s := range all[:i] {
		if t, ok := s.finished(); ok && s.State == Done && t.After(at) {
			at = t
		}
	}
	for _, r := range []*Record{all[i].Completed, all[i].Returned, all[i].Reopened} {
		if r != nil && r.At.After(at) {
			at = r.At
		}
	}
	return at
}

// stops sorts what step i lacks into what stops it and what doing it will bring.
func stops(all []Standing, i int, f Facts, since time.Time) (blocks, todo []Block) {
	s := all[i]
	for _, u := range unmet(all, i, f, since) {
		if u.ToDo && s.State == Open {
			todo = append(todo, u.Block)
		} else {
			blocks = append(blocks, u.Block)
		}
	}
	for _, r := range f.Raised {
		if r.StepID == "" || r.StepID == s.Step.ID {
			b := Block{Reason: r.Reason, Detail: r.Detail, Actor: r.Actor, Since: r.Since, StepID: s.Step.ID, Track: Paper}
			if info, ok := r.Reason.Info(); ok {
				b.Track = info.Track
			}
			blocks = append(blocks, b)
		}
	}
	if s.State == Requested {
		b := Block{Track: Paper, Reason: HoldNotReleased, StepID: s.Step.ID, Since: s.Completed.At,
			Detail: s.Step.Name + " is complete and waits for the release by " + rolesInWords(s.Step.Releaser)}
		if len(s.Step.Releaser) > 0 {
			b.Actor = s.Step.Releaser[0]
		}
		blocks = append(blocks, b)
	} else if w := f.window(s.Step); s.Step.Window != "" && !w.Granted {
		b := Block{Track: Access, Reason: WindowNotGranted, Actor: Contractor, Since: since, StepID: s.Step.ID, Detail: w.Why}
		if w.Lost {
			b.Reason = WindowLost
		}
		if !w.Since.IsZero() {
			b.Since = w.Since
		}
		blocks = append(blocks, b)
	}
	byRank := func(list []Block) func(a, b int) bool {
		return func(a, b int) bool { return list[a].Reason.rank() < list[b].Reason.rank() }
	}
	sort.SliceStable(blocks, byRank(blocks))
	sort.SliceStable(todo, byRank(todo))
	return blocks, todo
}
