package web

import (
	"errors"
	"net/http"
	"strconv"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/views/design"
	"endcast/views/ui"
)

// designSave stores what is typed as the draft of the end's design.
func (s *Server) designSave(w http.ResponseWriter, r *http.Request) error {
	return s.designStore(w, r, func(in repair.DesignIn) repair.Change { return repair.SaveDesign{Design: in} })
}

// designSubmit stores what is typed and puts it before the owner's engineer.
func (s *Server) designSubmit(w http.ResponseWriter, r *http.Request) error {
	return s.designStore(w, r, func(in repair.DesignIn) repair.Change { return repair.SubmitDraft{Design: in} })
}

func (s *Server) designStore(w http.ResponseWriter, r *http.Request, change func(repair.DesignIn) repair.Change) error {
	d, err := s.openDesk(r)
	if err != nil {
		return err
	}
	in, bad := d.typed.read(d.sys)
	if bad == nil {
		// The store checks again, but with the studs in its own order: only here are
		// they numbered as they stand on the page.
		if err := in.Layout().Validate(d.rec.Geometry(d.sc)); err != nil {
			bad = d.typed.named(asInvalid(err), d.sys)
		}
	}
	if bad != nil {
		d.said.Bad = bad
		return d.page(w, http.StatusUnprocessableEntity)
	}
	ends, err := seen(r, d.rec.End.ID)
	if err != nil {
		return err
	}
	ch := change(in)
	_, err = s.edit(r, ends, time.Time{}, ch)
	if err != nil {
		return d.refused(w, err, in)
	}
	n := strconv.Itoa(d.saves())
	if _, submitted := ch.(repair.SubmitDraft); submitted {
		s.flash(r, ui.Done, "Revision "+n+" is submitted for review.")
		return seeOther(w, r, d.path("designs", n))
	}
	s.flash(r, ui.Done, "The draft of revision "+n+" is saved.")
	return seeOther(w, r, d.path("design"))
}

// refused shows the form again with what was typed and why it was not stored.
func (d *designDesk) refused(w http.ResponseWriter, err error, in repair.DesignIn) error {
	if stale, ok := errors.AsType[*db.Stale](err); ok {
		return d.conflict(w, stale, in)
	}
	switch fault.KindOf(err) {
	case fault.Fields:
		d.said.Bad = d.typed.named(asInvalid(err), d.sys)
	case fault.Refused, fault.Duplicate:
		d.said.Problem = sentence(err)
	default:
		return err
	}
	return d.page(w, http.StatusUnprocessableEntity)
}

// conflict shows what was typed beside what is stored now, with the version that a
// second save needs.
func (d *designDesk) conflict(w http.ResponseWriter, stale *db.Stale, in repair.DesignIn) error {
	c := &design.Conflict{Text: stale.By + " changed the record of " + stale.Name, StoredHref: d.path("design"), Stored: "what is stored"}
	if !stale.At.IsZero() {
		c.Text += " at " + d.when(stale.At)
	}
	c.Text += ", after you opened this page."
	if last := d.rec.LatestDesign(); last != nil {
		c.Stored = "revision " + strconv.Itoa(last.Revision) + " as stored"
		c.Differences = d.changes(encasement.Compare(*d.rec.DesignOf(last), in.Layout()))
		if last.Note != in.Note {
			c.Differences = append(c.Differences, design.Changed{What: "Design note", Was: last.Note, Is: in.Note, Mark: ui.Mark{State: ui.Caution, Text: "changed"}})
		}
	}
	d.said.Conflict, d.version = c, int(d.rec.End.Version)
	return d.page(w, http.StatusConflict)
}

// sentence is what an error tells a person.
func sentence(err error) string { return ui.Sentence(fault.Message(err)) }
