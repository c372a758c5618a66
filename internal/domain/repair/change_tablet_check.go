package repair

import (
	"slices"
	"strings"

	"endcast/internal/domain/fault"
)

// fieldChecks are what is looked at on the platform before or between the steps
// that a person signs for.
var fieldChecks = []string{"test_studs", "form", "core", "note"}

// FieldChecked reports whether a subject is one of RecordFieldCheck.
func FieldChecked(subject string) bool { return slices.Contains(fieldChecks, subject) }

// RecordFieldCheck is a check of the shift at an end: the set-up test studs, the
// form before the pour, a core through the deck, or a short note that decides
// nothing.
type RecordFieldCheck struct {
	Subject string `json:"subject"`
	Outcome string `json:"outcome"` // accepted or not_accepted; noted for a note
	Note    string `json:"note"`    // what was ticked, measured and seen
}

// Kind implements Change.
func (RecordFieldCheck) Kind() string { return "field_check.record" }

// Apply implements Change.
func (ch RecordFieldCheck) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	var bad fault.Invalid
	notAfter(&bad, "captured_at", c.Captured, c.Now)
	want := []string{"accepted", "not_accepted"}
	if ch.Subject == "note" {
		want = []string{"noted"}
	}
	if !FieldChecked(ch.Subject) {
		bad.Add("subject", ch.Subject, "must be one of: %s", strings.Join(fieldChecks, ", "))
	} else if !slices.Contains(want, ch.Outcome) {
		bad.Add("outcome", ch.Outcome, "must be one of: %s", strings.Join(want, ", "))
	}
	need(&bad, "note", ch.Note, "say what was looked at")
	if len(ch.Note) > 4000 {
		bad.Add("note", "", "holds at most 4,000 characters, got %d", len(ch.Note))
	}
	if err := bad.Err(); err != nil {
		return err
	}
	r.Inspections = append(r.Inspections, Inspection{ID: c.NewID(), EndID: r.End.ID, Subject: ch.Subject, Outcome: ch.Outcome, Note: ch.Note,
		ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), CapturedAt: c.Captured, ArrivedAt: c.Now})
	return nil
}
