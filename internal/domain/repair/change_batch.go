package repair

import (
	"fmt"
	"slices"
	"time"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/uhpc"
)

// AddBatch adds a mix to an open casting, with the specimens made of it.
type AddBatch struct {
	Pour      int           `json:"pour"`
	Batch     BatchIn       `json:"batch"`
	Specimens []SpecimenSet `json:"specimens"` // their batch is this one
}

// Kind implements Change.
func (AddBatch) Kind() string { return "batch.add" }

// Want implements Wanting.
func (ch AddBatch) Want() Want { return Want{Pours: []int{ch.Pour}} }

// Apply implements Change.
func (ch AddBatch) Apply(s *Scope, c Context) error {
	i, err := s.pour(ch.Pour)
	if err != nil {
		return err
	}
	p := s.Pours[i]
	if !p.Open {
		return fault.New(fault.Refused, "pour %d is not open: it takes no more batches", p.Number)
	}
	number := 1
	for _, b := range s.Batches {
		if b.PourID == p.ID {
			number = max(number, b.Number+1)
		}
	}
	var bad fault.Invalid
	ch.Batch.validate(&bad, "", number, pourTimes{p.StartedAt, nil, c.Now}, s.Basis())
	ch.Batch.validateEnds(&bad, "", s.endsOfPour(p.ID))
	sets := slices.Clone(ch.Specimens)
	for i := range sets {
		sets[i].Batch = number
		sets[i].validate(&bad, fmt.Sprintf("specimens-%d", i+1), number)
	}
	if err := bad.Err(); err != nil {
		return err
	}
	s.addBatch(p, ch.Batch, number, c)
	s.addSpecimens(p, sets, c)
	return nil
}

// batchOf finds a batch of a casting by their numbers.
func (s *Scope) batchOf(pour, number int) (Pour, int, error) {
	i, err := s.pour(pour)
	if err != nil {
		return Pour{}, 0, err
	}
	p := s.Pours[i]
	j := slices.IndexFunc(s.Batches, func(b Batch) bool { return b.PourID == p.ID && b.Number == number })
	if j < 0 {
		return p, 0, fault.New(fault.NotFound, "pour %d has no batch %d", pour, number)
	}
	return p, j, nil
}

// PlaceBatch adds when a batch was placed and where it went, to one that was entered
// when it was mixed. A time on record already is for CorrectBatch.
type PlaceBatch struct {
	Pour       int          `json:"pour"`
	Number     int          `json:"number"`
	PlaceStart *time.Time   `json:"place_start"`
	PlacedAt   time.Time    `json:"placed_at"`
	Ends       []BatchEndIn `json:"ends"`
}

// Kind implements Change.
func (PlaceBatch) Kind() string { return "batch.place" }

// Want implements Wanting.
func (ch PlaceBatch) Want() Want { return Want{Pours: []int{ch.Pour}} }

// Apply implements Change.
func (ch PlaceBatch) Apply(s *Scope, c Context) error {
	p, j, err := s.batchOf(ch.Pour, ch.Number)
	if err != nil {
		return err
	}
	was := s.Batches[j]
	switch {
	case was.Refused:
		return fault.New(fault.Refused, "batch %d was refused: %s", was.Number, was.RefusedWhy)
	case was.PlacedAt != nil:
		return fault.New(fault.Refused, "batch %d was placed at %s; another time is a correction", was.Number, was.PlacedAt.In(ch.PlacedAt.Location()).Format("15:04"))
	}
	in := BatchInOf(was, s.BatchEnds)
	in.PlacedAt = &ch.PlacedAt
	if ch.PlaceStart != nil {
		in.PlaceStart = ch.PlaceStart
	}
	if len(ch.Ends) > 0 {
		in.Ends = ch.Ends
	}
	return s.putBatch(p, j, in, c)
}

// putBatch puts an entry in place of what is on record of a batch. Specimens that
// were cast when the batch was go with it.
func (s *Scope) putBatch(p Pour, j int, in BatchIn, c Context) error {
	was := s.Batches[j]
	var bad fault.Invalid
	in.validate(&bad, "", was.Number, pourTimes{p.StartedAt, p.EndedAt, c.Now}, s.Basis())
	in.validateEnds(&bad, "", s.endsOfPour(p.ID))
	row := in.row(was.Number).settled()
	row.ID, row.PourID = was.ID, was.PourID
	row.DecidedBy, row.DecidedAt, row.DecidedWhy, row.Corrected = was.DecidedBy, was.DecidedAt, was.DecidedWhy, was.Corrected
	for _, sp := range s.Specimens {
		if sp.PourID == p.ID && sp.BatchNo == was.Number && sp.BrokenAt != nil && sp.CastAt.Equal(castOf(was)) && !sp.BrokenAt.After(castOf(row)) {
			bad.Add("placed", castOf(row).Format(time.RFC3339), "specimen %s of this batch was broken before, %s", sp.Mark, sp.BrokenAt.Format(time.RFC3339))
		}
	}
	if err := bad.Err(); err != nil {
		return err
	}
	for i, sp := range s.Specimens {
		if sp.PourID == p.ID && sp.BatchNo == was.Number && sp.CastAt.Equal(castOf(was)) {
			sp.CastAt = castOf(row)
			if sp.BrokenAt != nil {
				sp.Held = held(sp, p, s)
			}
			s.Specimens[i] = sp
		}
	}
	s.Batches[j] = row
	s.sendBatch(row.ID, in.Ends)
	return nil
}

// CorrectBatch puts right what was entered of a batch, for a reason; the journal
// keeps what stood there. A decision that let it stand was made on other values and
// falls. Ends that it went to are added to or given another volume, never taken away.
type CorrectBatch struct {
	Pour   int     `json:"pour"`
	Number int     `json:"number"`
	Batch  BatchIn `json:"batch"`
	Reason string  `json:"reason"`
}

// Kind implements Change.
func (CorrectBatch) Kind() string { return "batch.correct" }

// Want implements Wanting.
func (ch CorrectBatch) Want() Want { return Want{Pours: []int{ch.Pour}, Tests: true} }

// Apply implements Change.
func (ch CorrectBatch) Apply(s *Scope, c Context) error {
	p, j, err := s.batchOf(ch.Pour, ch.Number)
	if err != nil {
		return err
	}
	if err := reasoned(ch.Reason, "say why the entry is corrected"); err != nil {
		return err
	}
	was := s.Batches[j]
	if err := s.putBatch(p, j, ch.Batch, c); err != nil {
		return err
	}
	row := s.Batches[j]
	if !same(row, was) {
		row.DecidedBy, row.DecidedAt, row.DecidedWhy = "", nil, ""
	}
	row.Corrected = ch.Reason + " (" + signed(c.Actor) + ")"
	s.Batches[j] = row
	return s.settleTests(c)
}

// same tells whether two rows of a batch say the same of it, whoever decided.
func same(a, b Batch) bool {
	a.DecidedBy, a.DecidedAt, a.DecidedWhy, a.Corrected = "", nil, "", ""
	b.DecidedBy, b.DecidedAt, b.DecidedWhy, b.Corrected = "", nil, "", ""
	return digestOf(a) == digestOf(b)
}

// RefuseBatch says that a mix is not placed. It stays on record; specimens made of
// it count for nothing.
type RefuseBatch struct {
	Pour   int    `json:"pour"`
	Number int    `json:"number"`
	Why    string `json:"why"`
}

// Kind implements Change.
func (RefuseBatch) Kind() string { return "batch.refuse" }

// Want implements Wanting.
func (ch RefuseBatch) Want() Want { return Want{Pours: []int{ch.Pour}} }

// Apply implements Change.
func (ch RefuseBatch) Apply(s *Scope, c Context) error {
	_, j, err := s.batchOf(ch.Pour, ch.Number)
	if err != nil {
		return err
	}
	b := s.Batches[j]
	switch {
	case b.Refused:
		return fault.New(fault.Refused, "batch %d is refused already", b.Number)
	case b.PlacedAt != nil:
		return fault.New(fault.Refused, "batch %d is in the form: raise a nonconformance, or correct the entry", b.Number)
	}
	var bad fault.Invalid
	need(&bad, "why", ch.Why, "say why the batch is refused")
	tooLong(&bad, "why", ch.Why, 4000)
	if err := bad.Err(); err != nil {
		return err
	}
	b.Refused, b.RefusedWhy = true, ch.Why
	s.Batches[j] = b
	return nil
}

// DecideBatch lets a batch that was placed outside a stop limit stand, with the
// reasons of the person who decides.
type DecideBatch struct {
	Pour   int    `json:"pour"`
	Number int    `json:"number"`
	Why    string `json:"why"`
}

// Kind implements Change.
func (DecideBatch) Kind() string { return "batch.decide" }

// Want implements Wanting.
func (ch DecideBatch) Want() Want { return Want{Pours: []int{ch.Pour}} }

// Apply implements Change.
func (ch DecideBatch) Apply(s *Scope, c Context) error {
	p, j, err := s.batchOf(ch.Pour, ch.Number)
	if err != nil {
		return err
	}
	b := s.Batches[j]
	switch {
	case b.Refused:
		return fault.New(fault.Refused, "batch %d was refused: there is nothing to let stand", b.Number)
	case b.DecidedAt != nil:
		return fault.New(fault.Refused, "batch %d was decided by %s", b.Number, b.DecidedBy)
	case !uhpc.Stopped(b.batch(p).Check(s.Basis())):
		return fault.New(fault.Refused, "batch %d is within its limits: there is nothing to decide", b.Number)
	}
	var bad fault.Invalid
	need(&bad, "why", ch.Why, "say why the batch may stay in the form")
	tooLong(&bad, "why", ch.Why, 4000)
	if err := bad.Err(); err != nil {
		return err
	}
	at := c.Now
	b.DecidedBy, b.DecidedAt, b.DecidedWhy = signed(c.Actor), &at, ch.Why
	s.Batches[j] = b
	return nil
}

// signed is who acts, as a row keeps it: the name and the role.
func signed(a Actor) string { return a.Name + ", " + sequence.RoleWords(a.Role) }

// reasoned refuses a missing or endless reason.
func reasoned(reason, ask string) error {
	var bad fault.Invalid
	need(&bad, "reason", reason, ask)
	tooLong(&bad, "reason", reason, 4000)
	return bad.Err()
}
