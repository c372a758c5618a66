package repair

import (
	"strings"
	"time"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// RecordCleaning is the grade reached in one zone of an end.
type RecordCleaning struct {
	Zone         string             `json:"zone"`
	Grade        string             `json:"grade"`
	Method       string             `json:"method"`
	StartedAt    time.Time          `json:"started_at"`
	EndedAt      time.Time          `json:"ended_at"`
	SolventFirst bool               `json:"solvent_first"`
	Rust         string             `json:"rust"`
	Profile      units.Length       `json:"profile"`
	SteelTemp    *units.Temperature `json:"steel_temp"`
	AirTemp      *units.Temperature `json:"air_temp"`
	DewPoint     *units.Temperature `json:"dew_point"`
	Humidity     *float64           `json:"humidity"`
	Note         string             `json:"note"`
}

// Kind implements Change.
func (RecordCleaning) Kind() string { return "cleaning.record" }

// Apply implements Change.
func (ch RecordCleaning) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	row := Cleaning{ID: c.NewID(), EndID: r.End.ID, Zone: ch.Zone, Grade: ch.Grade, Method: ch.Method, StartedAt: ch.StartedAt, EndedAt: ch.EndedAt,
		SolventFirst: ch.SolventFirst, Rust: ch.Rust, Profile: ch.Profile, DewPoint: ch.DewPoint, SteelTemp: ch.SteelTemp, AirTemp: ch.AirTemp, Humidity: ch.Humidity, Note: ch.Note,
		ByUser: c.Actor.ID, CapturedAt: c.Captured, ArrivedAt: c.Now}
	var bad fault.Invalid
	notAfter(&bad, "to", ch.EndedAt, c.Now)
	if err := bad.Err(); err != nil {
		return err
	}
	if err := row.cleaning().Validate(); err != nil {
		return err
	}
	r.Cleanings = append(r.Cleanings, row)
	return nil
}

// LatestCollars is the finding that counts for each mark of a design: the one
// captured last, and of those the one that arrived last.
func (r *Record) LatestCollars(designID string) map[string]Collar {
	out := map[string]Collar{}
	for _, col := range r.Collars {
		if col.DesignID != designID {
			continue
		}
		was, ok := out[col.Mark]
		same := ok && col.CapturedAt.Equal(was.CapturedAt)
		if !ok || col.CapturedAt.After(was.CapturedAt) || (same && (col.ArrivedAt.After(was.ArrivedAt) || (col.ArrivedAt.Equal(was.ArrivedAt) && col.ID > was.ID))) {
			out[col.Mark] = col
		}
	}
	return out
}

// RecordInspection is a finding that a person signs for.
type RecordInspection struct {
	Subject string `json:"subject"`
	Outcome string `json:"outcome"`
	Note    string `json:"note"`
}

// Kind implements Change.
func (RecordInspection) Kind() string { return "inspection.record" }

// Apply implements Change.
func (ch RecordInspection) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	var bad fault.Invalid
	notAfter(&bad, "captured_at", c.Captured, c.Now)
	allowed := map[string][]string{
		"curing": {"accepted", "not_accepted"}, "hardened": {"accepted", "not_accepted"},
		"gauges": {"accepted", "not_accepted"}, "load_path": {"engaged", "not_engaged", "undecided"},
	}
	ok := false
	for _, o := range allowed[ch.Subject] {
		ok = ok || o == ch.Outcome
	}
	if allowed[ch.Subject] == nil {
		bad.Add("subject", ch.Subject, "nothing of that name is inspected")
	} else if !ok {
		bad.Add("outcome", ch.Outcome, "must be one of: %s", strings.Join(allowed[ch.Subject], ", "))
	}
	if strings.TrimSpace(ch.Note) == "" {
		bad.Add("note", ch.Note, "say what was looked at and on what the finding rests")
	}
	if (ch.Subject == "hardened" || ch.Subject == "curing") && len(s.poursOf(r.End.ID)) == 0 {
		return fault.New(fault.Refused, "this end has not been cast")
	}
	if err := bad.Err(); err != nil {
		return err
	}
	r.Inspections = append(r.Inspections, Inspection{ID: c.NewID(), EndID: r.End.ID, Subject: ch.Subject, Outcome: ch.Outcome, Note: ch.Note,
		ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), CapturedAt: c.Captured, ArrivedAt: c.Now})
	return nil
}

// LatestInspection is the last finding on a subject, nil when there is none.
func (r *Record) LatestInspection(subject string) *Inspection {
	var out *Inspection
	for i := range r.Inspections {
		x := &r.Inspections[i]
		if x.Subject == subject && (out == nil || !x.CapturedAt.Before(out.CapturedAt)) {
			out = x
		}
	}
	return out
}
