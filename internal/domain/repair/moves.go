package repair

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/demand"
)

// move is something that an approval stands on and that changed after it.
type move struct {
	at    time.Time
	words string // followed by "after the approval"
}

// moves lists what an approved design stands on and that changed since a moment,
// the earliest first. It reads the times of rows and no others, so that a stored
// state does not change by itself. What keeps no time of its own, the facts of the
// end and the method of calculation, is not in it.
func (r *Record) moves(s *Scope, since time.Time) []move {
	var out []move
	add := func(at time.Time, words string, args ...any) {
		if at.After(since) {
			out = append(out, move{at, fmt.Sprintf(words, args...)})
		}
	}
	for _, sv := range r.Surveys {
		add(sv.ArrivedAt, "survey %d came", sv.Number)
	}
	late := time.Time{}
	for _, x := range r.Readings {
		if x.CapturedAt.After(late) {
			late = x.CapturedAt
		}
	}
	if len(out) == 0 { // those of a survey that came are told by it
		add(late, "readings were corrected")
	}
	if d := r.DemandOf(); d != nil {
		add(d.SetAt, "how its demand comes was changed")
	}
	r.loadMoves(s, add)
	how := r.how()
	for _, x := range s.Settings {
		loads := how != ByHandTotal && strings.HasPrefix(x.Key, "demand.")
		if !loads && !ofCapacity(basis.Key(x.Key)) {
			continue
		}
		name := x.Key
		if d, ok := basis.Lookup(basis.Key(x.Key)); ok {
			name = d.Name
		}
		add(x.SetAt, "the design basis was changed (%s)", name)
	}
	for _, p := range s.Procedures {
		if p.ForceSince == nil {
			continue
		}
		if p.InForce {
			add(*p.ForceSince, "the procedure %s came in force", p.Title())
		} else if s.InForce() == nil {
			add(*p.ForceSince, "the procedure %s went out of force", p.Title())
		}
	}
	slices.SortStableFunc(out, func(a, b move) int { return a.at.Compare(b.at) })
	return out
}

// loadMoves tells what moved a demand by statics.
func (r *Record) loadMoves(s *Scope, add func(time.Time, string, ...any)) {
	if r.how() != ByStatics {
		return
	}
	sp, _ := s.Span(r.End.SpanID)
	if d := s.SpanDemand(sp.ID); d != nil {
		add(d.SetAt, "the cross section of span %d was changed", sp.Number)
	}
	for _, x := range s.PartsOf(sp.ID) {
		if x.Retired {
			add(x.SetAt, "the dead load of span %d lost a part (%s)", sp.Number, x.Name)
		} else {
			add(x.SetAt, "the dead load of span %d was changed (%s)", sp.Number, x.Name)
		}
	}
	for _, x := range s.Trucks {
		if x.Vehicle().Title() == demand.HL93 {
			add(x.SetAt, "the design vehicle %s was changed", x.Code)
		}
	}
}

// movedSince is the earliest moment after an approval at which something moved;
// a reading counts from when it was taken.
func (r *Record) movedSince(moves []move, since time.Time) time.Time {
	var at time.Time
	earliest := func(t time.Time) {
		if t.After(since) && (at.IsZero() || t.Before(at)) {
			at = t
		}
	}
	for _, m := range moves {
		earliest(m.at)
	}
	for _, x := range r.Readings {
		earliest(x.CapturedAt)
	}
	return at
}

// wordsOf is what moved, for a reader.
func wordsOf(moves []move) string {
	if len(moves) == 0 {
		return "the end's facts or the method of calculation changed after the approval"
	}
	var list []string
	for _, m := range moves {
		list = append(list, m.words)
	}
	list = slices.Compact(list)
	if n := len(list); n > 3 {
		list = append(list[:3], fmt.Sprintf("%d other things changed", n-3))
	}
	return strings.Join(list, ", ") + " after the approval"
}
