package repair

import (
	"slices"
	"strings"

	"endcast/internal/domain/sequence"
)

// MockupRecordDigest names the record of a mock-up as it stands, without the breaks
// and batches of its castings: what a correction is made on.
func MockupRecordDigest(m Mockup) string {
	m.State, m.StateWhy = "", ""
	return digestOf(m)
}

// MockupPours are the castings of a mock-up, the first first.
func (s *Scope) MockupPours(m Mockup) []Pour {
	var out []Pour
	for _, p := range s.Pours {
		if p.MockupID != nil && *p.MockupID == m.ID {
			out = append(out, p)
		}
	}
	slices.SortFunc(out, func(a, b Pour) int { return a.Number - b.Number })
	return out
}

// MockupLacks lists, in words, what is not on record yet of a mock-up before its
// acceptance says all that it should. Without a cut section it cannot be accepted;
// without a sound set of strengths only by a reason given.
func (s *Scope) MockupLacks(m Mockup) []string {
	var out []string
	say := func(missing bool, what string) {
		if missing {
			out = append(out, what)
		}
	}
	say(m.Width == nil || m.Height == nil || m.Thickness == nil, "its width, height and thickness")
	say(m.Head == nil, "the head above it")
	say(strings.TrimSpace(m.Obstructions) == "", "the studs and obstructions in it")
	pours := s.MockupPours(m)
	say(m.Flow == nil, "the flow of its mix")
	say(m.FillMin == nil, "the time to fill it")
	say(m.SectionsCut == 0, "a cut section: nobody has seen the inside of it")
	say(len(pours) == 0, "its casting with batches and specimens")
	for _, p := range pours {
		say(p.Open, "the end of its casting, pour "+numberText(p.Number))
	}
	if len(pours) > 0 && !s.MockupProven(m) {
		cast, broken := 0, 0
		for _, set := range s.MockupSets(m) {
			x := set.Stats(s.Basis())
			cast, broken = cast+x.Cast, broken+x.Broken
		}
		say(cast == 0, "specimens of its casting")
		say(cast > 0, "a sound set of strengths: "+numberText(broken)+" of "+numberText(cast)+" specimens broken")
	}
	return out
}

// MockupOpinion is where one of the roles that decide on a mock-up stands.
type MockupOpinion struct {
	Role     sequence.Role
	Decision *MockupDecision // the last of the role; nil where it has not decided
	Counts   bool            // it was made on the record as it is, or the mock-up is accepted or withdrawn
}

// MockupOpinions are the roles that decide, in the program's order, each with its last
// decision, whether or not that still counts.
func (s *Scope) MockupOpinions(m Mockup) []MockupOpinion {
	counts := map[string]bool{}
	for _, d := range s.CurrentDecisions(m) {
		counts[d.ID] = true
	}
	var out []MockupOpinion
	for _, role := range s.MockupRoles() {
		x := MockupOpinion{Role: role}
		for i := range s.MockupDecisions {
			d := &s.MockupDecisions[i]
			if d.MockupID == m.ID && d.Role == string(role) && (x.Decision == nil || d.At.After(x.Decision.At)) {
				x.Decision = d
			}
		}
		x.Counts = x.Decision != nil && counts[x.Decision.ID]
		out = append(out, x)
	}
	return out
}

// MockupWaits says which acceptance of a mock-up is missing, by role; none once it is
// accepted.
func (s *Scope) MockupWaits(m Mockup) []sequence.Role {
	if m.State == MockupAccepted || m.State == MockupWithdrawn {
		return nil
	}
	var out []sequence.Role
	for _, x := range s.MockupOpinions(m) {
		if !x.Counts || x.Decision.Decision != MockupAccepted {
			out = append(out, x.Role)
		}
	}
	return out
}

// MockupMoved reports whether something that an accepted mock-up was accepted on has
// changed since: a break, a batch, its record. The acceptance stands until it is
// withdrawn; whoever relies on it should know.
func (s *Scope) MockupMoved(m Mockup) bool {
	if m.State != MockupAccepted {
		return false
	}
	digest := s.MockupDigest(m)
	return slices.ContainsFunc(s.CurrentDecisions(m), func(d MockupDecision) bool { return d.Digest != digest })
}

// MockupStanding says in one sentence what stands between the program and its first
// casting: which mock-up, and whose acceptance is missing. Number is that of the
// mock-up, zero where none is on record; empty text means that one is accepted.
func (s *Scope) MockupStanding() (number int, text string) {
	if s.Program.MockupAcceptedAt != nil {
		return 0, ""
	}
	var last *Mockup
	for i := range s.Mockups {
		if m := &s.Mockups[i]; m.State != MockupWithdrawn && (last == nil || m.Number > last.Number) {
			last = m
		}
	}
	switch {
	case last == nil:
		return 0, "no mock-up is on record"
	case last.State == MockupNotAccepted:
		return last.Number, "mock-up " + numberText(last.Number) + " was not accepted: " + last.StateWhy
	}
	return last.Number, "mock-up " + numberText(last.Number) + " waits for its acceptance by " + roleList(s.MockupWaits(*last), " and ")
}
