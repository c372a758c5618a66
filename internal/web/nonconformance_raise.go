package web

import (
	"fmt"
	"net/http"

	"endcast/internal/db"
	"endcast/views/field"
	"endcast/views/ui"
)

// nonconformanceNew is the form that raises a nonconformance at an end.
func (s *Server) nonconformanceNew(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, field.RaisePage(e.fieldPage("Nonconformance at"), e.raiseForm(&typedForm{values: r.URL.Query()}, field.Sent{})))
}

// nonconformanceRaise puts one on record, with the photograph that came with it.
func (s *Server) nonconformanceRaise(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	f, err := e.typed()
	if err != nil {
		return err
	}
	ch, captured := f.raised(), f.captured()
	pic, err := e.picture(f, "nonconformance", ch.Found, captured)
	if err != nil {
		return err
	}
	var rec db.Receipt
	if err = f.bad.Err(); err == nil {
		rec, err = s.edit(r, []db.EndRef{{ID: e.rec.End.ID}}, captured, ch)
	}
	number := 0
	if err == nil {
		number, err = s.store.NonconformanceNumber(r.Context(), rec.EntryID)
	}
	if err == nil && pic != nil {
		pic.change.Caption = nonconformanceCaption(number) + pic.change.Caption
		err = e.keep(pic)
	}
	if refusedForm(err) {
		return s.render(w, r, http.StatusUnprocessableEntity, field.RaisePage(e.fieldPage("Nonconformance at"), e.raiseForm(f, f.sent(err))))
	}
	if err != nil {
		return err
	}
	text := fmt.Sprintf("Nonconformance %d raised.", number)
	if ch.Critical {
		text += " Tell the engineer by voice: this record calls nobody."
	}
	s.flash(r, ui.Done, text)
	return seeOther(w, r, s.program(r).Path("nonconformances", numberOf(number)))
}
