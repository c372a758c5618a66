package repair

import (
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// EditAssumptions sets the loss of thickness a year that the owner assumes where
// two surveys of an end do not tell it, or withdraws it. Coating life and the error
// of a reading are settings of the design basis.
type EditAssumptions struct {
	RateLow  units.Length `json:"rate_low"`
	Rate     units.Length `json:"rate"`
	RateHigh units.Length `json:"rate_high"`
	Withdraw bool         `json:"withdraw"`
	Source   string       `json:"source"`
	Typed    Typed        `json:"typed"`
	// From is the AssumptionsDigest that the edit was made from; empty asks for no
	// comparison.
	From string `json:"from,omitempty"`
}

// Kind implements Change.
func (EditAssumptions) Kind() string { return "assumption.edit" }

// Reach implements Reaching.
func (EditAssumptions) Reach() Reach { return Reach{Program: true} }

// fastestRate catches a wrong unit: mm a year of a plate, both faces. Common
// practice, no source.
const fastestRate = 5.0

// Apply implements Change. Every end of the scope is recomputed with it.
func (ch EditAssumptions) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	sourced(&bad, ch.Source, "say where the rate comes from, or why it is withdrawn")
	row := Assumptions{ProgramID: s.Program.ID, Withdrawn: ch.Withdraw, Source: ch.Source, Typed: ch.Typed.orNone(), SetBy: c.Actor.ID, SetByName: c.Actor.Name, SetAt: c.Now}
	if ch.Withdraw {
		if s.Assumed() == nil {
			return fault.New(fault.Refused, "no rate of loss is assumed")
		}
		was := s.Assumptions[0]
		row.RateLow, row.Rate, row.RateHigh = was.RateLow, was.Rate, was.RateHigh
	} else {
		row.RateLow, row.Rate, row.RateHigh = ch.RateLow, ch.Rate, ch.RateHigh
		within(&bad, "rate", float64(ch.Rate), 0.0001, fastestRate)
		within(&bad, "rate_low", float64(ch.RateLow), 0, fastestRate)
		within(&bad, "rate_high", float64(ch.RateHigh), 0, fastestRate)
		if ch.RateLow > ch.Rate {
			bad.Add("rate_low", number(float64(ch.RateLow)), "must be at most the central rate, %s mm a year, got %s", number(float64(ch.Rate)), number(float64(ch.RateLow)))
		}
		if ch.RateHigh < ch.Rate {
			bad.Add("rate_high", number(float64(ch.RateHigh)), "must be at least the central rate, %s mm a year, got %s", number(float64(ch.Rate)), number(float64(ch.RateHigh)))
		}
	}
	if err := bad.Err(); err != nil {
		return err
	}
	if err := from(ch.From, s.AssumptionsDigest(), "the assumed rate of loss"); err != nil {
		return err
	}
	s.Assumptions = []Assumptions{row}
	return nil
}

// Assumed is the rate that the owner assumes, nil where none is.
func (s *Scope) Assumed() *Assumptions {
	if len(s.Assumptions) == 0 || s.Assumptions[0].Withdrawn {
		return nil
	}
	return &s.Assumptions[0]
}

// AssumptionsDigest names the assumed rate as it stands.
func (s *Scope) AssumptionsDigest() string { return calc.Digest(s.Assumptions) }
