package repair

import (
	"slices"
	"time"

	"endcast/internal/domain/fault"
)

// KeepAside notes that an entry arrived which the record cannot take as it stands:
// it is kept word for word and waits for the engineer. It alters nothing.
type KeepAside struct {
	Entry  string `json:"entry"`
	End    string `json:"end"`
	Reason string `json:"reason"`
	Raw    string `json:"raw"` // as it arrived
}

// Kind implements Change.
func (KeepAside) Kind() string { return "tablet.keep_aside" }

// Apply implements Change.
func (KeepAside) Apply(*Scope, Context) error { return nil }

// DecideAside is the engineer's word on an entry that was kept aside: it is applied
// as the person who made it, or stays on record without effect.
type DecideAside struct {
	Entry    string    `json:"entry"`
	By       Actor     `json:"by"` // who made the entry
	Captured time.Time `json:"captured"`
	Reason   string    `json:"reason"`
	Change   Change    `json:"change,omitempty"` // nil: it stays without effect
}

// Kind implements Change.
func (ch DecideAside) Kind() string {
	if ch.Change == nil {
		return "tablet.record_only"
	}
	return "tablet.apply"
}

// Apply implements Change.
func (ch DecideAside) Apply(s *Scope, c Context) error {
	if ch.Change != nil {
		engineer := c.Actor
		c.Actor, c.Captured = ch.By, ch.Captured
		return ch.counts(s, c, engineer).Apply(s, c.at(ch, s))
	}
	var bad fault.Invalid
	need(&bad, "reason", ch.Reason, "say why it stays without effect")
	return bad.Err()
}

// later reports whether a stud of the change has a finding that was seen after it,
// so that by its own time it would count for nothing.
func (ch DecideAside) later(s *Scope) bool {
	in, ok := ch.Change.(RecordCollars)
	if !ok || len(s.Ends) != 1 {
		return false
	}
	latest := s.Ends[0].LatestCollars(in.DesignID)
	for _, x := range in.Collars {
		if was, ok := latest[x.Mark]; ok && was.CapturedAt.After(ch.Captured) {
			return true
		}
	}
	return false
}

// counts is the change with a word on when it was seen, where it counts from the
// decision on and not from then.
func (ch DecideAside) counts(s *Scope, c Context, engineer Actor) Change {
	in, ok := ch.Change.(RecordCollars)
	if !ok || !ch.later(s) {
		return ch.Change
	}
	in.Collars = slices.Clone(in.Collars)
	for i := range in.Collars {
		note := "seen " + c.Captured.Format(time.RFC3339) + ", applied by " + engineer.Name
		if in.Collars[i].Note != "" {
			note = in.Collars[i].Note + "; " + note
		}
		in.Collars[i].Note = note
	}
	return in
}

// at is the context of a finding that counts from the decision on.
func (c Context) at(ch DecideAside, s *Scope) Context {
	if ch.later(s) {
		c.Captured = c.Now
	}
	return c
}
