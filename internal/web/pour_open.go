package web

import (
	"errors"
	"net/http"
	"slices"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// pourOpenForm asks for what is known when a casting begins.
func (s *Server) pourOpenForm(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	f := &pourForm{c: c, values: r.URL.Query()}
	return s.pourOpenPage(w, r, http.StatusOK, f, nil, "")
}

// pourOpen begins a casting: its batches come in one by one.
func (s *Server) pourOpen(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	f := &pourForm{c: c, values: r.PostForm}
	m, unknown, err := s.workOut(r, c, f.values["end"], f.get("window"))
	if err != nil {
		return err
	}
	bad := &fault.Invalid{}
	for _, name := range unknown {
		bad.Add("ends", name, "there is no girder end %s in this program", name)
	}
	ch := repair.OpenPour{Note: f.get("note"), Weather: f.get("weather"), WindowID: f.get("window")}
	if ch.StartedAt = c.moment(bad, "started_at", f.get("started_at")); ch.StartedAt.IsZero() && bad.Of("started_at") == nil {
		bad.Add("started_at", "", "say when the pour began")
	}
	ch.FormHead = as[units.Length](c.quantity(bad, "form_head", f.get("form_head"), units.Lengths))
	if t := c.moment(bad, "last_batch_by", f.get("last_batch_by")); !t.IsZero() {
		ch.LastBatchBy = &t
	} else if at := m.a.Times.LastBatch; bad.Of("last_batch_by") == nil && at.After(ch.StartedAt) {
		ch.LastBatchBy = &at
	}
	if len(m.scope.Ends) == 0 && len(unknown) == 0 {
		bad.Add("ends", "", "name the ends that are cast")
	}
	if err := bad.Err(); err != nil {
		return s.pourOpenPage(w, r, http.StatusUnprocessableEntity, f, bad, "")
	}
	rec, err := s.edit(r, endRefs(m.scope), ch.StartedAt, ch)
	if refused, err := refusal(err); err != nil || refused != nil {
		if err != nil {
			return err
		}
		return s.pourOpenPage(w, r, http.StatusUnprocessableEntity, f, refused.fields, refused.text)
	}
	number, err := s.store.PourOfEntry(r.Context(), rec.EntryID)
	if err != nil {
		return err
	}
	if !rec.Repeated {
		s.flash(r, ui.Done, "Pour "+numberOf(number)+" is open.")
		marks, err := c.releaseMarks(m.scope)
		if err != nil {
			return err
		}
		for _, x := range marks {
			if x.Loud {
				s.flash(r, ui.Failed, x.Name+": "+x.Mark.Text+". "+x.Why)
			}
		}
	}
	return seeOther(w, r, c.head.Path("pours", numberOf(number), "live"))
}

// sentBack is what the record refused: fields of the form, or in words.
type sentBack struct {
	fields *fault.Invalid
	text   string
}

// refusal tells what a form is shown again for, from what is an error.
func refusal(err error) (*sentBack, error) {
	var invalid *fault.Invalid
	switch {
	case err == nil:
		return nil, nil
	case errors.As(err, &invalid):
		return &sentBack{fields: invalid}, nil
	case fault.KindOf(err) == fault.Refused || fault.KindOf(err) == fault.Duplicate:
		return &sentBack{text: ui.Sentence(fault.Message(err))}, nil
	}
	return nil, err
}

// endRefs are the ends of a scope at whatever version: what is seen at a casting is
// a new observation and conflicts with nothing.
func endRefs(sc *repair.Scope) []db.EndRef {
	var out []db.EndRef
	for _, e := range sc.Ends {
		out = append(out, db.EndRef{ID: e.End.ID})
	}
	return out
}

func (s *Server) pourOpenPage(w http.ResponseWriter, r *http.Request, status int, f *pourForm, bad *fault.Invalid, refused string) error {
	c := f.c
	m, _, err := s.workOut(r, c, f.values["end"], f.get("window"))
	if err != nil {
		return err
	}
	if status == http.StatusOK && f.get("started_at") == "" {
		f.values.Set("started_at", c.now.In(c.zone).Format("2006-01-02T15:04"))
	}
	v := casting.OpenForm{Action: c.head.Path("pours", "open"), Entry: f.get("entry"), Bad: bad, Refused: refused, Zone: c.zoneNote(), Paper: c.head.Path("pours", "new"),
		Quantities: c.head.Path("pours", "quantities"), Window: c.windowOptions(f.get("window"))}
	if x := bad.Of("ends"); x != nil {
		v.EndsWhy = x.Reason
	}
	v.Started = f.field(bad, ui.Field{Name: "started_at", Label: "Began", Type: "datetime-local"})
	v.Weather = f.field(bad, ui.Field{Name: "weather", Label: "Weather", Optional: true, Hint: "Rain, wind, sun on the form."})
	v.Head = f.field(bad, ui.Field{Name: "form_head", Label: "Head above the form", Unit: units.Lengths.Label(c.sys), InputMode: "decimal", Optional: true, Short: true, Hint: "Hopper or standpipe."})
	v.LastBatch = f.field(bad, ui.Field{Name: "last_batch_by", Label: "Last batch begins by", Type: "datetime-local", Optional: true, Hint: "Empty: from the window and the times of a batch."})
	v.Note = f.field(bad, ui.Field{Name: "note", Label: "Note", Rows: 2, Optional: true})
	if x := bad.Of("window_id"); x != nil {
		v.Window.Reason = x.Reason
	}
	if v.Choices, err = s.quantityChoices(r, c, m); err != nil {
		return err
	}
	p := s.page(r, "Open a pour", ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Pours", Href: c.head.Path("pours")})
	p.Field = true
	return s.render(w, r, status, casting.OpenPage(p, v))
}

// lastPlaced is when the last batch was placed, zero before the first.
func lastPlaced(batches []repair.Batch) time.Time {
	var out time.Time
	for _, b := range batches {
		if !b.Refused && b.PlacedAt != nil && b.PlacedAt.After(out) {
			out = *b.PlacedAt
		}
	}
	return out
}

// byNumber puts batches in the order of mixing.
func byNumber(batches []repair.Batch) []repair.Batch {
	out := slices.Clone(batches)
	slices.SortFunc(out, func(a, b repair.Batch) int { return a.Number - b.Number })
	return out
}
