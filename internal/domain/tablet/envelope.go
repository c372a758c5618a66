package tablet

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// Format is the form of entries that this program writes; it reads all up to it.
const Format = 1

// MaxEntry is the largest entry in bytes, pictures apart: a survey of some hundred
// readings takes a tenth of it.
const MaxEntry = 256 << 10

// Kind says what an entry records.
type Kind string

// Kinds of entry.
const (
	Collar         Kind = "collar"
	Survey         Kind = "survey"
	Cleaning       Kind = "cleaning"
	Inspection     Kind = "inspection"
	Nonconformance Kind = "nonconformance"
	Pour           Kind = "pour"
	Photo          Kind = "photo"
	TestStud       Kind = "test_stud"
	FormCheck      Kind = "form_check"
	DeckCore       Kind = "deck_core"
)

// Kinds lists them in the order in which pages name them.
func Kinds() []Kind {
	return []Kind{Survey, Cleaning, Collar, TestStud, DeckCore, FormCheck, Inspection, Pour, Nonconformance, Photo}
}

// Words is the kind for a reader.
func (k Kind) Words() string {
	switch k {
	case Collar:
		return "Weld collar"
	case Survey:
		return "Survey"
	case Cleaning:
		return "Cleaning"
	case Inspection:
		return "Inspection"
	case Nonconformance:
		return "Nonconformance"
	case Pour:
		return "Pour"
	case Photo:
		return "Photograph"
	case TestStud:
		return "Test studs"
	case FormCheck:
		return "Form"
	case DeckCore:
		return "Core through the deck"
	}
	return string(k)
}

// Against is the state of the record that an entry was made on, as the tablet had
// it. What an entry does not rest on may be empty.
type Against struct {
	TakenAt    string `json:"taken_at,omitempty"`    // when the tablet took its copy
	EndVersion int64  `json:"end_version,omitempty"` // version of the end in that copy
	DesignID   string `json:"design_id,omitempty"`
	Revision   int    `json:"revision,omitempty"`
	Studs      string `json:"studs,omitempty"`    // StudsDigest of the design
	Found      string `json:"found,omitempty"`    // finding that counted at this stud, "" for none
	Survey     int    `json:"survey,omitempty"`   // number of the latest survey, 0 for none
	Sequence   string `json:"sequence,omitempty"` // SequenceDigest of the program
}

// Envelope is one entry as it comes from a tablet.
type Envelope struct {
	Format  int     `json:"format"`
	ID      string  `json:"id"` // made on the tablet; a repeat is answered with the first answer
	By      string  `json:"by"` // account that made it
	Kind    Kind    `json:"kind"`
	EndID   string  `json:"end_id"`
	End     string  `json:"end"` // its name, for a reader
	Against Against `json:"against"`
	// CapturedAt is what the tablet's clock said, with its offset from UTC.
	CapturedAt string `json:"captured_at"`
	// ClockMS is the tablet's clock minus the server's at their last contact before,
	// in milliseconds; nil where there was none.
	ClockMS *float64     `json:"clock_ms,omitempty"`
	Units   units.System `json:"units"` // of the figures in the body
	// HandOver asks that an entry the rules refuse be kept aside for the engineer.
	HandOver bool            `json:"hand_over,omitempty"`
	Body     json.RawMessage `json:"body"`

	Captured time.Time `json:"-"` // CapturedAt as read
}

// Decode reads one entry. Whatever is wrong with it is a fault in words.
func Decode(raw []byte) (Envelope, error) {
	var e Envelope
	if len(raw) > MaxEntry {
		return e, fault.New(fault.TooLarge, "an entry has at most %d bytes, this one has %d", MaxEntry, len(raw))
	}
	if err := strict(raw, &e); err != nil {
		return Envelope{}, err
	}
	var bad fault.Invalid
	if e.Format < 1 || e.Format > Format {
		bad.Add("format", "", "entries of format 1 to %d are understood here, got %d: load the tablet's page anew", Format, e.Format)
	}
	for _, x := range []struct{ field, value string }{{"id", e.ID}, {"by", e.By}} {
		if id, err := uuid.Parse(x.value); err != nil || id == uuid.Nil || id.String() != x.value {
			bad.Add(x.field, short(x.value), "must be an identifier such as 0190a5c2-2f6e-7c3a-9d1b-6c0f5a1e2b3d")
		}
	}
	if t, err := time.Parse(time.RFC3339, e.CapturedAt); err != nil {
		bad.Add("captured_at", short(e.CapturedAt), "must be a time with its offset such as 2026-04-30T21:15:00-04:00")
	} else if y := t.UTC().Year(); y < 1970 || y > 9000 {
		bad.Add("captured_at", short(e.CapturedAt), "must be a year from 1970 to 9000, got %d", y)
	} else {
		e.Captured = t
	}
	if e.ClockMS != nil && !(*e.ClockMS > -1e14 && *e.ClockMS < 1e14) {
		bad.Add("clock_ms", "", "must be less than 1e14 either way, got %g", *e.ClockMS)
	}
	if e.Units != units.US && e.Units != units.SI {
		bad.Add("units", short(string(e.Units)), "must be us or si")
	}
	if e.End == "" || len(e.End) > 40 {
		bad.Add("end", short(e.End), "the name of the girder end is needed, of at most 40 characters")
	}
	if !plain(raw) {
		bad.Add("body", "", "holds characters that are no text")
	}
	return e, bad.Err()
}

// strict reads JSON with known fields only and nothing after it.
func strict(raw []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(raw))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		if _, ok := errors.AsType[*fault.Invalid](err); ok {
			return err
		}
		return fault.Wrap(fault.Malformed, err, "the entry cannot be read: %.120s", err.Error())
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return fault.New(fault.Malformed, "the entry cannot be read: something follows its end")
	}
	return nil
}

// plain reports whether JSON holds only text that can be stored.
func plain(raw []byte) bool {
	return utf8.Valid(raw) && !strings.Contains(strings.ToLower(string(raw)), `\u0000`)
}

func short(s string) string {
	if len(s) > 60 {
		return strings.ToValidUTF8(s[:60], "") + "…"
	}
	return s
}
