package web

import (
	"fmt"
	"net/http"
	"strings"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/views/field"
	"endcast/views/ui"
)

// inspected are the subjects that a person signs for: which condition of the
// sequence rests on each, what it may end with, and what to look at.
var inspected = []struct {
	key      string
	asks     sequence.Condition
	outcomes []ui.Option
	look     []string
	caution  string
}{
	{"curing", sequence.CuringRecorded, acceptance, []string{"The temperature record runs from placing to the end of curing.", "No gap in it is longer than the plan allows.", "Nothing shook, loaded or stripped the form meanwhile."}, ""},
	{"hardened", sequence.HardenedAccepted, acceptance, []string{"Voids and honeycomb: sound the whole face with a hammer.", "The top under the flange and the fill and vent holes.", "Cracks, with their width and length.", "A gap along the flange or the web.", "The bearing is clean and free to move."},
		"Stand clear of loose pieces when you sound overhead, and keep the area below closed."},
	{"gauges", sequence.GaugesZeroed, acceptance, []string{"Each planned gauge is in place, wired and read.", "A reading at zero was taken before casting, with its time and temperature."}, ""},
	{"load_path", sequence.VerdictEngaged, []ui.Option{{Value: "engaged", Label: "Engaged"}, {Value: "not_engaged", Label: "Not engaged"}, {Value: "undecided", Label: "Undecided"}},
		[]string{"The strain records before and after the repair, with their interval.", "The share of load that the design predicted.", "Whether traffic and temperature were alike in both records."}, ""},
}

var acceptance = []ui.Option{{Value: "accepted", Label: "Accepted"}, {Value: "not_accepted", Label: "Not accepted"}}

// inspectionNew is the form for a subject, or the choice of one.
func (s *Server) inspectionNew(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	if subject := q.Get("subject"); subject != "" {
		return e.inspectionPage(w, http.StatusOK, &typedForm{values: q}, field.Sent{})
	}
	v := field.Inspection{Head: e.head(), Subjects: e.inspectable()}
	return s.render(w, r, http.StatusOK, field.InspectionPage(e.fieldPage("Inspection"), v))
}

// inspectionRecord puts a finding on record.
func (s *Server) inspectionRecord(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	f, err := e.typed()
	if err != nil {
		return err
	}
	ch, captured := repair.RecordInspection{Subject: f.text("subject"), Outcome: f.text("outcome"), Note: f.text("note")}, f.captured()
	if err := e.allowedInspection(ch.Subject); err != nil {
		return err
	}
	pic, err := e.picture(f, e.photoSubjectOf(askedOf(ch.Subject), ch.Subject), inspectionWords[ch.Subject]+": "+plainWord(ch.Outcome), captured)
	if err != nil {
		return err
	}
	if err = f.bad.Err(); err == nil {
		err = e.observe(captured, ch)
	}
	if err == nil {
		err = e.keep(pic)
	}
	if refusedForm(err) {
		return e.inspectionPage(w, http.StatusUnprocessableEntity, f, f.sent(err))
	}
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, inspectionWords[ch.Subject]+": "+plainWord(ch.Outcome)+", recorded.")
	return seeOther(w, r, e.path("field"))
}

func askedOf(subject string) sequence.Condition {
	for _, x := range inspected {
		if x.key == subject {
			return x.asks
		}
	}
	return ""
}

// allowedInspection refuses who may not sign for a subject: it is for those who
// complete the step that rests on it.
func (e *endReader) allowedInspection(subject string) error {
	asks := askedOf(subject)
	if asks == "" {
		return fault.New(fault.NotFound, "nothing of that name is inspected: %.40q", subject)
	}
	var named []authz.Role
	if st := e.asking(asks); st != nil {
		named = st.Performer
	}
	if !e.s.canStep(e.r, authz.CompleteStep, named) {
		return fault.New(fault.Forbidden, "%s is signed for by others: your role does not allow it", lower(inspectionWords[subject]))
	}
	return nil
}

// inspectable lists what the reader may sign for at this end, with the last word.
func (e *endReader) inspectable() []field.Subject {
	var out []field.Subject
	for _, x := range inspected {
		if e.allowedInspection(x.key) != nil {
			continue
		}
		row := field.Subject{Title: inspectionWords[x.key], Href: e.path("inspections", "new") + "?subject=" + x.key, Says: "No finding yet", Mark: ui.Mark{State: ui.Open, Text: "open"}}
		if last := e.lastFinding(x.key); last != nil {
			row.Mark, row.Says = last.Mark, last.By+", "+last.When
		}
		out = append(out, row)
	}
	return out
}

func (e *endReader) lastFinding(subject string) *field.Finding {
	x := e.rec.LatestInspection(subject)
	if x == nil {
		return nil
	}
	return &field.Finding{Mark: inspectionMark(x.Outcome), Note: x.Note, By: x.ByName + ", " + sequence.RoleWords(sequence.Role(x.ByRole)), When: e.when(x.CapturedAt)}
}

func inspectionMark(outcome string) ui.Mark {
	mark := ui.Mark{State: ui.Stop, Text: plainWord(outcome)}
	switch outcome {
	case "accepted", "engaged":
		mark.State = ui.Good
	case "undecided":
		mark.State = ui.Wait
	case "noted":
		mark.State = ui.Void
	}
	return mark
}

func (e *endReader) inspectionPage(w http.ResponseWriter, status int, f *typedForm, sent field.Sent) error {
	subject := f.text("subject")
	if err := e.allowedInspection(subject); err != nil {
		return err
	}
	v := field.Inspection{Head: e.head(), Title: inspectionWords[subject], Subject: subject, Sent: sent, Action: e.path("inspections"), Last: e.lastFinding(subject),
		Note:      ui.Field{Name: "note", Label: "What you looked at, and on what the finding rests", Value: f.text("note"), Rows: 4}.With(sent.Bad),
		Photo:     ui.Field{Name: "photo"}.With(sent.Bad),
		PhotoHint: "JPEG, PNG or WebP, up to 20 MB.",
		At:        field.Moment{Typed: f.text("captured_at"), Now: e.clock(), Bad: sent.Bad},
		Pictures:  e.pictures(e.photoSubjectOf(askedOf(subject), subject))}
	for _, x := range inspected {
		if x.key == subject {
			v.Look, v.Caution = x.look, x.caution
			v.Outcome = ui.Field{Name: "outcome", Label: "Finding", Options: x.outcomes, Value: f.text("outcome")}.With(sent.Bad)
		}
	}
	if (subject == "curing" || subject == "hardened") && len(e.sc.PourEnds) == 0 {
		v.Refused = "This end has not been cast: there is nothing to look at yet."
	}
	if e.s.can(e.r, authz.RaiseNonconformance) {
		v.RaiseHref = e.path("nonconformances", "new")
	}
	return e.s.render(w, e.r, status, field.InspectionPage(e.fieldPage(fmt.Sprintf("%s,", strings.TrimSpace(inspectionWords[subject]))), v))
}
