package repair

import (
	"time"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/quality"
	"endcast/internal/domain/units"
)

// ZoneIn is the grade reached in one zone by one cleaning.
type ZoneIn struct {
	Zone    string       `json:"zone"`
	Grade   string       `json:"grade"`
	Rust    string       `json:"rust"`
	Profile units.Length `json:"profile"` // zero if not measured
	Note    string       `json:"note"`
}

// RecordCleanings is one cleaning of an end with the grade that it reached in
// each zone it touched. One entry makes a row for every zone, since each zone is
// asked for its own grade and is cleaned again on its own.
type RecordCleanings struct {
	Method       string             `json:"method"`
	StartedAt    time.Time          `json:"started_at"`
	EndedAt      time.Time          `json:"ended_at"`
	SolventFirst bool               `json:"solvent_first"`
	SteelTemp    *units.Temperature `json:"steel_temp"`
	AirTemp      *units.Temperature `json:"air_temp"`
	DewPoint     *units.Temperature `json:"dew_point"`
	Humidity     *float64           `json:"humidity"`
	Note         string             `json:"note"`
	Zones        []ZoneIn           `json:"zones"`
}

// Kind implements Change.
func (RecordCleanings) Kind() string { return "cleaning.record_zones" }

// Apply implements Change. It takes all zones or none.
func (ch RecordCleanings) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	var bad fault.Invalid
	notAfter(&bad, "captured_at", c.Captured, c.Now)
	notAfter(&bad, "to", ch.EndedAt, c.Now)
	if err := bad.Err(); err != nil {
		return err
	}
	if err := ch.cleaning().Validate(); err != nil {
		return err
	}
	for _, z := range ch.Zones {
		note := ch.Note
		if z.Note != "" && note != "" {
			note += "; "
		}
		r.Cleanings = append(r.Cleanings, Cleaning{ID: c.NewID(), EndID: r.End.ID, Zone: z.Zone, Grade: z.Grade, Method: ch.Method,
			StartedAt: ch.StartedAt, EndedAt: ch.EndedAt, SolventFirst: ch.SolventFirst, Rust: z.Rust, Profile: z.Profile, SteelTemp: ch.SteelTemp,
			AirTemp: ch.AirTemp, DewPoint: ch.DewPoint, Humidity: ch.Humidity, Note: note + z.Note, ByUser: c.Actor.ID, CapturedAt: c.Captured, ArrivedAt: c.Now})
	}
	return nil
}

// Assess compares this cleaning alone with what the design basis asks, for a
// preview before it is recorded.
func (ch RecordCleanings) Assess(s *Scope) quality.Assessment { return ch.cleaning().Assess(s.Basis()) }

func (ch RecordCleanings) cleaning() quality.Cleaning {
	out := quality.Cleaning{From: ch.StartedAt, To: ch.EndedAt, Method: quality.Method(ch.Method), SolventFirst: ch.SolventFirst,
		Air: ch.AirTemp, Steel: ch.SteelTemp, DewPoint: ch.DewPoint, Humidity: ch.Humidity, Note: ch.Note}
	for _, z := range ch.Zones {
		out.Zones = append(out.Zones, quality.ZoneGrade{Zone: quality.Zone(z.Zone), Grade: quality.Grade(z.Grade), Rust: quality.Rust(z.Rust), Profile: z.Profile, Note: z.Note})
	}
	return out
}
