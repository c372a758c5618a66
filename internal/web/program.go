package web

import (
	"net/http"
	"strconv"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/views/settings"
	"endcast/views/ui"
)

const logLines = 20

// programShow shows the title facts of a program and its trial casting.
func (s *Server) programShow(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	p, err := s.store.Program(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	zone := zoneOf(p)
	v := settings.ProgramView{Facts: titleFacts(p)}
	if s.can(r, authz.EditProgram) {
		v.Edit = head.Path("program", "edit")
	}
	v.Mockup = settings.Mockup{Note: p.MockupNote, Href: head.Path("mockups"), State: ui.Mark{State: ui.Wait, Text: "not accepted: no end is released for casting where the sequence asks for it"}}
	if p.MockupAcceptedAt != nil {
		v.Mockup.State = ui.Mark{State: ui.Good, Text: "accepted"}
		v.Mockup.Facts = []settings.Fact{{Label: "Accepted by", Value: p.MockupAcceptedBy}, {Label: "At", Value: p.MockupAcceptedAt.In(zone).Format("2006-01-02 15:04")}}
	}
	if v.Log, err = s.settingsLog(r, zone, "program.create", "program.edit", "mockup.accept", "mockup.withdraw"); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, settings.Program(s.page(r, "Program"), v))
}

func titleFacts(p repair.Program) []settings.Fact {
	out := []settings.Fact{{Label: "Name", Value: p.Name}}
	add := func(label, value string) {
		if value == "" {
			value = "–"
		}
		out = append(out, settings.Fact{Label: label, Value: value})
	}
	add("Bridge", p.Carries)
	add("Owner", p.Owner)
	add("Contract", p.Contract)
	year := ""
	if p.BuiltYear != nil {
		year = strconv.Itoa(*p.BuiltYear)
	}
	add("Year built", year)
	add("Units", systemOf(p).Name())
	add("Time zone", p.Timezone)
	add("Field work begins", dateText(p.FieldStart))
	add("To be finished by", dateText(p.CompletionDue))
	add("Metadata of photographs", repair.PhotoPolicyWords(p.PhotoPolicy))
	add("Code in addresses", p.Code)
	return out
}

func dateText(t *time.Time) string {
	if t == nil {
		return ""
	}
	return t.Format(time.DateOnly)
}

// programMockup takes the acceptance of a mock-up back. One is accepted on its own
// page, by each role on its record.
func (s *Server) programMockup(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	sent := mockupSent{act: r.PostFormValue("do"), form: &pourForm{values: r.PostForm}}
	if sent.act != "withdraw" {
		sent.refused = "a mock-up is accepted on its own page, by each role that decides: record it first"
		return s.mockupListPage(w, r, http.StatusUnprocessableEntity, sent)
	}
	_, err := s.editSettings(r, time.Time{}, repair.WithdrawMockup{Reason: strings.TrimSpace(r.PostFormValue("reason"))})
	back, err := refusal(err)
	if err != nil {
		return err
	}
	if back != nil {
		sent.bad, sent.refused = back.fields, back.text
		return s.mockupListPage(w, r, http.StatusUnprocessableEntity, sent)
	}
	s.flash(r, ui.Done, "The acceptance is withdrawn.")
	return seeOther(w, r, s.program(r).Path("mockups"))
}

// editSettings sends a change that concerns the whole program, seen or done at
// captured; zero means now.
func (s *Server) editSettings(r *http.Request, captured time.Time, change repair.Change) (db.Receipt, error) {
	id, err := entry(r)
	if err != nil {
		return db.Receipt{}, err
	}
	return s.store.Edit(r.Context(), db.Entry{ID: id.String(), ProgramID: s.program(r).ID.String(), Actor: s.actor(r), Captured: captured, AllEnds: true, Change: change})
}

// refused turns the refusal of a form into the form to show again with its
// status. ok is false for an error that is no matter of the form, and for none.
func refused(r *http.Request, err error) (form settings.Form, status int, ok bool) {
	form.Entry = r.PostFormValue("entry")
	switch fault.KindOf(err) {
	case fault.Fields:
		form.Bad = invalidOf(err)
		return form, http.StatusUnprocessableEntity, true
	case fault.Refused, fault.Duplicate:
		form.Notice, form.Entry = ui.Sentence(fault.Message(err)), ""
		return form, http.StatusUnprocessableEntity, true
	}
	return form, 0, false
}

// typedIn returns what was typed into fields, by name.
func typedIn(r *http.Request, fields ...string) map[string]string {
	out := make(map[string]string, len(fields))
	for _, f := range fields {
		out[f] = strings.TrimSpace(r.PostFormValue(f))
	}
	return out
}
