package web

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/views/field"
	"endcast/views/ui"
)

// typedForm reads the values of a form and gathers everything in it that cannot
// be read, each tied to its box.
type typedForm struct {
	values url.Values
	sys    units.System
	zone   *time.Location
	now    time.Time
	bad    fault.Invalid
}

// typed reads the form of a request to a page of an end.
func (e *endReader) typed() (*typedForm, error) {
	if err := parseForm(e.r); err != nil {
		return nil, err
	}
	return &typedForm{values: e.r.PostForm, sys: e.sys, zone: e.zone, now: e.now()}, nil
}

// now is the moment that the pages of the program count from.
func (e *endReader) now() time.Time { return e.s.store.Today(e.sc.Program) }

// clock is now as the head of a form tells it, with the zone it is meant in.
func (e *endReader) clock() string { return e.when(e.now()) + ", " + e.zone.String() }

func (f *typedForm) text(field string) string { return strings.TrimSpace(f.values.Get(field)) }

// quantity reads an optional value of a kind; nothing typed is nil.
func quantity[Q units.Quantity](f *typedForm, field string) *Q {
	text := f.text(field)
	if text == "" {
		return nil
	}
	q, err := units.Parse[Q](text, f.sys)
	if err != nil {
		f.bad.Add(field, text, "%s", err.Error())
		return nil
	}
	return &q
}

// number reads an optional plain number.
func (f *typedForm) number(field string, kind units.Kind) *float64 {
	text := f.text(field)
	if text == "" {
		return nil
	}
	v, err := kind.Parse(text, f.sys)
	if err != nil {
		f.bad.Add(field, text, "%s", err.Error())
		return nil
	}
	return &v
}

// hour reads an optional hour of the clock.
func (f *typedForm) hour(field string) *int {
	text := f.text(field)
	if text == "" {
		return nil
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > 12 {
		f.bad.Add(field, text, "must be an hour of the clock from 1 to 12, got %q", text)
		return nil
	}
	return &n
}

// moment reads a date and time in the program's zone; nothing typed is the zero
// time.
func (f *typedForm) moment(field string) time.Time {
	t, err := momentTyped(field, f.values.Get(field), f.zone)
	f.merge(err)
	return t
}

// captured reads when something was seen. The minute that is running counts as
// now, so that what is seen in it comes after what was recorded in it.
func (f *typedForm) captured() time.Time {
	t := f.moment("captured_at")
	if t.Equal(f.now.Truncate(time.Minute)) {
		return time.Time{}
	}
	return t
}

// merge adds the fields of an error to those found so far. An error of another kind
// is left for the caller.
func (f *typedForm) merge(err error) {
	if bad, ok := errors.AsType[*fault.Invalid](err); ok {
		f.bad.Fields = append(f.bad.Fields, bad.Fields...)
	}
}

// sent is what goes back with a form that could not be taken. Each reason stands
// with what was typed in its box.
func (f *typedForm) sent(err error) field.Sent {
	out := field.Sent{Entry: f.text("entry")}
	bad, ok := errors.AsType[*fault.Invalid](err)
	if !ok {
		out.Problem = ui.Sentence(fault.Message(err))
		return out
	}
	out.Bad = &fault.Invalid{Fields: slices.Clone(bad.Fields)}
	for i := range out.Bad.Fields {
		if name := out.Bad.Fields[i].Field; f.values.Has(name) {
			out.Bad.Fields[i].Typed = f.values.Get(name)
		}
	}
	return out
}

// refusedForm reports whether an error is to be answered with the form it came
// from.
func refusedForm(err error) bool {
	switch fault.KindOf(err) {
	case fault.Fields, fault.Refused, fault.Duplicate:
		return err != nil
	}
	return false
}

// picture is a photograph that came with a form.
type picture struct {
	change   repair.AddPhoto
	captured time.Time
}

// picture reads the photograph of a form and checks it before anything is stored.
// It returns nil where none came or the same one is on record already.
func (e *endReader) picture(f *typedForm, subject, caption string, captured time.Time) (*picture, error) {
	bytes, name, err := fileOf(e.r, "photo")
	if fault.KindOf(err) == fault.Fields {
		return nil, nil // none was chosen
	}
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(bytes)
	p := &picture{repair.AddPhoto{Bytes: bytes, SHA256: hex.EncodeToString(sum[:]), Caption: caption, Subject: subject, OriginalName: name}, captured}
	if captured.IsZero() {
		captured = e.now()
	}
	err = p.change.Apply(e.sc.Clone(), repair.Context{Actor: e.s.actor(e.r), Now: e.now(), Captured: captured, NewID: uuid.NewString})
	if fault.KindOf(err) == fault.Duplicate && err != nil {
		return nil, nil
	}
	f.merge(err)
	return p, nil
}

// keep puts the photograph of a form on record, under an entry of its own that
// follows from the form's, so that a form sent twice keeps it once.
func (e *endReader) keep(p *picture) error {
	if p == nil {
		return nil
	}
	id, err := entry(e.r)
	if err != nil {
		return err
	}
	_, err = e.s.store.Edit(e.r.Context(), db.Entry{ID: uuid.NewSHA1(id, []byte("photo")).String(), ProgramID: e.sc.Program.ID, Actor: e.s.actor(e.r),
		Captured: p.captured, Ends: []db.EndRef{{ID: e.rec.End.ID}}, Change: p.change})
	if err != nil && fault.KindOf(err) == fault.Duplicate {
		return nil
	}
	return err
}

// observe records something seen in the field: it conflicts with nothing.
func (e *endReader) observe(captured time.Time, change repair.Change) error {
	_, err := e.s.edit(e.r, []db.EndRef{{ID: e.rec.End.ID}}, captured, change)
	return err
}

// head is the head of a field page of this end.
func (e *endReader) head() field.Head {
	h := field.Head{Name: e.rec.End.Name, Reading: e.reading(), Alias: e.rec.End.Alias, Href: e.path()}
	if e.s.mayWork(e.r) {
		h.Field = e.path("field")
	}
	return h
}

// pictures lists the photographs of some subjects, newest first.
func (e *endReader) pictures(subjects ...string) []field.Picture {
	var out []field.Picture
	for _, p := range newestFirst(e.rec.Photos, func(p repair.Photo) time.Time { return p.CapturedAt }) {
		for _, s := range subjects {
			if p.Subject == s && s != "" {
				out = append(out, field.Picture{Src: e.path("photos", p.SHA256, "sheet"), Thumb: e.path("photos", p.SHA256, "thumb"), Pin: e.pinWords(p), Caption: p.Caption, When: e.when(p.CapturedAt), By: e.name(p.ByUser)})
				break
			}
		}
	}
	return out
}

// asking is the first step in force that asks for a condition, nil for none.
func (e *endReader) asking(c sequence.Condition) *sequence.Step {
	for _, st := range e.sc.Sequence() {
		for _, req := range st.Requires {
			if req.Condition == c && !st.Retired {
				return &st
			}
		}
	}
	return nil
}

// photoSubjectOf is what a photograph taken with a record is filed under: the step
// that asks for the record, so that it counts there, or the word.
func (e *endReader) photoSubjectOf(c sequence.Condition, word string) string {
	if st := e.asking(c); st != nil && asksPhoto(*st) {
		return st.Code
	}
	return word
}

// fieldPage is the frame of a page for gloves and sun, on the way to this end.
func (e *endReader) fieldPage(title string) ui.Page {
	p := e.s.page(e.r, title+" "+e.rec.End.Name, ui.Crumb{Label: "Field", Href: e.s.program(e.r).Path("field")}, ui.Crumb{Label: e.rec.End.Name, Href: e.path("field")})
	if !e.s.mayWork(e.r) {
		p.Crumbs = e.crumbs(true)
	}
	p.Field, p.Block = true, e.titleBlock()
	return p
}

// mayWork reports whether the person may record anything at an end.
func (s *Server) mayWork(r *http.Request) bool {
	v := visitOf(r.Context())
	return v.program != nil && authz.MayAtSomeStep(v.person, v.program.ID, authz.CompleteStep)
}
