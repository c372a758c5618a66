package web

import (
	"encoding/json"
	"net/http"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/views/settings"
	"endcast/views/ui"
)

// concernsProcedure reports whether an entry of the journal is about a procedure;
// an empty identifier is the one that ships.
func concernsProcedure(c db.SettingChange, id string) bool {
	if id == "" {
		return c.Kind == "procedure.force"
	}
	for _, row := range c.Changes {
		if row.Table == "procedure_pack" && (valueText(row.New["id"]) == id || row.Old != nil && valueText(row.Old["id"]) == id) {
			return true
		}
	}
	return false
}

// procedureAct checks a procedure, puts it in force or retires it.
func (s *Server) procedureAct(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	frame, err := s.store.Frame(r.Context(), s.program(r).ID.String())
	if err != nil {
		return err
	}
	row, err := s.openProcedure(r, frame)
	if err != nil {
		return err
	}
	typed := typedIn(r, "note", "reason", "retired_reason")
	id, from := "", r.PostFormValue("from")
	if row != nil {
		id = row.ID
	}
	f := procedureForms{typed: typed}
	switch do := r.PostFormValue("do"); {
	case do == "check" && row != nil:
		return s.procedureDone(w, r, &f, &f.check, repair.CheckProcedure{ProcedureID: id, Note: typed["note"], From: from},
			"You compared the procedure with its text. It may be put in force.")
	case do == "retire" && row != nil:
		return s.procedureDone(w, r, &f, &f.retire, repair.RetireProcedure{ProcedureID: id, Reason: typed["retired_reason"], From: from}, "The procedure is retired.")
	case do == "force" || do == "preview":
		change := repair.PutProcedureInForce{ProcedureID: id, Reason: typed["reason"], From: from}
		shown := calc.Digest([]any{id, change.Reason, from})
		if do == "force" && r.PostFormValue("previewed") == shown {
			return s.procedureDone(w, r, &f, &f.force, change, "The procedure is in force. Every end was recomputed.")
		}
		p, err := s.store.Preview(r.Context(), s.program(r).ID.String(), s.actor(r), change)
		if err != nil {
			return s.procedureRefused(w, r, &f, &f.force, err)
		}
		f.force.Entry = r.PostFormValue("entry")
		if do == "force" {
			f.force.Notice = "The reason changed since you saw what it does. Nothing is stored yet: look again, then put it in force."
		}
		e := effectsOf(p, s.program(r), "No end changes by it: no design goes out of date and no capacity moves.")
		f.effects, f.previewed = &e, shown
		return s.procedurePage(w, r, http.StatusOK, f)
	}
	return fault.New(fault.Malformed, "the form names nothing that may be done to this procedure")
}

func (s *Server) procedureDone(w http.ResponseWriter, r *http.Request, f *procedureForms, form *settings.Form, change repair.Change, say string) error {
	if _, err := s.editSettings(r, time.Time{}, change); err != nil {
		return s.procedureRefused(w, r, f, form, err)
	}
	s.flash(r, ui.Done, say)
	return seeOther(w, r, s.program(r).Path("procedures"))
}

// procedureRefused shows the page again with the reason at the form that it
// belongs to, and with what was typed.
func (s *Server) procedureRefused(w http.ResponseWriter, r *http.Request, f *procedureForms, form *settings.Form, err error) error {
	if fault.KindOf(err) == fault.Conflict {
		form.Clash = &settings.Clash{Text: ui.Sentence(fault.Message(err)) + " The page shows what is stored now; send the form again if it still holds."}
		return s.procedurePage(w, r, http.StatusConflict, *f)
	}
	again, status, ok := refused(r, err)
	if !ok {
		return err
	}
	if again.Bad != nil && form == &f.retire {
		for i := range again.Bad.Fields {
			again.Bad.Fields[i].Field = "retired_reason"
		}
	}
	*form = again
	return s.procedurePage(w, r, status, *f)
}

// procedureInWords says what an entry did to procedures, for the list of changes.
func procedureInWords(c db.SettingChange) string {
	var ch struct {
		Procedure struct{ Name, Edition string }
		Note      string
		Reason    string
	}
	_ = json.Unmarshal(c.Change, &ch)
	name := ""
	for _, row := range c.Changes {
		if row.Table == "procedure_pack" && row.New != nil {
			name = valueText(row.New["name"]) + ", " + valueText(row.New["edition"])
		}
	}
	switch c.Kind {
	case "procedure.enter":
		return "Entered " + name + "."
	case "procedure.check":
		return "Compared " + name + " with its text: " + ch.Note
	case "procedure.retire":
		return "Retired " + name + ": " + ch.Reason
	}
	for _, row := range c.Changes {
		if row.Table == "procedure_pack" && row.New != nil && row.New["in_force"] == true {
			return "Put " + valueText(row.New["name"]) + ", " + valueText(row.New["edition"]) + " in force: " + ch.Reason
		}
	}
	return "Put the procedure that ships in force: " + ch.Reason
}
