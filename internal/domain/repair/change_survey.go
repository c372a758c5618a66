package repair

import (
	"slices"
	"time"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// ReadingIn is one reading as it comes in, with what was typed.
type ReadingIn struct {
	Face     string       `json:"face"`
	X        units.Length `json:"x"`
	Z        units.Length `json:"z"`
	T        units.Length `json:"t"`
	Typed    string       `json:"typed"` // the thickness
	TypedX   string       `json:"typed_x,omitempty"`
	TypedZ   string       `json:"typed_z,omitempty"`
	NoAccess bool         `json:"no_access,omitempty"`
	Reason   string       `json:"reason,omitempty"` // why there was no access
}

func (in ReadingIn) row(c Context, r *Record, surveyID string) Reading {
	return Reading{ID: c.NewID(), EndID: r.End.ID, SurveyID: surveyID, Face: in.Face, X: in.X, Z: in.Z, T: in.T,
		Typed: in.Typed, TypedX: in.TypedX, TypedZ: in.TypedZ, NoAccess: in.NoAccess, Reason: in.Reason, CapturedAt: c.Captured}
}

// HoleIn is one hole as it comes in.
type HoleIn struct {
	X      units.Length `json:"x"`
	Z      units.Length `json:"z"`
	Width  units.Length `json:"width"`
	Height units.Length `json:"height"`
	Rim    units.Length `json:"rim"`
	Typed  Typed        `json:"typed,omitempty"`
}

func (in HoleIn) row(c Context, r *Record, surveyID string) Hole {
	return Hole{ID: c.NewID(), EndID: r.End.ID, SurveyID: surveyID, X: in.X, Z: in.Z, Width: in.Width, Height: in.Height, Rim: in.Rim, Typed: in.Typed.orNone()}
}

func (in HoleIn) is(h *Hole) bool {
	return in.X == h.X && in.Z == h.Z && in.Width == h.Width && in.Height == h.Height && in.Rim == h.Rim
}

// SurveyFacts are the findings of a visit apart from readings and holes.
type SurveyFacts struct {
	Kind           string        `json:"kind"` // as_found or cleaned
	Method         string        `json:"method"`
	Gauge          string        `json:"gauge"`
	TakenBy        string        `json:"taken_by"`
	FlangeThick    *units.Length `json:"flange_thick"`
	StiffenerThick *units.Length `json:"stiffener_thick"`
	StiffenerWidth *units.Length `json:"stiffener_width"`
	WebDeviation   units.Length  `json:"web_deviation"`
	WebDetached    units.Length  `json:"web_detached"`
	ThickerReason  string        `json:"thicker_reason"`
	Note           string        `json:"note"`
	Typed          Typed         `json:"typed"`
}

// RecordSurvey adds a new survey to an end.
type RecordSurvey struct {
	Facts    SurveyFacts `json:"facts"`
	Readings []ReadingIn `json:"readings"`
	Holes    []HoleIn    `json:"holes"`
}

// Kind implements Change.
func (RecordSurvey) Kind() string { return "survey.record" }

// Apply implements Change. It refuses a survey without readings, and every
// reading or hole that cannot be, naming the field.
func (ch RecordSurvey) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	var bad fault.Invalid
	if ch.Facts.Kind != "as_found" && ch.Facts.Kind != "cleaned" {
		bad.Add("kind", ch.Facts.Kind, "must be as found or cleaned")
	}
	if len(ch.Readings) == 0 {
		bad.Add("readings", "", "a survey needs at least one reading")
	}
	notAfter(&bad, "captured_at", c.Captured, c.Now)
	if err := bad.Err(); err != nil {
		return err
	}
	if err := r.ValidateSurvey(s, ch.Facts, ch.Readings, ch.Holes); err != nil {
		return err
	}
	number := 1
	if last := r.LatestSurvey(); last != nil {
		number = last.Number + 1
		if ch.Facts.Kind == "as_found" && last.Kind == "cleaned" {
			return fault.New(fault.Refused, "survey %d was taken on cleaned steel; a later survey cannot be as found", last.Number)
		}
	}
	sv := Survey{ID: c.NewID(), EndID: r.End.ID, Number: number, CapturedAt: c.Captured, ArrivedAt: c.Now, RecordedBy: c.Actor.ID}
	ch.Facts.into(&sv, c)
	r.Surveys = append(r.Surveys, sv)
	for _, in := range ch.Readings {
		r.Readings = append(r.Readings, in.row(c, r, sv.ID))
	}
	for _, h := range ch.Holes {
		r.Holes = append(r.Holes, h.row(c, r, sv.ID))
	}
	return nil
}

func (f SurveyFacts) into(sv *Survey, c Context) {
	sv.Kind, sv.Method, sv.Gauge = f.Kind, f.Method, f.Gauge
	sv.FlangeThick, sv.StiffenerThick, sv.StiffenerWidth = f.FlangeThick, f.StiffenerThick, f.StiffenerWidth
	sv.WebDeviation, sv.WebDetached = f.WebDeviation, f.WebDetached
	sv.ThickerReason, sv.Note, sv.TakenBy = f.ThickerReason, f.Note, f.TakenBy
	sv.Typed = f.Typed
	if sv.Typed == nil {
		sv.Typed = Typed{}
	}
	if sv.TakenBy == "" {
		sv.TakenBy = c.Actor.Name
	}
}

// EditSurvey corrects the latest survey: readings at a place already read
// supersede the old reading, which stays on record; holes not listed are
// withdrawn. A reading not listed stands, unless its place is in Withdrawn: it was
// entered by mistake, and stays on record as superseded by itself.
type EditSurvey struct {
	SurveyID  string      `json:"survey_id"`
	Facts     SurveyFacts `json:"facts"`
	Readings  []ReadingIn `json:"readings"`
	Holes     []HoleIn    `json:"holes"`
	Withdrawn []PlaceIn   `json:"withdrawn,omitempty"`
}

// PlaceIn names the place of a reading.
type PlaceIn struct {
	Face string       `json:"face"`
	X    units.Length `json:"x"`
	Z    units.Length `json:"z"`
}

// Kind implements Change.
func (EditSurvey) Kind() string { return "survey.edit" }

// Apply implements Change.
func (ch EditSurvey) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	sv := r.SurveyOf(ch.SurveyID)
	if sv == nil {
		return fault.New(fault.NotFound, "this end has no such survey")
	}
	if last := r.LatestSurvey(); last.ID != sv.ID {
		return fault.New(fault.Refused, "survey %d is not the latest; record a new survey instead", sv.Number)
	}
	if ch.Facts.Kind != sv.Kind {
		return fault.New(fault.Refused, "the kind of survey %d cannot change; record a new survey instead", sv.Number)
	}
	if err := r.ValidateSurvey(s, ch.Facts, ch.Readings, ch.Holes); err != nil {
		return err
	}
	ch.Facts.into(sv, c)
	at := map[PlaceIn]int{}
	for i, x := range r.Readings {
		if x.SurveyID == sv.ID && x.SupersededBy == nil {
			at[PlaceIn{x.Face, x.X, x.Z}] = i
		}
	}
	seen := map[PlaceIn]bool{}
	for _, in := range ch.Readings {
		p := PlaceIn{in.Face, in.X, in.Z}
		if seen[p] {
			var bad fault.Invalid
			bad.Add("readings", in.Typed, "two readings at one place")
			return bad.Err()
		}
		seen[p] = true
		i, ok := at[p]
		if ok && r.Readings[i].T == in.T && r.Readings[i].NoAccess == in.NoAccess {
			if in.Typed != "" {
				r.Readings[i].Typed = in.Typed
			}
			continue
		}
		row := in.row(c, r, sv.ID)
		if ok {
			r.Readings[i].SupersededBy = &row.ID
		}
		r.Readings = append(r.Readings, row)
	}
	for _, p := range ch.Withdrawn {
		if i, ok := at[p]; ok && !seen[p] {
			id := r.Readings[i].ID
			r.Readings[i].SupersededBy = &id
		}
	}
	for i := range r.Holes {
		h := &r.Holes[i]
		if h.SurveyID != sv.ID || h.Withdrawn {
			continue
		}
		if j := slices.IndexFunc(ch.Holes, func(in HoleIn) bool { return in.is(h) }); j >= 0 {
			ch.Holes = slices.Delete(slices.Clone(ch.Holes), j, j+1)
		} else {
			h.Withdrawn = true
		}
	}
	for _, h := range ch.Holes {
		r.Holes = append(r.Holes, h.row(c, r, sv.ID))
	}
	return nil
}

// clockSlack is how far ahead of the server a device's clock may run before an
// entry's time is refused.
const clockSlack = 15 * time.Minute

func notAfter(bad *fault.Invalid, field string, t, now time.Time) {
	if t.After(now.Add(clockSlack)) {
		bad.Add(field, t.Format(time.RFC3339), "lies in the future (the server's time is %s)", now.Format(time.RFC3339))
	}
}
