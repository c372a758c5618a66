package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// mockupShow is the page of one mock-up.
func (s *Server) mockupShow(w http.ResponseWriter, r *http.Request) error {
	c, m, err := s.openMockup(r)
	if err != nil {
		return err
	}
	return s.mockupPage(w, r, http.StatusOK, c, m, mockupSent{})
}

// mockupSubmit corrects the record of a mock-up, or opens a casting of it.
func (s *Server) mockupSubmit(w http.ResponseWriter, r *http.Request) error {
	c, m, err := s.openMockup(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	sent := mockupSent{act: r.PostFormValue("act"), form: &pourForm{c: c, values: r.PostForm}}
	switch sent.act {
	case "cast":
		return s.mockupCast(w, r, c, m, sent)
	case "correct":
	default:
		return fault.New(fault.Malformed, "the form names nothing that may be done to this mock-up")
	}
	in, bad := c.readMockup(sent.form)
	in.CastAt = castMoment(m.CastAt, in.CastAt)
	if err = bad.Err(); err == nil {
		_, err = s.mockupEdit(r, time.Time{}, repair.CorrectMockup{Number: m.Number, MockupIn: in, Reason: sent.form.get("reason"), From: sent.form.get("from")})
	}
	if done, err := s.mockupRefused(w, r, sent, err); done || err != nil {
		return err
	}
	s.flash(r, ui.Done, "The record of the mock-up is corrected.")
	return seeOther(w, r, c.head.Path("mockups", strconv.Itoa(m.Number)))
}

// mockupRefused shows the page again with what was sent, if err is a matter of the
// form; on the record as it is now.
func (s *Server) mockupRefused(w http.ResponseWriter, r *http.Request, sent mockupSent, err error) (bool, error) {
	if err == nil {
		return false, nil
	}
	status := http.StatusUnprocessableEntity
	var invalid *fault.Invalid
	switch {
	case errors.As(err, &invalid):
		sent.bad = invalid
		typedBack(sent.bad, sent.form.flat())
	case fault.KindOf(err) == fault.Conflict:
		status, sent.refused = http.StatusConflict, ui.Sentence(fault.Message(err))
		sent.form.values.Del("from")
	case fault.KindOf(err) == fault.Refused || fault.KindOf(err) == fault.Duplicate:
		sent.refused = ui.Sentence(fault.Message(err))
	default:
		return true, err
	}
	c, m, err := s.openMockup(r)
	if err != nil {
		return true, err
	}
	return true, s.mockupPage(w, r, status, c, m, sent)
}

// flat is what a form holds, one text a field.
func (f *pourForm) flat() map[string]string {
	out := map[string]string{}
	for k := range f.values {
		out[k] = f.values.Get(k)
	}
	return out
}

// mockupCast opens a casting whose batches and specimens are the mock-up's.
func (s *Server) mockupCast(w http.ResponseWriter, r *http.Request, c *castReader, m repair.Mockup, sent mockupSent) error {
	if !s.can(r, authz.RecordPour) {
		return fault.New(fault.Forbidden, "your role does not record pours")
	}
	bad := &fault.Invalid{}
	ch := repair.OpenPour{Mockup: m.Number, Weather: sent.form.get("weather")}
	if ch.StartedAt = c.moment(bad, "started_at", sent.form.get("started_at")); ch.StartedAt.IsZero() && bad.Of("started_at") == nil {
		bad.Add("started_at", "", "say when the pour began")
	}
	ch.FormHead = as[units.Length](c.quantity(bad, "form_head", sent.form.get("form_head"), units.Lengths))
	err := bad.Err()
	var rec db.Receipt
	if err == nil {
		rec, err = s.mockupEdit(r, ch.StartedAt, ch)
	}
	if done, err := s.mockupRefused(w, r, sent, err); done || err != nil {
		return err
	}
	number, err := s.store.PourOfEntry(r.Context(), rec.EntryID)
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, "Pour "+numberOf(number)+", of mock-up "+numberOf(m.Number)+", is open.")
	return seeOther(w, r, c.head.Path("pours", numberOf(number), "live"))
}

// mockupDecide takes the decision of the reader's role.
func (s *Server) mockupDecide(w http.ResponseWriter, r *http.Request) error {
	c, m, err := s.openMockup(r)
	if err != nil {
		return err
	}
	if !s.canStep(r, authz.DecideMockup, c.frame.MockupRoles()) {
		return fault.New(fault.Forbidden, "a mock-up of this program is decided on by %s", roleWordsAnd(c.frame.MockupRoles()))
	}
	if err := parseForm(r); err != nil {
		return err
	}
	sent := mockupSent{act: "decide", form: &pourForm{c: c, values: r.PostForm}}
	ch := repair.DecideMockup{Number: m.Number, Decision: sent.form.get("decision"), Reasons: sent.form.get("reasons"), Waived: sent.form.get("waived"), From: sent.form.get("from")}
	_, err = s.mockupEdit(r, time.Time{}, ch)
	if done, err := s.mockupRefused(w, r, sent, err); done || err != nil {
		return err
	}
	said := "You accepted mock-up " + numberOf(m.Number) + "."
	if ch.Decision == repair.MockupNotAccepted {
		said = "Mock-up " + numberOf(m.Number) + " is not accepted."
	}
	s.flash(r, ui.Done, said)
	return seeOther(w, r, c.head.Path("mockups", numberOf(m.Number)))
}

func (s *Server) mockupPage(w http.ResponseWriter, r *http.Request, status int, c *castReader, m repair.Mockup, sent mockupSent) error {
	here := c.head.Path("mockups", strconv.Itoa(m.Number))
	v := casting.MockupView{Number: strconv.Itoa(m.Number), Action: here, Zone: c.zoneNote(), State: mockupMark(m.State), Why: m.StateWhy, Bad: sent.bad, Refused: sent.refused,
		Facts: c.mockupFacts(m), Fixed: sent.act == "correct"}
	if m.State != repair.MockupWithdrawn {
		v.Lacks = c.frame.MockupLacks(m)
	}
	if c.frame.MockupMoved(m) {
		v.Moved = "A break, a batch or the record has changed since this mock-up was accepted. The acceptance stands until it is withdrawn: look at what changed."
	}
	for _, p := range c.frame.MockupPours(m) {
		v.Pours = append(v.Pours, c.mockupPour(p))
	}
	for _, o := range c.frame.MockupOpinions(m) {
		v.Opinions = append(v.Opinions, c.mockupOpinion(o))
	}
	over := m.State == repair.MockupAccepted || m.State == repair.MockupWithdrawn
	if !over && s.can(r, authz.RecordMockup) {
		form := sent
		if sent.act != "correct" {
			form = mockupSent{form: &pourForm{c: c, values: c.mockupValues(m)}}
		} else {
			form.form.values.Set("from", repair.MockupRecordDigest(m))
		}
		e := c.mockupBoxes(form)
		reason := ui.Field{Name: "reason", Label: "What is added or put right", Rows: 2, Value: sent.text("correct", "reason")}.With(form.bad)
		e.Action, e.Act, e.Submit, e.Reason = here, "correct", "Correct the record", &reason
		v.Correct = &e
	}
	if m.State != repair.MockupWithdrawn && s.can(r, authz.RecordPour) {
		v.Cast = c.mockupCastForm(here, sent)
	}
	if !over && s.canStep(r, authz.DecideMockup, c.frame.MockupRoles()) {
		v.Decide = c.mockupDecideForm(here, m, s.actor(r).Role, sent)
	}
	if m.State == repair.MockupAccepted && s.can(r, authz.AcceptMockup) {
		v.Withdraw = c.withdrawForm(mockupSent{})
	}
	p := s.page(r, "Mock-up "+v.Number, ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Mock-ups", Href: c.head.Path("mockups")})
	mark := v.State
	p.Block = &ui.TitleBlock{Cells: []ui.Cell{{Label: "Program", Value: c.head.Name, Wide: true}, {Label: "Mock-up", Value: v.Number}, {Label: "Cast", Value: c.day(m.CastAt)}, {Label: "State", Mark: &mark},
		{Label: "Record", Value: shortDigest(c.frame.MockupDigest(m))}, {Label: "Recorded by", Value: byLine(m.ByName, m.ByRole, c.day(m.CapturedAt)), Wide: true}, {Label: "Release", Value: s.cfg.Release}}}
	return s.render(w, r, status, casting.MockupPage(p, v))
}

func (c *castReader) mockupFacts(m repair.Mockup) []casting.Fact {
	var out []casting.Fact
	add := func(name, value string) {
		if value == "" {
			value = "–"
		}
		out = append(out, casting.Fact{Name: name, Value: value})
	}
	length := func(v *units.Length) string {
		if v == nil {
			return ""
		}
		return v.Format(c.sys, -1)
	}
	add("Stands for", m.StandsFor)
	add("Cast", c.day(m.CastAt))
	add("Width", length(m.Width))
	add("Height", length(m.Height))
	add("Thickness", length(m.Thickness))
	add("Head above the form", length(m.Head))
	add("Studs and obstructions", m.Obstructions)
	add("Flow", length(m.Flow))
	fill := ""
	if m.FillMin != nil {
		fill = units.Minutes.Format(*m.FillMin, c.sys, -1)
	}
	add("Time to fill it", fill)
	leaks := m.Leaks
	if m.LeakFree {
		leaks = joined(". ", "none", m.Leaks)
	}
	add("Leaks", leaks)
	add("Sections cut", strconv.Itoa(m.SectionsCut))
	add("Voids", m.Voids)
	add("Fibers", m.FiberSpread)
	add("Note", m.Note)
	return out
}

// mockupPour is one casting of a mock-up with its sets.
func (c *castReader) mockupPour(p repair.Pour) casting.MockupPour {
	list := db.CastingList{Pours: []repair.Pour{p}, Batches: c.frame.Batches, Specimens: c.frame.Specimens, SetReviews: c.frame.SetReviews}
	number := strconv.Itoa(p.Number)
	out := casting.MockupPour{Number: number, Href: c.head.Path("pours", number), When: c.span(p), Report: c.head.Path("laboratory", "pours", number), Open: p.Open}
	if p.Open {
		out.Href = c.head.Path("pours", number, "live")
	}
	batches, refused := 0, 0
	for _, b := range c.frame.Batches {
		if b.PourID == p.ID {
			batches++
			if b.Refused {
				refused++
			}
		}
	}
	out.Batches = counted(batches, "batch", "batches")
	if refused > 0 {
		out.Batches += ", " + strconv.Itoa(refused) + " refused"
	}
	for _, x := range c.sets(p, list) {
		set := casting.Set{Batch: strconv.Itoa(x.number), Kind: kindName(string(x.set.Kind)), Curing: cureWords(string(x.set.Cure)), Age: ageText(x.set.NominalHours),
			Counted: strconv.Itoa(x.stats.Counted) + " of " + strconv.Itoa(x.stats.Cast), Mean: "–", Mark: x.mark, Against: x.against, Why: x.why}
		if x.stats.Counted > 0 {
			set.Mean = c.strength(x.stats.Mean)
		}
		out.Sets = append(out.Sets, set)
	}
	return out
}

func (c *castReader) mockupOpinion(o repair.MockupOpinion) casting.MockupOpinion {
	out := casting.MockupOpinion{Role: sentenceCase(sequence.RoleWords(o.Role)), Mark: ui.Mark{State: ui.Wait, Text: "not decided"}}
	d := o.Decision
	if d == nil {
		return out
	}
	out.By, out.Meaning = d.ByName+", "+c.day(d.At), d.Meaning
	switch {
	case !o.Counts:
		out.Mark = ui.Mark{State: ui.Caution, Text: "out of date: " + plainWord(d.Decision) + " on an earlier record"}
	case d.Decision == repair.MockupAccepted:
		out.Mark = ui.Mark{State: ui.Good, Text: "accepted"}
	default:
		out.Mark = ui.Mark{State: ui.Stop, Text: "not accepted"}
	}
	if d.Reasons != "" {
		out.Text = d.Reasons
	}
	if d.Waived != "" {
		out.Text = joined(" ", out.Text, "Without a sound set of strengths: "+d.Waived)
	}
	return out
}

func (c *castReader) mockupCastForm(here string, sent mockupSent) *casting.MockupCast {
	f := &pourForm{c: c, values: url.Values{}}
	out := &casting.MockupCast{Action: here}
	var bad *fault.Invalid
	if sent.act == "cast" {
		f, bad, out.Entry = sent.form, sent.bad, sent.form.get("entry")
	}
	out.Started = f.field(bad, ui.Field{Name: "started_at", Label: "Began", Type: "datetime-local"})
	out.Head = f.field(bad, ui.Field{Name: "form_head", Label: "Head above the form", Unit: units.Lengths.Label(c.sys), InputMode: "decimal", Optional: true, Short: true})
	out.Weather = f.field(bad, ui.Field{Name: "weather", Label: "Weather", Optional: true})
	return out
}

func (c *castReader) mockupDecideForm(here string, m repair.Mockup, role sequence.Role, sent mockupSent) *casting.MockupDecide {
	d := &casting.MockupDecide{Action: here + "/decide", From: c.frame.MockupDigest(m), As: sequence.RoleWords(role), Meaning: repair.MeaningMockupAccepted, MayAccept: m.SectionsCut > 0,
		Proven: c.frame.MockupProven(m)}
	if !d.MayAccept {
		d.WhyNot = "No section was cut: nobody has seen the inside of it."
	}
	entry, bad, _ := sent.of("decide")
	d.Entry = entry
	if bad != nil && slices.ContainsFunc(bad.Fields, func(f fault.Field) bool { return f.Field == "sections_cut" }) {
		d.MayAccept = false
	}
	d.Waived = ui.Field{Name: "waived", Label: "Why it is accepted without a sound set of strengths", Rows: 2, Value: sent.text("decide", "waived"), Optional: true, Hint: "Needed to accept it: none is on record."}.With(bad)
	d.Reasons = ui.Field{Name: "reasons", Label: "Reasons", Rows: 3, Value: sent.text("decide", "reasons"), Optional: true, Hint: "Needed where it is not accepted."}.With(bad)
	return d
}
