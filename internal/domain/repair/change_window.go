package repair

import (
	"slices"
	"strings"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
)

// OpenAccess is the kind of access that needs no window.
const OpenAccess = "open"

// States of an access window.
const (
	WindowPlanned   = "planned"
	WindowGranted   = "granted"
	WindowShortened = "shortened"
	WindowLost      = "lost"
	WindowUsed      = "used"
)

var windowStates = []string{WindowPlanned, WindowGranted, WindowShortened, WindowLost, WindowUsed}

// SetWindow plans an access window or records what became of it.
type SetWindow struct {
	Window Window `json:"window"` // an empty ID makes a new one
	// From is the Digest of the window that the edit was made from; empty asks for
	// no comparison.
	From string `json:"from,omitempty"`
}

// Kind implements Change.
func (SetWindow) Kind() string { return "window.set" }

// Digest names a window as it stands, for an edit to say what it was made from.
func (w Window) Digest() string { return calc.Digest(w) }

// Hours is the length of a window from its start to its end.
func (w Window) Hours() float64 { return w.EndsAt.Sub(w.StartsAt).Hours() }

// Apply implements Change.
func (ch SetWindow) Apply(s *Scope, c Context) error {
	w := ch.Window
	w.Kind, w.Party, w.Reason = strings.TrimSpace(w.Kind), strings.TrimSpace(w.Party), strings.TrimSpace(w.Reason)
	var bad fault.Invalid
	w.check(&bad)
	if err := bad.Err(); err != nil {
		return err
	}
	w.ProgramID = s.Program.ID
	if w.ID == "" {
		w.ID = c.NewID()
		s.Windows = append(s.Windows, w)
		return nil
	}
	i := slices.IndexFunc(s.Windows, func(x Window) bool { return x.ID == w.ID })
	if i < 0 {
		return fault.New(fault.NotFound, "this program has no such window")
	}
	was := s.Windows[i]
	if err := from(ch.From, was.Digest(), "the facts of this window"); err != nil {
		return err
	}
	if w.State == WindowShortened && w.Hours() >= was.Hours() && w.ProductiveH >= was.ProductiveH {
		bad.Add("ends_at", "", "a shortened window must be shorter than before, %.2f h", was.Hours())
		return bad.Err()
	}
	s.Windows[i] = w
	return nil
}

// check notes what cannot be true of a window.
func (w Window) check(bad *fault.Invalid) {
	need(bad, "kind", w.Kind, "name the kind of access")
	if n := len([]rune(w.Kind)); n > 120 {
		bad.Add("kind", w.Kind, "has %d characters, at most 120", n)
	}
	if !w.EndsAt.After(w.StartsAt) {
		bad.Add("ends_at", "", "must lie after the start")
	} else if w.Hours() > 24*366 {
		bad.Add("ends_at", "", "must lie within a year of the start, got %.0f h", w.Hours())
	} else if w.ProductiveH > w.Hours() {
		bad.Add("productive_h", "", "must not exceed the %.2f h of the window, got %g h", w.Hours(), w.ProductiveH)
	}
	if !(w.ProductiveH >= 0) {
		bad.Add("productive_h", "", "must be 0 h or more, got %g h", w.ProductiveH)
	}
	if !slices.Contains(windowStates, w.State) {
		bad.Add("state", w.State, "must be planned, granted, shortened, lost or used")
	}
	if w.State == WindowLost || w.State == WindowShortened {
		need(bad, "party", w.Party, "a lost or shortened window needs the party that caused it")
		need(bad, "reason", w.Reason, "a lost or shortened window needs its reason")
	}
}
