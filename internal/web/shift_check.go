package web

import (
	"net/http"
	"strings"

	"github.com/go-chi/chi/v5"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/tablet"
	"endcast/internal/domain/units"
	"endcast/views/end"
	"endcast/views/field"
	"endcast/views/ui"
)

// shiftCheck is one check of the shift with its page: what was recorded, the form,
// and how the form is read.
type shiftCheck struct {
	kind         tablet.Kind
	key, subject string // in the address; and the subject of an inspection that recorded it in words
	title        string
	caution      string
	step         string // code of the step of the usual sequence that its photographs belong to
	show         func(*endReader, *field.Check)
	form         func(*endReader, *typedForm, *fault.Invalid) []field.CheckGroup
	read         func(*endReader, *typedForm) repair.Change
	last         func(*endReader) ui.Mark
}

// shiftChecks are those that have figures, in the order of the work.
var shiftChecks = []shiftCheck{
	{kind: tablet.TestStud, key: "test-studs", subject: "test_studs", title: "Test studs of the shift", step: "WLD", show: (*endReader).testStuds, form: (*endReader).testStudsForm, read: (*endReader).testStudsTyped,
		last:    (*endReader).testStudsMark,
		caution: "Hot work: a permit in force, a watch for fire below, eyes and skin covered. Keep people from under the test place when studs are struck."},
	{kind: tablet.DeckCore, key: "cores", subject: "core", title: "Cores through the deck", step: "COR", show: (*endReader).cores, form: (*endReader).coresForm, read: (*endReader).coresTyped, last: (*endReader).coresMark,
		caution: "Nobody stands below a core that is being cut; catch it. Locate bars, ducts and cables first: no bar is cut without leave."},
	{kind: tablet.FormCheck, key: "form", subject: "form", title: "Form", step: "FRM", show: (*endReader).forms, form: (*endReader).formsForm, read: (*endReader).formsTyped, last: (*endReader).formsMark,
		caution: "A form that gives way drops its whole load. Stand clear of the fall of tools and pieces; keep the area below closed."},
}

func shiftCheckOf(key string) (shiftCheck, error) {
	for _, c := range shiftChecks {
		if c.key == key {
			return c, nil
		}
	}
	return shiftCheck{}, fault.New(fault.NotFound, "no check of the shift is called %.40q", key)
}

// mayCheck reports whether the reader may record checks of the shift.
func (e *endReader) mayCheck() bool { return e.s.can(e.r, authz.CompleteStep) }

// shiftCheckShow is the page of one check at an end.
func (s *Server) shiftCheckShow(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	c, err := shiftCheckOf(chi.URLParam(r, "check"))
	if err != nil {
		return err
	}
	return e.shiftCheckPage(w, http.StatusOK, c, &typedForm{}, field.Sent{})
}

// shiftCheckRecord puts one check on record, with its photograph.
func (s *Server) shiftCheckRecord(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	c, err := shiftCheckOf(chi.URLParam(r, "check"))
	if err != nil {
		return err
	}
	if !e.mayCheck() {
		return fault.New(fault.Forbidden, "your role does not record checks of the shift")
	}
	f, err := e.typed()
	if err != nil {
		return err
	}
	ch, captured := c.read(e, f), f.captured()
	pic, err := e.picture(f, e.checkSubject(c), c.title, captured)
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
		return e.shiftCheckPage(w, http.StatusUnprocessableEntity, c, f, f.sent(err))
	}
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, c.title+": recorded.")
	return seeOther(w, r, e.path("checks", c.key))
}

// checkSubject files a photograph under the step of the check, where the sequence
// has it.
func (e *endReader) checkSubject(c shiftCheck) string {
	for _, st := range e.sc.Sequence() {
		if st.Code == c.step && !st.Retired {
			return st.Code
		}
	}
	return c.subject
}

func (e *endReader) shiftCheckPage(w http.ResponseWriter, status int, c shiftCheck, f *typedForm, sent field.Sent) error {
	v := field.Check{Head: e.head(), Title: c.title, Caution: c.caution, Standing: c.last(e), Pictures: e.pictures(e.checkSubject(c), c.subject)}
	c.show(e, &v)
	for _, in := range e.rec.Inspections {
		if in.Subject == c.subject {
			v.Older = append(v.Older, strings.Join([]string{e.when(in.CapturedAt), in.ByName, plainWord(in.Outcome), in.Note}, ", "))
		}
	}
	if e.mayCheck() {
		v.Form = &field.CheckForm{Sent: sent, Action: e.path("checks", c.key), Groups: c.form(e, f, sent.Bad), SubmitLabel: "Record it",
			Outcome: ui.Field{Name: "outcome", Label: "Finding", Options: acceptance, Value: f.text("outcome")}.With(sent.Bad),
			Note:    ui.Field{Name: "note", Label: "Note", Hint: "Needed where it is not accepted.", Value: f.text("note"), Rows: 3, Optional: true}.With(sent.Bad),
			Photo:   ui.Field{Name: "photo"}.With(sent.Bad), PhotoHint: "JPEG, PNG or WebP, up to 20 MB.", At: field.Moment{Typed: f.text("captured_at"), Now: e.clock(), Bad: sent.Bad}}
		if e.s.can(e.r, authz.RaiseNonconformance) {
			v.Form.RaiseHref = e.path("nonconformances", "new")
		}
	}
	return e.s.render(w, e.r, status, field.CheckPage(e.fieldPage(c.title+","), v))
}

// checkBox is a box for one figure of a check.
func (e *endReader) checkBox(f *typedForm, bad *fault.Invalid, name, label, hint, unit string, optional bool) ui.Field {
	mode := "decimal"
	if unit == "text" {
		mode, unit = "", ""
	}
	return ui.Field{Name: name, Label: label, Hint: hint, Unit: unit, InputMode: mode, Value: f.text(name), Optional: optional, Short: true}.With(bad)
}

func checkTick(f *typedForm, bad *fault.Invalid, name, label string) field.CheckTick {
	t := field.CheckTick{Name: name, Label: label, On: f.text(name) == "on"}
	if p := bad.Of(name); p != nil {
		t.Reason = p.Reason
	}
	return t
}

// yesNo reads a choice of two; nothing chosen is nil.
func (f *typedForm) yesNo(field string) *bool {
	switch f.text(field) {
	case "yes", "no":
		yes := f.text(field) == "yes"
		return &yes
	}
	return nil
}

// whole reads a whole number that is needed.
func (f *typedForm) whole(field, what string) int {
	v := f.number(field, units.Numbers)
	if v == nil {
		if f.text(field) == "" {
			f.bad.Add(field, "", "%s is needed", what)
		}
		return 0
	}
	if *v != float64(int(*v)) {
		f.bad.Add(field, f.text(field), "must be a whole number, got %g", *v)
		return 0
	}
	return int(*v)
}

// lengthNeeded reads a length that is needed.
func (f *typedForm) lengthNeeded(field, what string) units.Length {
	if v := quantity[units.Length](f, field); v != nil {
		return *v
	}
	if f.text(field) == "" {
		f.bad.Add(field, "", "%s is needed", what)
	}
	return 0
}

// typedOf keeps what was typed, by column.
func (f *typedForm) typedOf(columns ...string) repair.Typed {
	out := repair.Typed{}
	for _, c := range columns {
		if text := f.text(strings.TrimSuffix(c, "_mm")); text != "" {
			out[c] = text
		}
	}
	return out
}

func byLine(name, role, when string) string {
	return name + ", " + sequence.RoleWords(sequence.Role(role)) + ", " + when
}

func joined(sep string, parts ...string) string {
	var out []string
	for _, p := range parts {
		if p != "" {
			out = append(out, p)
		}
	}
	return strings.Join(out, sep)
}

// shiftChecked are the checks of the shift as the end's page shows them: those that
// count.
func (e *endReader) shiftChecked() []end.ShiftCheck {
	var out []end.ShiftCheck
	for _, c := range shiftChecks {
		var v field.Check
		c.show(e, &v)
		row := end.ShiftCheck{Title: c.title, Href: e.path("checks", c.key), Mark: c.last(e), Columns: v.Columns, Against: v.Against}
		for _, r := range v.Records {
			if r.Latest {
				row.Rows = append(row.Rows, end.CheckRow{Title: r.Title, Mark: r.Mark, Cells: r.Cells})
			}
		}
		out = append(out, row)
	}
	return out
}
