package repair

import (
	"errors"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// RecordBreak is the crushing of one specimen.
type RecordBreak struct {
	Mark       string        `json:"mark"`
	BrokenAt   time.Time     `json:"broken_at"`
	Load       units.Force   `json:"load"`
	Width      *units.Length `json:"width"` // diameter of a cylinder
	Depth      *units.Length `json:"depth"`
	Height     *units.Length `json:"height"`
	EndsGround bool          `json:"ends_ground"`
	Machine    *units.Force  `json:"machine"`
	Fracture   *int          `json:"fracture"`
	TestedBy   string        `json:"tested_by"`
	Typed      Typed         `json:"typed"`
}

// Kind implements Change.
func (RecordBreak) Kind() string { return "specimen.break" }

// Want implements Wanting.
func (ch RecordBreak) Want() Want { return Want{Marks: []string{ch.Mark}, Tests: true} }

// Apply implements Change.
func (ch RecordBreak) Apply(s *Scope, c Context) error {
	if err := ch.apply(s, c); err != nil {
		return err
	}
	return s.settleTests(c)
}

func (ch RecordBreak) apply(s *Scope, c Context) error {
	i := slices.IndexFunc(s.Specimens, func(x Specimen) bool { return strings.EqualFold(x.Mark, strings.TrimSpace(ch.Mark)) })
	if i < 0 {
		var bad fault.Invalid
		bad.Add("mark", ch.Mark, "no specimen has this mark")
		return bad.Err()
	}
	sp := s.Specimens[i]
	if sp.BrokenAt != nil {
		return fault.New(fault.Refused, "specimen %s was broken on %s; a specimen breaks once", sp.Mark, sp.BrokenAt.Format("2006-01-02"))
	}
	if sp.LostAt != nil {
		return fault.New(fault.Refused, "specimen %s was lost, %s: %s", sp.Mark, sp.LostAt.Format("2006-01-02"), sp.LostWhy)
	}
	sp, err := ch.broken(sp, s.Basis(), c)
	if err != nil {
		return err
	}
	s.Specimens[i] = sp
	return nil
}

// broken is a specimen with this break, or the refusal of it.
func (ch RecordBreak) broken(sp Specimen, bs basis.Basis, c Context) (Specimen, error) {
	at := stored(ch.BrokenAt)
	sp.BrokenAt, sp.Load, sp.Width, sp.Depth, sp.Fracture, sp.TestedBy = &at, &ch.Load, ch.Width, ch.Depth, ch.Fracture, ch.TestedBy
	sp.Height, sp.EndsGround, sp.Machine = ch.Height, ch.EndsGround, ch.Machine
	if ch.Typed != nil {
		sp.Typed = ch.Typed
	}
	if sp.TestedBy == "" {
		sp.TestedBy = c.Actor.Name
	}
	var bad fault.Invalid
	notAfter(&bad, "broken_at", ch.BrokenAt, c.Now)
	if err := bad.Err(); err != nil {
		return sp, err
	}
	row := sp.specimen(Pour{})
	row.Broken, row.Cast = ch.BrokenAt, row.Cast.In(ch.BrokenAt.Location()) // as the entry tells time, should they be refused
	if err := row.Validate(bs); err != nil {
		var v *fault.Invalid
		if errors.As(err, &v) {
			for i := range v.Fields {
				if v.Fields[i].Field == "broken" {
					v.Fields[i].Field = "broken_at"
				}
			}
		}
		return sp, err
	}
	br := row.Break(nil, bs)
	sp.Raw, sp.Strength, sp.Held = &br.Raw, &br.Converted, strings.Join(br.Why, "; ")
	return sp, nil
}
