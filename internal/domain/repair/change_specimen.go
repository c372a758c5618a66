package repair

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/fault"
)

// addSpecimens puts specimens on record, with the next marks of their casting.
func (s *Scope) addSpecimens(p Pour, sets []SpecimenSet, c Context) {
	n := 0
	for _, sp := range s.Specimens {
		if sp.PourID == p.ID {
			n++
		}
	}
	for _, set := range sets {
		at := slices.IndexFunc(s.Batches, func(b Batch) bool { return b.PourID == p.ID && b.Number == set.Batch })
		for range set.Count {
			n++
			s.Specimens = append(s.Specimens, Specimen{ID: c.NewID(), ProgramID: s.Program.ID, PourID: p.ID, BatchNo: set.Batch,
				Mark: fmt.Sprintf("P%03d-%02d", p.Number, n), Kind: set.Kind, Curing: set.Curing, Duty: set.duty(), NominalDays: set.NominalDays,
				CastAt: stored(castOf(s.Batches[at])), Purpose: set.Purpose, Typed: Typed{}})
		}
	}
}

// AddSpecimens adds specimens to a casting, each set of one of its batches.
type AddSpecimens struct {
	Pour int           `json:"pour"`
	Sets []SpecimenSet `json:"sets"`
}

// Kind implements Change.
func (AddSpecimens) Kind() string { return "specimen.add" }

// Want implements Wanting.
func (ch AddSpecimens) Want() Want { return Want{Pours: []int{ch.Pour}} }

// Apply implements Change.
func (ch AddSpecimens) Apply(s *Scope, c Context) error {
	i, err := s.pour(ch.Pour)
	if err != nil {
		return err
	}
	p := s.Pours[i]
	batches := 0
	for _, b := range s.Batches {
		if b.PourID == p.ID {
			batches = max(batches, b.Number)
		}
	}
	var bad fault.Invalid
	if len(ch.Sets) == 0 {
		bad.Add("sets", "", "name at least one set")
	}
	for i, set := range ch.Sets {
		set.validate(&bad, fmt.Sprintf("specimens-%d", i+1), batches)
	}
	if err := bad.Err(); err != nil {
		return err
	}
	s.addSpecimens(p, ch.Sets, c)
	return nil
}

// specimenMarked finds a specimen by its mark, however it is written.
func (s *Scope) specimenMarked(mark string) (int, error) {
	i := slices.IndexFunc(s.Specimens, func(x Specimen) bool { return strings.EqualFold(x.Mark, strings.TrimSpace(mark)) })
	if i < 0 {
		var bad fault.Invalid
		bad.Add("mark", mark, "no specimen has this mark")
		return 0, bad.Err()
	}
	return i, nil
}

// pourByID is the casting of an identifier.
func (s *Scope) pourByID(id string) Pour {
	for _, p := range s.Pours {
		if p.ID == id {
			return p
		}
	}
	return Pour{}
}

// held is why a break does not count by itself, empty where it does.
func held(sp Specimen, p Pour, s *Scope) string {
	return strings.Join(sp.specimen(p).Break(nil, s.Basis()).Why, "; ")
}

// DemoldSpecimens says when specimens came out of their molds.
type DemoldSpecimens struct {
	Marks []string  `json:"marks"`
	At    time.Time `json:"at"`
}

// Kind implements Change.
func (DemoldSpecimens) Kind() string { return "specimen.demold" }

// Want implements Wanting.
func (ch DemoldSpecimens) Want() Want { return Want{Marks: ch.Marks} }

// Apply implements Change.
func (ch DemoldSpecimens) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	notAfter(&bad, "at", ch.At, c.Now)
	if len(ch.Marks) == 0 || len(ch.Marks) > mostBreaks {
		bad.Add("marks", "", "name from 1 to %d specimens, got %d", mostBreaks, len(ch.Marks))
	}
	at := stored(ch.At)
	for _, mark := range ch.Marks {
		i, err := s.specimenMarked(mark)
		if err != nil {
			bad.Add("marks", mark, "no specimen has this mark")
			continue
		}
		sp := s.Specimens[i]
		switch {
		case sp.DemoldedAt != nil:
			bad.Add("marks", mark, "%s came out of its mold at %s already", sp.Mark, sp.DemoldedAt.In(ch.At.Location()).Format("2006-01-02 15:04"))
		case sp.LostAt != nil:
			bad.Add("marks", mark, "%s was lost: %s", sp.Mark, sp.LostWhy)
		case !at.After(sp.CastAt):
			bad.Add("marks", mark, "%s was cast at %s", sp.Mark, sp.CastAt.In(ch.At.Location()).Format("2006-01-02 15:04"))
		case sp.BrokenAt != nil && at.After(*sp.BrokenAt):
			bad.Add("marks", mark, "%s was broken before, %s", sp.Mark, sp.BrokenAt.In(ch.At.Location()).Format("2006-01-02 15:04"))
		}
		sp.DemoldedAt = &at
		s.Specimens[i] = sp
	}
	return bad.Err()
}

// LoseSpecimen says that a specimen will never be broken: its mold leaked, it was
// dropped, it cannot be found. It stays on record.
type LoseSpecimen struct {
	Mark string `json:"mark"`
	Why  string `json:"why"`
}

// Kind implements Change.
func (LoseSpecimen) Kind() string { return "specimen.lose" }

// Want implements Wanting.
func (ch LoseSpecimen) Want() Want { return Want{Marks: []string{ch.Mark}, Tests: true} }

// Apply implements Change. A set that waited only for this one is complete then.
func (ch LoseSpecimen) Apply(s *Scope, c Context) error {
	i, err := s.specimenMarked(ch.Mark)
	if err != nil {
		return err
	}
	sp := s.Specimens[i]
	switch {
	case sp.BrokenAt != nil:
		return fault.New(fault.Refused, "specimen %s was broken on %s; leave its break out of its set instead", sp.Mark, sp.BrokenAt.Format("2006-01-02"))
	case sp.LostAt != nil:
		return fault.New(fault.Refused, "specimen %s is down as lost already", sp.Mark)
	}
	var bad fault.Invalid
	need(&bad, "why", ch.Why, "say how the specimen was lost")
	tooLong(&bad, "why", ch.Why, 4000)
	if err := bad.Err(); err != nil {
		return err
	}
	at := c.Now
	sp.LostWhy, sp.LostBy, sp.LostAt = ch.Why, signed(c.Actor), &at
	s.Specimens[i] = sp
	return s.settleTests(c)
}

// ExcludeSpecimen leaves a break out of its set for a reason, or takes it in again.
// Both means, with it and without, stay visible.
type ExcludeSpecimen struct {
	Mark   string `json:"mark"`
	Why    string `json:"why"`
	Return bool   `json:"return"` // take it in again
}

// Kind implements Change.
func (ExcludeSpecimen) Kind() string { return "specimen.exclude" }

// Want implements Wanting.
func (ch ExcludeSpecimen) Want() Want { return Want{Marks: []string{ch.Mark}, Tests: true} }

// Apply implements Change.
func (ch ExcludeSpecimen) Apply(s *Scope, c Context) error {
	i, err := s.specimenMarked(ch.Mark)
	if err != nil {
		return err
	}
	sp := s.Specimens[i]
	switch {
	case sp.BrokenAt == nil:
		return fault.New(fault.Refused, "specimen %s is not broken: there is no result to leave out", sp.Mark)
	case ch.Return && sp.ExcludedAt == nil:
		return fault.New(fault.Refused, "the break of specimen %s is not left out", sp.Mark)
	case !ch.Return && sp.ExcludedAt != nil:
		return fault.New(fault.Refused, "the break of specimen %s is left out already, by %s", sp.Mark, sp.ExcludedBy)
	}
	var bad fault.Invalid
	need(&bad, "why", ch.Why, "give the reason: an end defect, a wrong rate, an eccentric break")
	tooLong(&bad, "why", ch.Why, 4000)
	if err := bad.Err(); err != nil {
		return err
	}
	if ch.Return {
		sp.ExcludedWhy, sp.ExcludedBy, sp.ExcludedAt = "", "", nil
		sp.Corrected = "taken in again: " + ch.Why + " (" + signed(c.Actor) + ")"
	} else {
		at := c.Now
		sp.ExcludedWhy, sp.ExcludedBy, sp.ExcludedAt = ch.Why, signed(c.Actor), &at
	}
	sp.Held = held(sp, s.pourByID(sp.PourID), s)
	s.Specimens[i] = sp
	return s.settleTests(c)
}

// CorrectBreak puts right what was entered of a break, for a reason; the journal
// keeps what stood there.
type CorrectBreak struct {
	RecordBreak
	Reason string `json:"reason"`
}

// Kind implements Change.
func (CorrectBreak) Kind() string { return "specimen.correct" }

// Want implements Wanting.
func (ch CorrectBreak) Want() Want { return Want{Marks: []string{ch.Mark}, Tests: true} }

// Apply implements Change.
func (ch CorrectBreak) Apply(s *Scope, c Context) error {
	i, err := s.specimenMarked(ch.Mark)
	if err != nil {
		return err
	}
	sp := s.Specimens[i]
	if sp.BrokenAt == nil {
		return fault.New(fault.Refused, "specimen %s is not broken yet: there is nothing to correct", sp.Mark)
	}
	if err := reasoned(ch.Reason, "say why the entry is corrected"); err != nil {
		return err
	}
	tested := sp.TestedBy
	if ch.TestedBy == "" {
		ch.TestedBy = tested
	}
	if sp, err = ch.broken(sp, s.Basis(), c); err != nil {
		return err
	}
	sp.Corrected = ch.Reason + " (" + signed(c.Actor) + ")"
	s.Specimens[i] = sp
	return s.settleTests(c)
}
