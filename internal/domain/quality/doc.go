// Package quality holds two records of the work at an end: the cleaning of the
// steel, zone by zone, and the nonconformance, from the moment something is found
// not to meet its requirement until it is closed.
package quality

import (
	"time"

	"endcast/internal/domain/authz"
)

// Actor is who did something, in which role, and when.
type Actor struct {
	ID   string
	Name string
	Role authz.Role
	At   time.Time
}
