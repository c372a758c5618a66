package repair

import (
	"fmt"
	"slices"
	"time"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// OpenPour begins a casting whose batches come in one after another. It concerns
// every end of the scope, or a mock-up and no end.
type OpenPour struct {
	StartedAt   time.Time     `json:"started_at"`
	Note        string        `json:"note"`
	Weather     string        `json:"weather"`
	WindowID    string        `json:"window_id"`
	FormHead    *units.Length `json:"form_head"`
	LastBatchBy *time.Time    `json:"last_batch_by"`
	Mockup      int           `json:"mockup"` // number of the mock-up; zero for ends
}

// Kind implements Change.
func (OpenPour) Kind() string { return "pour.open" }

// Apply implements Change. As with RecordPour, a casting without a release is
// recorded all the same.
func (ch OpenPour) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	notAfter(&bad, "started_at", ch.StartedAt, c.Now)
	switch {
	case ch.Mockup > 0 && len(s.Ends) > 0:
		bad.Add("ends", "", "a casting of a mock-up serves no end")
	case ch.Mockup == 0 && len(s.Ends) == 0:
		bad.Add("ends", "", "name the ends that are cast")
	}
	for _, r := range s.Ends {
		for _, p := range s.poursOf(r.End.ID) {
			if p.Open {
				bad.Add("ends", r.End.Name, "pour %d at %s is still open: finish it first", p.Number, r.End.Name)
			}
		}
	}
	ch.validate(&bad, s)
	if err := bad.Err(); err != nil {
		return err
	}
	p := s.begin(ch, c)
	p.Open = true
	if ch.Mockup > 0 {
		m, err := s.mockup(ch.Mockup)
		if err != nil {
			return err
		}
		if m.State == MockupWithdrawn {
			return fault.New(fault.Refused, "mock-up %d was withdrawn", m.Number)
		}
		id := m.ID
		p.MockupID = &id
	}
	s.Pours = append(s.Pours, p)
	s.fill(p, nil, c)
	return nil
}

// validate refuses what cannot be true of a casting as a whole.
func (ch OpenPour) validate(bad *fault.Invalid, s *Scope) {
	if ch.WindowID != "" && !slices.ContainsFunc(s.Windows, func(w Window) bool { return w.ID == ch.WindowID }) {
		bad.Add("window_id", ch.WindowID, "the program has no such window")
	}
	if h := ch.FormHead; h != nil && !(*h >= 0 && *h <= 20000) {
		bad.Add("form_head", fmt.Sprint(float64(*h)), "head must lie from 0 to %s, got %s", units.Length(20000).Format(units.System(s.Program.Units), -1),
			h.Format(units.System(s.Program.Units), -1))
	}
	if t := ch.LastBatchBy; t != nil && t.Before(ch.StartedAt) {
		bad.Add("last_batch_by", t.Format(time.RFC3339), "lies before the start, %s", ch.StartedAt.Format(time.RFC3339))
	}
	tooLong(bad, "note", ch.Note, 4000)
	tooLong(bad, "weather", ch.Weather, 400)
}

// begin is the row of a new casting, with the next number.
func (s *Scope) begin(ch OpenPour, c Context) Pour {
	p := Pour{ID: c.NewID(), ProgramID: s.Program.ID, Number: s.NextPour, StartedAt: stored(ch.StartedAt), Note: ch.Note, Weather: ch.Weather,
		FormHead: ch.FormHead, LastBatchBy: utc(ch.LastBatchBy), ByUser: c.Actor.ID, CapturedAt: c.Captured, ArrivedAt: c.Now}
	if ch.WindowID != "" {
		id := ch.WindowID
		p.WindowID = &id
	}
	s.NextPour++
	return p
}

// fill says that a casting serves every end of the scope.
func (s *Scope) fill(p Pour, volumes map[string]float64, c Context) {
	for _, r := range s.Ends {
		pe := PourEnd{ID: c.NewID(), PourID: p.ID, EndID: r.End.ID}
		if v, ok := volumes[r.End.ID]; ok {
			pe.VolumeL = &v
		}
		s.PourEnds = append(s.PourEnds, pe)
	}
}

func (s *Scope) validateVolumes(bad *fault.Invalid, volumes map[string]float64) {
	for _, r := range s.Ends {
		if v, ok := volumes[r.End.ID]; ok && !(v > 0 && v < 20000) {
			bad.Add("volume-"+r.End.Name, fmt.Sprint(v), "volume at %s must lie from 0 to 20,000 liters", r.End.Name)
		}
	}
}

func (s *Scope) endIDs() []string {
	out := make([]string, len(s.Ends))
	for i, r := range s.Ends {
		out[i] = r.End.ID
	}
	return out
}

// endsOfPour are the identifiers of the ends that a casting serves.
func (s *Scope) endsOfPour(pourID string) []string {
	var out []string
	for _, pe := range s.PourEnds {
		if pe.PourID == pourID {
			out = append(out, pe.EndID)
		}
	}
	return out
}

// pour finds a casting by its number. Every end that it serves must be in the scope,
// since what changes of it changes what they are worth.
func (s *Scope) pour(number int) (int, error) {
	i := slices.IndexFunc(s.Pours, func(p Pour) bool { return p.Number == number })
	if i < 0 {
		return 0, fault.New(fault.NotFound, "there is no pour %d in this program", number)
	}
	mine := s.endIDs()
	for _, id := range s.endsOfPour(s.Pours[i].ID) {
		if !slices.Contains(mine, id) {
			return 0, fault.New(fault.Malformed, "an entry on pour %d concerns every end that it serves; one is missing", number)
		}
	}
	return i, nil
}

// FinishPour ends an open casting.
type FinishPour struct {
	Pour    int                `json:"pour"`
	EndedAt time.Time          `json:"ended_at"`
	Note    string             `json:"note"` // added to what the opening says
	VolumeL map[string]float64 `json:"volume_l"`
}

// Kind implements Change.
func (FinishPour) Kind() string { return "pour.finish" }

// Want implements Wanting.
func (ch FinishPour) Want() Want { return Want{Pours: []int{ch.Pour}} }

// Apply implements Change. Every batch that was not refused must have been placed by
// then.
func (ch FinishPour) Apply(s *Scope, c Context) error {
	i, err := s.pour(ch.Pour)
	if err != nil {
		return err
	}
	p := s.Pours[i]
	if !p.Open {
		return fault.New(fault.Refused, "pour %d is not open", p.Number)
	}
	var bad fault.Invalid
	notAfter(&bad, "ended_at", ch.EndedAt, c.Now)
	if ch.EndedAt.Before(p.StartedAt) {
		bad.Add("ended_at", ch.EndedAt.Format(time.RFC3339), "lies before the start, %s", p.StartedAt.In(ch.EndedAt.Location()).Format(time.RFC3339))
	}
	placed := 0
	for _, b := range s.Batches {
		switch {
		case b.PourID != p.ID || b.Refused:
		case b.PlacedAt == nil:
			bad.Add("batches", fmt.Sprint(b.Number), "batch %d has no time at which it was placed: enter it, or refuse the batch", b.Number)
		default:
			placed++
			if b.PlacedAt.After(ch.EndedAt) {
				bad.Add("ended_at", ch.EndedAt.Format(time.RFC3339), "batch %d was placed later, %s", b.Number, b.PlacedAt.In(ch.EndedAt.Location()).Format(time.RFC3339))
			}
		}
	}
	if placed == 0 && len(bad.Fields) == 0 {
		bad.Add("batches", "", "no batch was placed, so nothing was cast")
	}
	s.validateVolumes(&bad, ch.VolumeL)
	tooLong(&bad, "note", ch.Note, 4000)
	if err := bad.Err(); err != nil {
		return err
	}
	end := stored(ch.EndedAt)
	p.EndedAt, p.Open = &end, false
	p.Note = joined(p.Note, ch.Note)
	s.Pours[i] = p
	for j, pe := range s.PourEnds {
		if v, ok := ch.VolumeL[pe.EndID]; ok && pe.PourID == p.ID {
			pe.VolumeL = &v
			s.PourEnds[j] = pe
		}
	}
	return nil
}

// joined puts two notes together, a line each.
func joined(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + "\n" + b
}
