package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/stud"
	"endcast/views/field"
	"endcast/views/ui"
)

// restPath is the address of the form for the rest of a face, or of one row.
func (e *endReader) restPath(face string, row int) string {
	q := url.Values{"face": {face}}
	if row > 0 {
		q.Set("row", strconv.Itoa(row))
	}
	return e.path("collar-rest") + "?" + q.Encode()
}

// collarRestShow asks before the rest of a row or a face is recorded as full. An
// address that names no face leads to the map, where one is chosen.
func (s *Server) collarRestShow(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	if !q.Has("face") {
		return seeOther(w, r, e.path("collars"))
	}
	return e.restPage(w, http.StatusOK, &typedForm{values: q}, field.Sent{})
}

// collarRestRecord records a full collar at every stud that the form names and that
// nobody gave a finding meanwhile.
func (s *Server) collarRestRecord(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	f, err := e.typed()
	if err != nil {
		return err
	}
	ch := repair.RecordCollars{DesignID: f.text("design"), Rest: true}
	for _, mark := range f.values["mark"] {
		ch.Collars = append(ch.Collars, repair.CollarIn{Mark: mark, Outcome: string(stud.Full), Welder: f.text("welder"), FerruleLot: f.text("ferrule_lot"), Note: f.text("note")})
	}
	captured := f.captured()
	if err = f.bad.Err(); err == nil {
		err = e.observe(captured, ch)
	}
	if refusedForm(err) {
		return e.restPage(w, http.StatusUnprocessableEntity, f, f.sent(err))
	}
	if err != nil {
		return err
	}
	e.collarFlash(ch.DesignID, fmt.Sprintf("Collar full recorded at %d studs of %s.", len(ch.Collars), e.rec.End.Name))
	return seeOther(w, r, e.path("collars"))
}

// collarFlash tells that a finding is stored, and when it was made on a revision
// that is no longer in force.
func (e *endReader) collarFlash(designID, text string) {
	e.s.flash(e.r, ui.Done, text)
	if d := e.rec.DesignInForce(); d != nil && d.ID != designID {
		e.s.flash(e.r, ui.Notice, fmt.Sprintf("It is kept with the revision that your page was made from. Revision %d is in force now: look at the studs again.", d.Revision))
	}
}

func (e *endReader) restPage(w http.ResponseWriter, status int, f *typedForm, sent field.Sent) error {
	d := e.rec.DesignInForce()
	if d == nil {
		return fault.New(fault.NotFound, "this end has no design yet")
	}
	face, row := f.text("face"), 0
	if text := f.text("row"); text != "" {
		row, _ = strconv.Atoi(text)
	}
	m := e.studMap(d)
	known := slices.ContainsFunc(m.studs, func(st repair.Stud) bool { return st.Face == face && (row == 0 || st.Row == row) })
	if !known || row < 0 {
		return fault.New(fault.NotFound, "the design has no such row of studs")
	}
	v := field.Rest{Head: e.head(), Sent: sent, What: sentenceCase(faceWords[face]), Marks: m.left(face, row), Action: e.path("collar-rest"), Back: e.path("collars"), DesignID: d.ID,
		Face: face, Row: f.text("row"),
		Welder:  ui.Field{Name: "welder", Label: "Welder", Value: e.lastCollar(func(c repair.Collar) string { return c.Welder }), Optional: true}.With(sent.Bad),
		Ferrule: ui.Field{Name: "ferrule_lot", Label: "Ferrule lot", Value: e.lastCollar(func(c repair.Collar) string { return c.FerruleLot }), Optional: true}.With(sent.Bad),
		Note:    ui.Field{Name: "note", Label: "Note", Value: f.text("note"), Rows: 2, Optional: true}.With(sent.Bad),
		At:      field.Moment{Typed: f.text("captured_at"), Now: e.clock(), Bad: sent.Bad}}
	if row > 0 {
		v.What = fmt.Sprintf("Rest of row %d, %s", row, faceWords[face])
	} else {
		v.What = "Rest of the " + faceWords[face]
	}
	if sent.Entry != "" {
		v.Welder.Value, v.Ferrule.Value = f.text("welder"), f.text("ferrule_lot")
	}
	v.Banner, _ = e.designWarnings(d)
	return e.s.render(w, e.r, status, field.RestPage(e.fieldPage("Collars"), v))
}

// lastCollar is a value of the finding recorded last at this end, to begin with.
func (e *endReader) lastCollar(of func(repair.Collar) string) string {
	var last *repair.Collar
	for i := range e.rec.Collars {
		if c := &e.rec.Collars[i]; of(*c) != "" && (last == nil || !c.ArrivedAt.Before(last.ArrivedAt)) {
			last = c
		}
	}
	if last == nil {
		return ""
	}
	return of(*last)
}
