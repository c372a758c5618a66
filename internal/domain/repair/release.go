package repair

import (
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
)

// Decisions on the list before casting.
const (
	CastingReleased = "released"
	CastingRefused  = "refused"
)

// Wording is how texts of the list before casting are written for one reader.
type Wording struct {
	System units.System
	When   func(time.Time) string
}

// onRecord is the wording of evidence that is stored: the program's units, times in UTC.
func (s *Scope) onRecord() Wording {
	return Wording{System: units.System(s.Program.Units), When: func(t time.Time) string { return t.UTC().Format("2006-01-02 15:04 UTC") }}
}

// ReleaseStep is the step at which a casting is released: the first hold that asks for
// the list before casting, else the one with the code REL, else the last hold before
// the step that a pour completes. Nil where the sequence has none.
func (s *Scope) ReleaseStep() *sequence.Step {
	asks := func(st sequence.Step, c sequence.Condition) bool {
		return slices.ContainsFunc(st.Requires, func(q sequence.Requirement) bool { return q.Condition == c })
	}
	var byCode, lastHold *sequence.Step
	cast := false
	for _, st := range sequence.Ordered(s.Sequence()) {
		if st.Retired {
			continue
		}
		cast = cast || asks(st, sequence.PourRecorded)
		switch {
		case !st.Hold:
		case asks(st, sequence.CastingRelease):
			return &st
		case st.Code == "REL" && byCode == nil:
			byCode = &st
		case !cast:
			lastHold = &st
		}
	}
	switch {
	case byCode != nil:
		return byCode
	case cast:
		return lastHold
	}
	return nil
}

// AsksRelease reports whether a step of the sequence asks for the list before casting.
func (s *Scope) AsksRelease() bool {
	return slices.ContainsFunc(s.Sequence(), func(st sequence.Step) bool {
		return !st.Retired && slices.ContainsFunc(st.Requires, func(q sequence.Requirement) bool { return q.Condition == sequence.CastingRelease })
	})
}

// PersonLines are the lines of the list before casting that no record knows: those of
// the step's own tick list, or the usual ones (common practice, no source) where the
// owner's sequence has none.
func PersonLines(st sequence.Step) []string {
	var out []string
	for _, q := range st.Requires {
		if q.Condition == sequence.TickList {
			out = append(out, q.Items()...)
		}
	}
	if out == nil {
		out = []string{"steel and mix temperatures within limits", "spare mixer, power and material on site", "molds marked with the end", "laboratory pick-up booked",
			"watch for leaks posted below", "time of the last batch agreed"}
	}
	return out
}

// reopenedAt is when a step of this end was last reopened, zero for never.
func (r *Record) reopenedAt(stepID string) time.Time {
	var at time.Time
	for _, x := range r.StepRecords {
		if x.StepID == stepID && x.Kind == string(sequence.Reopened) && x.CapturedAt.After(at) {
			at = x.CapturedAt
		}
	}
	return at
}

// LineTick is the last word on one line of a step's tick list since the step was last
// reopened, whether it was ticked on its own or when the step was completed. Nil where
// nobody said anything.
func (r *Record) LineTick(stepID, line string) *StepTick {
	since := r.reopenedAt(stepID)
	var out *StepTick
	take := func(x StepTick) {
		if x.StepID == stepID && x.Line == line && !x.CapturedAt.Before(since) && (out == nil || later(x.CapturedAt, x.ArrivedAt, out.CapturedAt, out.ArrivedAt)) {
			out = &x
		}
	}
	for _, x := range r.StepRecords {
		for _, t := range x.Ticks {
			take(StepTick{ID: x.ID, EndID: x.EndID, StepID: x.StepID, Line: strings.TrimSpace(t), Done: true, ByUser: x.ByUser, ByName: x.ByName, ByRole: x.ByRole,
				CapturedAt: x.CapturedAt, ArrivedAt: x.ArrivedAt})
		}
	}
	for _, x := range r.Ticks {
		take(x)
	}
	return out
}

// tickFacts brings the ticks that were made one by one among those of the steps.
func (r *Record) tickFacts(f *sequence.Facts) {
	seen := map[[2]string]bool{}
	for _, x := range r.Ticks {
		if key := [2]string{x.StepID, x.Line}; !seen[key] {
			seen[key] = true
			last := r.LineTick(x.StepID, x.Line)
			f.Ticks[x.StepID] = slices.DeleteFunc(slices.Clone(f.Ticks[x.StepID]), func(t string) bool { return strings.TrimSpace(t) == x.Line })
			if last != nil && last.Done {
				f.Ticks[x.StepID] = append(f.Ticks[x.StepID], x.Line)
			}
		}
	}
}

// ReleaseStanding is the list before casting of an end as it stands.
type ReleaseStanding struct {
	Step  *sequence.Step // nil: the sequence has no step at which a casting is released
	State sequence.StepState
	// Requested is who asked for the release, nil before.
	Requested *sequence.Record
	Asked     bool // the sequence asks for the list
	Lines     []ReleaseLine
	Digest    string
	// Last is the last decision since the step was reopened, nil without one; Current
	// tells that everything on the list is as it was then, Moved names what is not.
	Last    *ReleaseDecision
	Current bool
	Moved   []string
	// Cast: a pour has begun at this end since. What is released stays so from then on.
	Cast bool
}

// Ready reports whether every line is met, ticked or waived.
func (x ReleaseStanding) Ready() bool {
	return !slices.ContainsFunc(x.Lines, func(l ReleaseLine) bool { return !l.Settled() })
}

// Released reports whether the end is released for casting: decided so, on what the
// list says now; after a pour began, decided so at all.
func (x ReleaseStanding) Released() bool {
	return x.Last != nil && x.Last.Decision == CastingReleased && (x.Current || x.Cast)
}

// Open is Released for what may be cast now: where the sequence does not ask for the
// list, the release of the step is enough as long as nobody decided on the list.
func (x ReleaseStanding) Open() bool {
	return x.Released() || !x.Asked && x.Last == nil && x.Step != nil && x.State == sequence.Done
}

// ReleaseNow evaluates the list before casting on the record as it is.
func (r *Record) ReleaseNow(s *Scope, w Wording) (ReleaseStanding, error) {
	f, err := r.Facts(s)
	if err != nil {
		return ReleaseStanding{}, err
	}
	return r.releaseOn(s, &f, w), nil
}

// releaseOn is ReleaseNow on facts that are known.
func (r *Record) releaseOn(s *Scope, f *sequence.Facts, w Wording) ReleaseStanding {
	out := ReleaseStanding{Step: s.ReleaseStep(), Asked: s.AsksRelease()}
	out.Lines = r.releaseLines(s, f, out.Step, w)
	type part struct{ Key, Digest string }
	var parts []part
	for _, l := range out.Lines {
		parts = append(parts, part{l.Key, l.Digest})
	}
	out.Digest = digestOf(parts)
	if out.Step == nil {
		return out
	}
	for _, st := range sequence.Stand(s.Sequence(), *f) {
		if st.Step.ID == out.Step.ID {
			out.State, out.Requested = st.State, st.Completed
		}
	}
	out.Last, out.Cast = r.lastRelease(s, out.Step.ID)
	if out.Last != nil {
		out.Current = out.Last.Digest == out.Digest
		if !out.Current {
			out.Moved = movedLines(out.Last.Evidence, out.Lines)
		}
	}
	return out
}

// lastRelease is the last decision on the list since the step was reopened, and whether
// a pour has begun since.
func (r *Record) lastRelease(s *Scope, stepID string) (last *ReleaseDecision, cast bool) {
	since := r.reopenedAt(stepID)
	for i := range r.Releases {
		if x := &r.Releases[i]; !x.At.Before(since) && (last == nil || x.At.After(last.At)) {
			last = x
		}
	}
	for _, p := range s.poursOf(r.End.ID) {
		cast = cast || !p.StartedAt.Before(since)
	}
	return last, cast
}

// movedLines are the titles of the lines that differ from what was decided on.
func movedLines(was []ReleaseEvidence, now []ReleaseLine) []string {
	before := map[string]ReleaseEvidence{}
	for _, e := range was {
		before[e.Key] = e
	}
	var out []string
	for _, l := range now {
		if e, ok := before[l.Key]; !ok || e.Digest != l.Digest {
			out = append(out, l.Title)
		}
		delete(before, l.Key)
	}
	for _, e := range was {
		if _, gone := before[e.Key]; gone {
			out = append(out, e.Title+", no longer asked for")
		}
	}
	return out
}

// releaseFact is the list before casting as the sequence reads it. Nothing is
// evaluated where nobody decided on it.
func (r *Record) releaseFact(s *Scope, f *sequence.Facts) sequence.Gate {
	if len(r.Releases) == 0 {
		return sequence.Gate{}
	}
	if st := s.ReleaseStep(); st != nil {
		if last, cast := r.lastRelease(s, st.ID); cast && last != nil && last.Decision == CastingReleased {
			return sequence.Gate{Passed: true}
		}
	}
	x := r.releaseOn(s, f, s.onRecord())
	if x.Released() {
		return sequence.Gate{Passed: true}
	}
	b := sequence.Block{Reason: sequence.ReleaseMissing}
	if l := x.Last; l != nil {
		b.Since = l.At
		switch {
		case l.Decision == CastingRefused:
			b.Detail = "refused by " + l.ByName + ": " + l.Reasons
		default:
			b.Detail = "released by " + l.ByName + ", out of date: " + strings.Join(x.Moved, "; ")
		}
	}
	return sequence.Gate{Waits: b}
}
