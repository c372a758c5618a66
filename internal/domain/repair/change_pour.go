package repair

import (
	"fmt"
	"slices"
	"time"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// SpecimenSet asks for Count specimens of one kind, curing and age from a batch.
type SpecimenSet struct {
	Batch       int     `json:"batch"` // number within the pour, from 1
	Kind        string  `json:"kind"`
	Curing      string  `json:"curing"`
	Duty        string  `json:"duty"` // empty: quality control
	NominalDays float64 `json:"nominal_days"`
	Count       int     `json:"count"`
	Purpose     string  `json:"purpose,omitempty"`
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

	Weather     string        `json:"weather,omitempty"`
	WindowID    string        `json:"window_id,omitempty"`
	FormHead    *units.Length `json:"form_head,omitempty"`
	LastBatchBy *time.Time    `json:"last_batch_by,omitempty"`
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
		b.validate(&bad, fmt.Sprintf("batch-%d-", i+1), i+1, pourTimes{ch.StartedAt, ch.EndedAt, c.Now}, s.Basis())
		b.validateEnds(&bad, fmt.Sprintf("batch-%d-", i+1), s.endIDs())
	}
	if len(ch.Batches) > 0 && placed == 0 {
		bad.Add("batches", "", "every batch was refused, so nothing was cast")
	}
	for i, set := range ch.Specimens {
		set.validate(&bad, fmt.Sprintf("specimens-%d", i+1), len(ch.Batches))
	}
	s.validateVolumes(&bad, ch.VolumeL)
	ch.head().validate(&bad, s)
	if err := bad.Err(); err != nil {
		return err
	}
	p := s.begin(ch.head(), c)
	p.EndedAt = utc(ch.EndedAt)
	s.Pours = append(s.Pours, p)
	s.fill(p, ch.VolumeL, c)
	for i, b := range ch.Batches {
		s.addBatch(p, b, i+1, c)
	}
	s.addSpecimens(p, ch.Specimens, c)
	return nil
}

// head is what the pour is but for its batches.
func (ch RecordPour) head() OpenPour {
	return OpenPour{StartedAt: ch.StartedAt, Note: ch.Note, Weather: ch.Weather, WindowID: ch.WindowID, FormHead: ch.FormHead, LastBatchBy: ch.LastBatchBy}
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
	if !uhpc.Cure(set.Curing).Known() {
		bad.Add(f+"-curing", set.Curing, "curing must be standard, field or match")
	}
	if set.Purpose != "" && !uhpc.Purpose(set.Purpose).Known() {
		bad.Add(f+"-purpose", set.Purpose, "no such purpose of a set")
	}
	if !(set.NominalDays > 0 && set.NominalDays <= 365) {
		bad.Add(f+"-days", fmt.Sprint(set.NominalDays), "age must lie from 0 to 365 days, got %g", set.NominalDays)
	}
	if set.Count < 1 || set.Count > 100 {
		bad.Add(f+"-count", fmt.Sprint(set.Count), "count must be from 1 to 100, got %d", set.Count)
	}
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
