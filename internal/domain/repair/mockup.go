package repair

import (
	"slices"

	"endcast/internal/domain/fault"
)

// States of a mock-up.
const (
	MockupRecorded    = "recorded"
	MockupAccepted    = "accepted"
	MockupNotAccepted = "not_accepted"
	MockupWithdrawn   = "withdrawn"
)

// mockup finds a mock-up by its number.
func (s *Scope) mockup(number int) (*Mockup, error) {
	i := slices.IndexFunc(s.Mockups, func(m Mockup) bool { return m.Number == number })
	if i < 0 {
		return nil, fault.New(fault.NotFound, "there is no mock-up %d in this program", number)
	}
	return &s.Mockups[i], nil
}
