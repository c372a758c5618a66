package repair

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// BatchIn is one mix as it comes in.
type BatchIn struct {
	MixedAt    time.Time          `json:"mixed_at"`
	PlacedAt   *time.Time         `json:"placed_at"`
	Flow       *units.Length      `json:"flow"`
	MixTemp    *units.Temperature `json:"mix_temp"`
	AirTemp    *units.Temperature `json:"air_temp"`
	Refused    bool               `json:"refused"`
	RefusedWhy string             `json:"refused_why"`
	Typed      Typed              `json:"typed"`
}

// SpecimenSet asks for Count specimens of one kind, curing and age from a batch.
type SpecimenSet struct {
	Batch       int     `json:"batch"` // number within the pour, from 1
	Kind        string  `json:"kind"`
	Curing      string  `json:"curing"`
	Duty        string  `json:"duty"` // empty: quality control
	NominalDays float64 `json:"nominal_days"`
	Count       int     `json:"count"`
}

// RecordPour is one casting with its batches and the specimens made of it. It
// concerns every end of the scope. Times may come in any zone: refusals name them
// in that of the entry, and they are stored in UTC.
type RecordPour struct {
	StartedAt time.Time          `json:"started_at"`
	EndedAt   *time.Time         `json:"ended_at"`
	Note      string             `json:"note"`
	Batches   []BatchIn          `json:"batches"`
	Specimens []SpecimenSet      `json:"specimens"`
	VolumeL   map[string]float64 `json:"volume_l"` // by end ID
}

// Kind implements Change.
func (RecordPour) Kind() string { return "pour.record" }

// Apply implements Change. A pour at an end whose release step is not done is
// recorded all the same: it happened. The end's page then shows it.
func (ch RecordPour) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	if len(s.Ends) == 0 {
		bad.Add("ends", "", "name the ends that were cast")
	}
	notAfter(&bad, "started_at", ch.StartedAt, c.Now)
	if ch.EndedAt != nil && ch.EndedAt.Before(ch.StartedAt) {
		bad.Add("ended_at", ch.EndedAt.Format(time.RFC3339), "lies before the start, %s", ch.StartedAt.Format(time.RFC3339))
	}
	if ch.EndedAt != nil {
		notAfter(&bad, "ended_at", *ch.EndedAt, c.Now)
	}
	if len(ch.Batches) == 0 {
		bad.Add("batches", "", "a pour needs at least one batch")
	}
	placed := 0
	for i, b := range ch.Batches {
		if !b.Refused {
			placed++
		}
		b.validate(&bad, i+1, ch, c.Now, s.Basis())
	}
	if len(ch.Batches) > 0 && placed == 0 {
		bad.Add("batches", "", "every batch was refused, so nothing was cast")
	}
	for i, set := range ch.Specimens {
		set.validate(&bad, fmt.Sprintf("specimens-%d", i+1), len(ch.Batches))
	}
	for _, r := range s.Ends {
		if v, ok := ch.VolumeL[r.End.ID]; ok && !(v > 0 && v < 20000) {
			bad.Add("volume-"+r.End.Name, fmt.Sprint(v), "volume at %s must lie from 0 to 20,000 liters", r.End.Name)
		}
	}
	if err := bad.Err(); err != nil {
		return err
	}
	p := Pour{ID: c.NewID(), ProgramID: s.Program.ID, Number: s.NextPour, StartedAt: stored(ch.StartedAt), EndedAt: utc(ch.EndedAt), Note: ch.Note,
		ByUser: c.Actor.ID, CapturedAt: c.Captured, ArrivedAt: c.Now}
	s.NextPour++
	s.Pours = append(s.Pours, p)
	for _, r := range s.Ends {
		pe := PourEnd{ID: c.NewID(), PourID: p.ID, EndID: r.End.ID}
		if v, ok := ch.VolumeL[r.End.ID]; ok {
			pe.VolumeL = &v
		}
		s.PourEnds = append(s.PourEnds, pe)
	}
	for i, b := range ch.Batches {
		row := b.row(i + 1)
		row.ID, row.PourID, row.MixedAt, row.PlacedAt = c.NewID(), p.ID, stored(row.MixedAt), utc(row.PlacedAt)
		if row.Typed == nil {
			row.Typed = Typed{}
		}
		s.Batches = append(s.Batches, row)
	}
	n := 0
	for _, set := range ch.Specimens {
		cast := ch.Batches[set.Batch-1].MixedAt
		if at := ch.Batches[set.Batch-1].PlacedAt; at != nil {
			cast = *at
		}
		for range set.Count {
			n++
			s.Specimens = append(s.Specimens, Specimen{ID: c.NewID(), ProgramID: s.Program.ID, PourID: p.ID, BatchNo: set.Batch,
				Mark: fmt.Sprintf("P%03d-%02d", p.Number, n), Kind: set.Kind, Curing: set.Curing, Duty: set.duty(), NominalDays: set.NominalDays, CastAt: stored(cast), Typed: Typed{}})
		}
	}
	return nil
}

// row is the batch as it is stored, but for its identifiers.
func (b BatchIn) row(number int) Batch {
	return Batch{Number: number, MixedAt: b.MixedAt, PlacedAt: b.PlacedAt, Flow: b.Flow, MixTemp: b.MixTemp, AirTemp: b.AirTemp,
		Refused: b.Refused, RefusedWhy: b.RefusedWhy, Typed: b.Typed}
}

// batchFields are the fields of an entry for those of package uhpc.
var batchFields = map[string]string{"flow_1": "flow", "mix_temperature": "mix_temp", "air_temperature": "air_temp", "mix_end": "mixed", "placed": "placed"}

// validate refuses what cannot be true of a batch. The fields are batch-1-flow,
// batch-1-placed and so on, by its number within the pour.
func (b BatchIn) validate(bad *fault.Invalid, number int, ch RecordPour, now time.Time, bs basis.Basis) {
	f := fmt.Sprintf("batch-%d-", number)
	notAfter(bad, f+"mixed", b.MixedAt, now)
	if b.MixedAt.Before(ch.StartedAt.Add(-6 * time.Hour)) {
		bad.Add(f+"mixed", b.MixedAt.Format(time.RFC3339), "was mixed more than 6 hours before the pour began")
	}
	if b.PlacedAt != nil {
		notAfter(bad, f+"placed", *b.PlacedAt, now)
		if ch.EndedAt != nil && b.PlacedAt.After(*ch.EndedAt) {
			bad.Add(f+"placed", b.PlacedAt.Format(time.RFC3339), "was placed after the pour ended, %s", ch.EndedAt.Format(time.RFC3339))
		}
	}
	var impossible *fault.Invalid
	if errors.As(b.row(number).batch(Pour{}).Validate(bs), &impossible) {
		for _, x := range impossible.Fields {
			if name, ok := batchFields[x.Field]; ok {
				bad.Add(f+name, x.Typed, "%s", x.Reason)
			}
		}
	}
	if b.Refused && strings.TrimSpace(b.RefusedWhy) == "" {
		bad.Add(f+"why", "", "say why the batch was refused")
	}
}

// validate refuses a set that cannot be made. The fields are specimens-1-kind and
// so on.
func (set SpecimenSet) validate(bad *fault.Invalid, f string, batches int) {
	if set.Batch < 1 || set.Batch > batches {
		bad.Add(f+"-batch", fmt.Sprint(set.Batch), "batch must be from 1 to %d, got %d", batches, set.Batch)
	}
	switch info, ok := uhpc.Kind(set.Kind).Info(); {
	case !ok:
		bad.Add(f+"-kind", set.Kind, "no such kind of specimen")
	case info.Refused != "":
		bad.Add(f+"-kind", set.Kind, "%s is %s", info.Name, info.Refused)
	}
	if !uhpc.Duty(set.duty()).Known() {
		bad.Add(f+"-duty", set.Duty, "no such duty of a laboratory")
	}
	if set.Curing != "standard" && set.Curing != "field" {
		bad.Add(f+"-curing", set.Curing, "curing must be standard or field")
	}
	if !(set.NominalDays > 0 && set.NominalDays <= 365) {
		bad.Add(f+"-days", fmt.Sprint(set.NominalDays), "age must lie from 0 to 365 days, got %g", set.NominalDays)
	}
	if set.Count < 1 || set.Count > 100 {
		bad.Add(f+"-count", fmt.Sprint(set.Count), "count must be from 1 to 100, got %d", set.Count)
	}
}

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

// Apply implements Change.
func (ch RecordBreak) Apply(s *Scope, c Context) error {
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
		return err
	}
	row := sp.specimen(Pour{})
	row.Broken, row.Cast = ch.BrokenAt, row.Cast.In(ch.BrokenAt.Location()) // as the entry tells time, should they be refused
	if err := row.Validate(s.Basis()); err != nil {
		var v *fault.Invalid
		if errors.As(err, &v) {
			for i := range v.Fields {
				if v.Fields[i].Field == "broken" {
					v.Fields[i].Field = "broken_at"
				}
			}
		}
		return err
	}
	br := row.Break(nil, s.Basis())
	sp.Raw, sp.Strength, sp.Held = &br.Raw, &br.Converted, strings.Join(br.Why, "; ")
	s.Specimens[i] = sp
	return nil
}

// poursOf lists the pours that reached an end, oldest first.
func (s *Scope) poursOf(endID string) []Pour {
	var out []Pour
	for _, pe := range s.PourEnds {
		if pe.EndID != endID {
			continue
		}
		for _, p := range s.Pours {
			if p.ID == pe.PourID {
				out = append(out, p)
			}
		}
	}
	slices.SortFunc(out, func(a, b Pour) int { return a.StartedAt.Compare(b.StartedAt) })
	return out
}

// stored is a moment as a row keeps it: in UTC, to the microsecond.
func stored(t time.Time) time.Time { return t.UTC().Truncate(time.Microsecond) }

// utc is stored for a moment that may be missing.
func utc(t *time.Time) *time.Time {
	if t == nil {
		return nil
	}
	u := stored(*t)
	return &u
}
