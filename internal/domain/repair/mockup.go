package repair

import (
	"slices"
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/sequence"
)

// States of a mock-up; the second and third are also the decisions on one.
const (
	MockupRecorded    = "recorded"
	MockupAccepted    = "accepted"
	MockupNotAccepted = "not_accepted"
	MockupWithdrawn   = "withdrawn"
)

// mockupWords is a state in plain words.
func mockupWords(state string) string { return strings.ReplaceAll(state, "_", " ") }

// mockup finds a mock-up by its number.
func (s *Scope) mockup(number int) (*Mockup, error) {
	i := slices.IndexFunc(s.Mockups, func(m Mockup) bool { return m.Number == number })
	if i < 0 {
		return nil, fault.New(fault.NotFound, "there is no mock-up %d in this program", number)
	}
	return &s.Mockups[i], nil
}

// MockupRoles are the roles that must accept a mock-up of the program.
func (s *Scope) MockupRoles() []sequence.Role {
	if len(s.Program.MockupRoles) == 0 {
		return []sequence.Role{sequence.Engineer, sequence.Inspector}
	}
	out := make([]sequence.Role, len(s.Program.MockupRoles))
	for i, r := range s.Program.MockupRoles {
		out[i] = sequence.Role(r)
	}
	return out
}

// MockupDigest names what a mock-up is decided on: its record, and the breaks and
// batches of its castings.
func (s *Scope) MockupDigest(m Mockup) string {
	m.State, m.StateWhy, m.Typed = "", "", nil
	type part struct {
		Set, Digest string
	}
	parts := []part{}
	for _, set := range s.MockupSets(m) {
		parts = append(parts, part{set.Batch + " " + string(set.Kind) + " " + string(set.Cure) + " " + number(set.NominalHours), SetDigest(set)})
	}
	var batches []Batch
	for _, p := range s.Pours {
		for _, b := range s.Batches {
			if p.MockupID != nil && *p.MockupID == m.ID && b.PourID == p.ID {
				b.Typed = nil
				batches = append(batches, b)
			}
		}
	}
	slices.SortFunc(batches, func(a, b Batch) int {
		if a.PourID != b.PourID {
			return strings.Compare(a.PourID, b.PourID)
		}
		return a.Number - b.Number
	})
	return digestOf([]any{m, parts, batches})
}

// CurrentDecisions are the last decision of each role on a mock-up, of those that were
// made on its record as it is. Of an accepted or withdrawn one whatever was decided
// last counts: its acceptance does not end with a later break.
func (s *Scope) CurrentDecisions(m Mockup) []MockupDecision {
	digest := s.MockupDigest(m)
	last := map[string]MockupDecision{}
	for _, d := range s.MockupDecisions {
		if d.MockupID != m.ID || d.Digest != digest && m.State != MockupAccepted && m.State != MockupWithdrawn {
			continue
		}
		if was, ok := last[d.Role]; !ok || d.At.After(was.At) {
			last[d.Role] = d
		}
	}
	out := make([]MockupDecision, 0, len(last))
	for _, d := range last {
		out = append(out, d)
	}
	slices.SortFunc(out, func(a, b MockupDecision) int { return a.At.Compare(b.At) })
	return out
}

// roleList joins roles in words.
func roleList(roles []sequence.Role, last string) string {
	words := make([]string, len(roles))
	for i, r := range roles {
		words[i] = sequence.RoleWords(r)
	}
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + last + words[len(words)-1]
}
