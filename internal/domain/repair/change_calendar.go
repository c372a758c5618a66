package repair

import (
	"fmt"

	"endcast/internal/domain/fault"
)

// SetWindows plans or writes up several access windows at once, as a look-ahead
// of a week does: all of them or none.
type SetWindows struct {
	Windows []Window `json:"windows"` // one with an empty ID is new
}

// Kind implements Change.
func (SetWindows) Kind() string { return "window.set_many" }

// Apply implements Change.
func (ch SetWindows) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	if len(ch.Windows) == 0 {
		bad.Add("windows", "", "no window was named")
	}
	for i, w := range ch.Windows {
		if err := (SetWindow{Window: w}).Apply(s, c); err != nil {
			addAll(&bad, fmt.Sprintf("window %d", i+1), err)
		}
	}
	return bad.Err()
}
