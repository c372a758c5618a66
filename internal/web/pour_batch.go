package web

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/views/casting"
	"endcast/views/ui"
)

// openBatch loads the pour and the batch of the address.
func (s *Server) openBatch(r *http.Request) (*pourReader, repair.Batch, error) {
	c, err := s.openPour(r)
	if err != nil {
		return nil, repair.Batch{}, err
	}
	n, err := strconv.Atoi(chi.URLParam(r, "batch"))
	for _, b := range c.list.Batches {
		if err == nil && b.Number == n {
			return c, b, nil
		}
	}
	return nil, repair.Batch{}, fault.New(fault.NotFound, "pour %d has no such batch", c.pour.Number)
}

// batchShow is one batch: its record, and what may be done about it.
func (s *Server) batchShow(w http.ResponseWriter, r *http.Request) error {
	c, b, err := s.openBatch(r)
	if err != nil {
		return err
	}
	return s.batchPage(w, r, http.StatusOK, c, b, liveSent{})
}

// batchSubmit corrects or refuses a batch, or says when it was placed.
func (s *Server) batchSubmit(w http.ResponseWriter, r *http.Request) error {
	c, b, err := s.openBatch(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	sent := liveSent{act: r.PostFormValue("act"), values: r.PostForm, bad: &fault.Invalid{}}
	var ch repair.Change
	said := ""
	switch sent.act {
	case "refuse":
		ch, said = repair.RefuseBatch{Pour: c.pour.Number, Number: b.Number, Why: r.PostFormValue("why")}, fmt.Sprintf("Batch %d is refused.", b.Number)
	case "place":
		f := &batchForm{c: c, values: r.PostForm}
		at := c.moment(sent.bad, "placed", f.get("placed"))
		if at.IsZero() && sent.bad.Of("placed") == nil {
			sent.bad.Add("placed", "", "say when placing ended")
		}
		p := repair.PlaceBatch{Pour: c.pour.Number, Number: b.Number, PlacedAt: at}
		if t := c.moment(sent.bad, "place_start", f.get("place_start")); !t.IsZero() {
			p.PlaceStart = &t
		}
		ch, said = p, fmt.Sprintf("Batch %d is placed.", b.Number)
	default:
		in, bad := (&batchForm{c: c, values: r.PostForm}).read()
		sent.bad = bad
		ch, said = repair.CorrectBatch{Pour: c.pour.Number, Number: b.Number, Batch: in, Reason: r.PostFormValue("reason")}, fmt.Sprintf("The entry of batch %d is corrected.", b.Number)
	}
	return s.batchDone(w, r, c, b, sent, ch, said)
}

// batchDecide lets a batch outside a stop limit stand.
func (s *Server) batchDecide(w http.ResponseWriter, r *http.Request) error {
	c, b, err := s.openBatch(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	sent := liveSent{act: "decide", values: r.PostForm, bad: &fault.Invalid{}}
	return s.batchDone(w, r, c, b, sent, repair.DecideBatch{Pour: c.pour.Number, Number: b.Number, Why: r.PostFormValue("why")}, fmt.Sprintf("Batch %d may stay in the form.", b.Number))
}

// batchDone sends a change of a batch through the door.
func (s *Server) batchDone(w http.ResponseWriter, r *http.Request, c *pourReader, b repair.Batch, sent liveSent, ch repair.Change, said string) error {
	if err := sent.bad.Err(); err != nil {
		return s.batchPage(w, r, http.StatusUnprocessableEntity, c, b, sent)
	}
	rec, err := s.edit(r, endRefs(c.scope), c.now, ch)
	back, err := refusal(err)
	if err != nil {
		return err
	}
	if back != nil {
		sent.bad, sent.refused = back.fields, back.text
		return s.batchPage(w, r, http.StatusUnprocessableEntity, c, b, sent)
	}
	if !rec.Repeated {
		s.flash(r, ui.Done, said)
	}
	if c.pour.Open {
		return seeOther(w, r, c.head.Path("pours", numberOf(c.pour.Number), "live"))
	}
	return seeOther(w, r, c.head.Path("pours", numberOf(c.pour.Number)))
}

func (s *Server) batchPage(w http.ResponseWriter, r *http.Request, status int, c *pourReader, b repair.Batch, sent liveSent) error {
	number, n := numberOf(c.pour.Number), numberOf(b.Number)
	v := casting.BatchView{Number: n, Pour: number, Action: c.head.Path("pours", number, "batches", n), Bad: sent.bad, Refused: sent.refused, Act: sent.act, Zone: c.zoneNote(), Entry: sent.values.Get("entry")}
	for _, row := range c.batches() {
		if row.Number == n {
			v.Row = row
		}
	}
	record := s.can(r, authz.RecordPour)
	stopped := uhpc.Stopped(c.scope.BatchFindings(c.pour, b))
	v.MayCorrect = record
	v.MayRefuse = record && !b.Refused && b.PlacedAt == nil
	v.MayPlace = v.MayRefuse
	v.MayDecide = s.can(r, authz.DecideBatch) && stopped && !b.Refused && b.DecidedAt == nil
	values := c.batchValues(b)
	if sent.act == "correct" {
		values = sent.values
	}
	bad := (*fault.Invalid)(nil)
	if sent.act == "correct" {
		bad = sent.bad
	}
	v.Form = (&batchForm{c: c, values: values}).view(bad, false)
	box := func(act string, x ui.Field) ui.Field {
		if sent.act == act {
			x.Value = sent.values.Get(x.Name)
			if q := sent.bad.Of(x.Name); q != nil {
				x.Reason = q.Reason
			}
		}
		return x
	}
	v.Reason = box("correct", ui.Field{Name: "reason", Label: "Why the entry is corrected", Rows: 2})
	v.RefuseWhy = box("refuse", ui.Field{Name: "why", Label: "Why the batch is refused", Rows: 2})
	v.DecideWhy = box("decide", ui.Field{Name: "why", Label: "Why it may stay in the form", Rows: 3})
	v.PlaceFrom = box("place", ui.Field{Name: "place_start", Label: "Placing began", Type: "datetime-local", Optional: true})
	v.PlaceTo = box("place", ui.Field{Name: "placed", Label: "Placing ended", Type: "datetime-local"})
	p := s.page(r, "Pour "+number+", batch "+n, ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Pours", Href: c.head.Path("pours")}, ui.Crumb{Label: "Pour " + number, Href: c.head.Path("pours", number)})
	p.Field = true
	return s.render(w, r, status, casting.BatchPage(p, v))
}
