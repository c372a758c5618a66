package repair

import (
	"fmt"
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// RecordCore is one core drilled through the deck. A core recorded again under its
// number takes the place of the one before, which stays on record.
type RecordCore struct {
	Number      int           `json:"number"`
	Along       units.Length  `json:"along"`
	Across      units.Length  `json:"across"`
	Diameter    units.Length  `json:"diameter"`
	Depth       *units.Length `json:"depth"`
	BarsLocated bool          `json:"bars_located"`
	BarCut      bool          `json:"bar_cut"`
	Leave       string        `json:"leave"`
	OpenClean   bool          `json:"open_clean"`
	Outcome     string        `json:"outcome"`
	Note        string        `json:"note"`
	Typed       Typed         `json:"typed"`
}

// Kind implements Change.
func (RecordCore) Kind() string { return "core.record" }

// Apply implements Change.
func (ch RecordCore) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	var bad fault.Invalid
	notAfter(&bad, "captured_at", c.Captured, c.Now)
	checked(&bad, ch.Outcome, ch.Note)
	if ch.Number < 1 || ch.Number > 99 {
		bad.Add("number", fmt.Sprint(ch.Number), "must be from 1 to 99, got %d", ch.Number)
	}
	lengthIn(&bad, "along", &ch.Along, -5000, 20000)
	lengthIn(&bad, "across", &ch.Across, -5000, 5000)
	lengthIn(&bad, "diameter", &ch.Diameter, 10, 600)
	lengthIn(&bad, "depth", ch.Depth, 10, 2000)
	leave := strings.TrimSpace(ch.Leave)
	if ch.BarCut && ch.Outcome == CheckAccepted && leave == "" {
		bad.Add("leave", "", "a bar was cut: say who gave leave, or do not accept it and raise a nonconformance")
	}
	if ch.Outcome == CheckAccepted && !ch.BarsLocated {
		bad.Add("bars_located", "", "a core drilled before the bars were located is not accepted")
	}
	if ch.Outcome == CheckAccepted && !ch.OpenClean {
		bad.Add("open_clean", "", "a core that is not open and clean is not accepted: it feeds or vents the pour")
	}
	if err := bad.Err(); err != nil {
		return err
	}
	r.DeckCores = append(r.DeckCores, DeckCore{ID: c.NewID(), EndID: r.End.ID, Number: ch.Number, Along: ch.Along, Across: ch.Across, Diameter: ch.Diameter, Depth: ch.Depth,
		BarsLocated: ch.BarsLocated, BarCut: ch.BarCut, Leave: leave, OpenClean: ch.OpenClean, Outcome: ch.Outcome, Note: ch.Note, Typed: ch.Typed.orNone(),
		ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), CapturedAt: c.Captured, ArrivedAt: c.Now})
	return nil
}
