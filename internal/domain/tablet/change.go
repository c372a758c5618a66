package tablet

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// Action is what a person must be allowed to do for an entry of this kind.
func (k Kind) Action() (authz.Action, bool) {
	switch k {
	case Collar:
		return authz.RecordCollar, true
	case Survey:
		return authz.RecordSurvey, true
	case Cleaning:
		return authz.RecordCleaning, true
	case Inspection, Photo, TestStud, FormCheck, DeckCore:
		return authz.CompleteStep, true
	case Nonconformance:
		return authz.RaiseNonconformance, true
	case Pour:
		return authz.RecordPour, true
	}
	return "", false
}

// reader reads figures as they were typed and gathers what cannot be read.
type reader struct {
	sys units.System
	bad fault.Invalid
}

func optional[Q units.Quantity](r *reader, field, text string) *Q {
	if strings.TrimSpace(text) == "" {
		return nil
	}
	q, err := units.Parse[Q](text, r.sys)
	if err != nil {
		r.bad.Add(field, text, "%s", err.Error())
		return nil
	}
	return &q
}

func (r *reader) length(field, text string) units.Length {
	v := optional[units.Length](r, field, text)
	if v == nil {
		if strings.TrimSpace(text) == "" {
			r.bad.Add(field, text, "is needed")
		}
		return 0
	}
	return *v
}

func (r *reader) number(field, text string, k units.Kind) *float64 {
	if strings.TrimSpace(text) == "" {
		return nil
	}
	v, err := k.Parse(text, r.sys)
	if err != nil {
		r.bad.Add(field, text, "%s", err.Error())
		return nil
	}
	return &v
}

// collarBody is the finding at one stud.
type collarBody struct {
	Mark      string `json:"mark"`
	Outcome   string `json:"outcome"`
	GapClock  *int   `json:"gap_clock,omitempty"`
	GapLength string `json:"gap_length,omitempty"`
	Fissure   bool   `json:"fissure,omitempty"`
	Height    string `json:"height,omitempty"`
	BendDeg   string `json:"bend_deg,omitempty"`
	BendClock *int   `json:"bend_clock,omitempty"`
	Fillet    string `json:"fillet_size,omitempty"`
	FilletLen string `json:"fillet_length,omitempty"`
	Repair    string `json:"repair,omitempty"`
	Welder    string `json:"welder,omitempty"`
	Lot       string `json:"ferrule_lot,omitempty"`
	Note      string `json:"note,omitempty"`
}

func (b collarBody) in(r *reader) repair.CollarIn {
	return repair.CollarIn{Mark: b.Mark, Outcome: b.Outcome, GapClock: b.GapClock, GapLength: optional[units.Length](r, "gap_length", b.GapLength), Fissure: b.Fissure,
		Height: optional[units.Length](r, "height", b.Height), BendDeg: r.number("bend_deg", b.BendDeg, units.Angles), BendClock: b.BendClock,
		FilletSize: optional[units.Length](r, "fillet_size", b.Fillet), FilletLen: optional[units.Length](r, "fillet_length", b.FilletLen),
		Repair: b.Repair, Welder: b.Welder, FerruleLot: b.Lot, Note: b.Note}
}

type readingBody struct {
	Face     string `json:"face"`
	X        string `json:"x"`
	Z        string `json:"z"`
	T        string `json:"t,omitempty"`
	NoAccess bool   `json:"no_access,omitempty"`
	Reason   string `json:"reason,omitempty"`
}

type holeBody struct {
	X      string `json:"x"`
	Z      string `json:"z"`
	Width  string `json:"width"`
	Height string `json:"height"`
	Rim    string `json:"rim,omitempty"`
}

type surveyBody struct {
	Kind          string        `json:"kind"`
	Method        string        `json:"method"`
	Gauge         string        `json:"gauge,omitempty"`
	ThickerReason string        `json:"thicker_reason,omitempty"`
	Note          string        `json:"note,omitempty"`
	Flange        string        `json:"flange_thickness,omitempty"`
	Stiffener     string        `json:"stiffener_thickness,omitempty"`
	StiffenerWide string        `json:"stiffener_width,omitempty"`
	Deviation     string        `json:"web_deviation,omitempty"`
	Detached      string        `json:"web_detached,omitempty"`
	Readings      []readingBody `json:"readings"`
	Holes         []holeBody    `json:"holes,omitempty"`
}

// mostReadings bounds one survey.
const mostReadings = 1500

func (b surveyBody) change(r *reader) repair.RecordSurvey {
	ch := repair.RecordSurvey{Facts: repair.SurveyFacts{Kind: b.Kind, Method: b.Method, Gauge: b.Gauge, ThickerReason: b.ThickerReason, Note: b.Note,
		FlangeThick: optional[units.Length](r, "flange_thickness", b.Flange), StiffenerThick: optional[units.Length](r, "stiffener_thickness", b.Stiffener),
		StiffenerWidth: optional[units.Length](r, "stiffener_width", b.StiffenerWide),
		Typed:          typed("flange_thickness_mm", b.Flange, "stiffener_thickness_mm", b.Stiffener, "stiffener_width_mm", b.StiffenerWide, "web_deviation_mm", b.Deviation, "web_detached_mm", b.Detached)}}
	if v := optional[units.Length](r, "web_deviation", b.Deviation); v != nil {
		ch.Facts.WebDeviation = *v
	}
	if v := optional[units.Length](r, "web_detached", b.Detached); v != nil {
		ch.Facts.WebDetached = *v
	}
	if len(b.Readings) > mostReadings || len(b.Holes) > 100 {
		r.bad.Add("readings", "", "a survey has at most %d readings and 100 holes, got %d and %d", mostReadings, len(b.Readings), len(b.Holes))
		return ch
	}
	for i, x := range b.Readings {
		f := fmt.Sprintf("reading-%d-", i+1)
		in := repair.ReadingIn{Face: x.Face, X: r.length(f+"x", x.X), Z: r.length(f+"z", x.Z), Typed: x.T, TypedX: x.X, TypedZ: x.Z, NoAccess: x.NoAccess, Reason: x.Reason}
		if !x.NoAccess {
			in.T = r.length(f+"t", x.T)
		}
		ch.Readings = append(ch.Readings, in)
	}
	for i, x := range b.Holes {
		f := fmt.Sprintf("hole-%d-", i+1)
		h := repair.HoleIn{X: r.length(f+"x", x.X), Z: r.length(f+"z", x.Z), Width: r.length(f+"width", x.Width), Height: r.length(f+"height", x.Height),
			Typed: repair.Typed{"x": x.X, "z": x.Z, "width": x.Width, "height": x.Height}}
		if v := optional[units.Length](r, f+"rim", x.Rim); v != nil {
			h.Rim, h.Typed["rim"] = *v, x.Rim
		}
		ch.Holes = append(ch.Holes, h)
	}
	return ch
}

type zoneBody struct {
	Zone    string `json:"zone"`
	Grade   string `json:"grade"`
	Rust    string `json:"rust"`
	Profile string `json:"profile,omitempty"`
	Note    string `json:"note,omitempty"`
}

// cleaningBody tells times by the tablet's clock, as the entry's own.
type cleaningBody struct {
	Method   string     `json:"method"`
	From     string     `json:"from"`
	To       string     `json:"to"`
	Solvent  bool       `json:"solvent,omitempty"`
	Steel    string     `json:"steel,omitempty"`
	Air      string     `json:"air,omitempty"`
	DewPoint string     `json:"dew_point,omitempty"`
	Humidity string     `json:"humidity,omitempty"`
	Note     string     `json:"note,omitempty"`
	Zones    []zoneBody `json:"zones"`
}

func (b cleaningBody) change(r *reader, shift time.Duration) repair.RecordCleanings {
	ch := repair.RecordCleanings{Method: b.Method, StartedAt: r.moment("from", b.From, shift), EndedAt: r.moment("to", b.To, shift), SolventFirst: b.Solvent,
		SteelTemp: optional[units.Temperature](r, "steel", b.Steel), AirTemp: optional[units.Temperature](r, "air", b.Air),
		DewPoint: optional[units.Temperature](r, "dew_point", b.DewPoint), Humidity: r.number("humidity", b.Humidity, units.Numbers), Note: b.Note}
	for _, z := range b.Zones {
		in := repair.ZoneIn{Zone: z.Zone, Grade: z.Grade, Rust: z.Rust, Note: z.Note}
		if p := optional[units.Length](r, z.Zone+"_profile", z.Profile); p != nil {
			in.Profile = *p
		}
		ch.Zones = append(ch.Zones, in)
	}
	return ch
}

// moment reads a time of the tablet's clock and sets it right by the shift of the
// entry.
func (r *reader) moment(field, text string, shift time.Duration) time.Time {
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		r.bad.Add(field, text, "must be a time with its offset such as 2026-04-30T21:15:00-04:00")
		return time.Time{}
	}
	return t.Add(shift).UTC().Truncate(time.Microsecond)
}

// PhotoBody is a picture that follows in pieces.
type PhotoBody struct {
	SHA256  string `json:"sha256"`
	Size    int64  `json:"size"`
	Caption string `json:"caption,omitempty"`
	Subject string `json:"subject,omitempty"`
	Face    string `json:"face,omitempty"` // L or R: where the pin is
	X       string `json:"x,omitempty"`
	Z       string `json:"z,omitempty"`
	Name    string `json:"name,omitempty"` // of the file
}

// caption is the caption of a picture, with its pin in words where the pin cannot be
// read as one: a picture is not refused for the way its place was written.
func (b PhotoBody) caption(pinned bool) string {
	parts := []string{}
	if c := strings.TrimSpace(b.Caption); c != "" {
		parts = append(parts, c)
	}
	if pinned || b.X == "" && b.Z == "" {
		return strings.Join(parts, ", ")
	}
	if face, ok := map[string]string{"L": "left face", "R": "right face"}[b.Face]; ok {
		parts = append(parts, face)
	}
	for _, v := range [][2]string{{"x ", b.X}, {"z ", b.Z}} {
		if v[1] != "" {
			parts = append(parts, v[0]+v[1])
		}
	}
	return strings.Join(parts, ", ")
}

// PhotoOf reads the body of a photograph.
func (e Envelope) PhotoOf() (PhotoBody, error) {
	var b PhotoBody
	if e.Kind != Photo {
		return b, fault.New(fault.Malformed, "a photograph is needed here, got %s", short(string(e.Kind)))
	}
	if err := e.read(&b); err != nil {
		return b, err
	}
	var bad fault.Invalid
	if len(b.SHA256) != 64 || strings.Trim(b.SHA256, "0123456789abcdef") != "" {
		bad.Add("sha256", short(b.SHA256), "must be 64 hexadecimal digits")
	}
	if b.Size < 1 {
		bad.Add("size", "", "a picture has at least 1 byte, got %d", b.Size)
	}
	if b.Face != "" && b.Face != "L" && b.Face != "R" {
		bad.Add("face", short(b.Face), "must be L or R")
	}
	return b, bad.Err()
}

// PhotoChange is the change that puts a picture on record.
func (e Envelope) PhotoChange(bytes []byte) (repair.AddPhoto, error) {
	b, err := e.PhotoOf()
	if err != nil {
		return repair.AddPhoto{}, err
	}
	ch := repair.AddPhoto{Bytes: bytes, SHA256: b.SHA256, Subject: b.Subject, Face: b.Face, OriginalName: b.Name, DeviceAt: e.CapturedAt}
	x, xerr := units.Parse[units.Length](b.X, e.Units)
	z, zerr := units.Parse[units.Length](b.Z, e.Units)
	pinned := xerr == nil && zerr == nil && b.X != "" && b.Z != "" && b.Face != ""
	if pinned {
		ch.X, ch.Z = &x, &z
	}
	ch.Caption = b.caption(pinned)
	return ch, nil
}

func (e Envelope) read(into any) error {
	if len(e.Body) == 0 || string(e.Body) == "null" {
		return fault.New(fault.Malformed, "the entry is empty")
	}
	return strict(e.Body, into)
}

// Change reads what an entry records. shift sets times of the tablet's clock inside
// the body right: the difference of Clock.At and the captured time. A photograph
// has no change before its bytes are there.
func (e Envelope) Change(shift time.Duration) (repair.Change, error) {
	r := &reader{sys: e.Units}
	var ch repair.Change
	switch e.Kind {
	case Collar:
		var b collarBody
		if err := e.read(&b); err != nil {
			return nil, err
		}
		ch = repair.RecordCollars{DesignID: e.Against.DesignID, Collars: []repair.CollarIn{b.in(r)}}
	case Survey:
		var b surveyBody
		if err := e.read(&b); err != nil {
			return nil, err
		}
		ch = b.change(r)
	case Cleaning:
		var b cleaningBody
		if err := e.read(&b); err != nil {
			return nil, err
		}
		ch = b.change(r, shift)
	case Inspection:
		var b struct {
			Subject string   `json:"subject"`
			Outcome string   `json:"outcome"`
			Facts   []string `json:"facts,omitempty"` // what was ticked and measured, in words
			Note    string   `json:"note,omitempty"`
		}
		if err := e.read(&b); err != nil {
			return nil, err
		}
		note := strings.Join(slices.DeleteFunc(append(b.Facts, b.Note), func(s string) bool { return strings.TrimSpace(s) == "" }), "; ")
		if repair.FieldChecked(b.Subject) {
			ch = repair.RecordFieldCheck{Subject: b.Subject, Outcome: b.Outcome, Note: note}
		} else {
			ch = repair.RecordInspection{Subject: b.Subject, Outcome: b.Outcome, Note: note}
		}
	case TestStud, FormCheck, DeckCore:
		var err error
		if ch, err = e.shiftCheck(r, shift); err != nil {
			return nil, err
		}
	case Nonconformance:
		var b struct {
			Requirement string   `json:"requirement"`
			Found       string   `json:"found"`
			Containment string   `json:"containment,omitempty"`
			Proposed    string   `json:"proposed,omitempty"`
			Stops       []string `json:"stops,omitempty"`
			Critical    bool     `json:"critical,omitempty"`
		}
		if err := e.read(&b); err != nil {
			return nil, err
		}
		ch = repair.RaiseNonconformance{Requirement: b.Requirement, Found: b.Found, Containment: b.Containment, Proposed: b.Proposed, Stops: b.Stops, Critical: b.Critical}
	case Pour:
		var b pourBody
		if err := e.read(&b); err != nil {
			return nil, err
		}
		ch = b.change(r, shift, e.EndID)
	case Photo:
		return nil, fault.New(fault.Malformed, "a photograph is sent in pieces, not with the text")
	default:
		return nil, fault.New(fault.Malformed, "no entry is of the kind %q", short(string(e.Kind)))
	}
	return ch, r.bad.Err()
}

// Print is the entry's body in words, a line a fact, for whoever decides about it.
func (e Envelope) Print() []string {
	var facts map[string]any
	if json.Unmarshal(e.Body, &facts) != nil {
		return []string{short(string(e.Body))}
	}
	return printed("", facts)
}

func printed(at string, v any) []string {
	switch x := v.(type) {
	case map[string]any:
		keys := make([]string, 0, len(x))
		for k := range x {
			keys = append(keys, k)
		}
		slices.Sort(keys)
		var out []string
		for _, k := range keys {
			out = append(out, printed(strings.TrimSpace(at+" "+strings.ReplaceAll(k, "_", " ")), x[k])...)
		}
		return out
	case []any:
		var out []string
		for i, y := range x {
			out = append(out, printed(fmt.Sprintf("%s %d", at, i+1), y)...)
		}
		return out
	case nil:
		return nil
	case bool:
		if !x {
			return nil
		}
		return []string{at + ": yes"}
	}
	if s := fmt.Sprint(v); s != "" {
		return []string{at + ": " + s}
	}
	return nil
}
