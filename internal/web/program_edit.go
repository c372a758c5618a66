package web

import (
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/settings"
	"endcast/views/ui"
)

var programFields = []string{"code", "name", "carries", "owner", "contract", "built_year", "units", "timezone", "field_start", "completion_due", "photo_policy"}

var programLabels = map[string]string{"name": "Name of the program", "carries": "Bridge", "owner": "Owner", "contract": "Contract", "built_year": "Year built",
	"units": "Units", "timezone": "Time zone", "field_start": "Field work begins", "completion_due": "To be finished by",
	"photo_policy": "Metadata of photographs"}

func systemOf(p repair.Program) units.System { return units.System(p.Units) }

// programEdit is the form of a program's title facts.
func (s *Server) programEdit(w http.ResponseWriter, r *http.Request) error {
	p, err := s.store.Program(r.Context(), s.program(r).ID.String())
	if err != nil {
		return err
	}
	return s.programForm(w, r, http.StatusOK, settings.Form{From: p.TitleDigest()}, typedOf(p))
}

func (s *Server) programForm(w http.ResponseWriter, r *http.Request, status int, form settings.Form, typed map[string]string) error {
	head := s.program(r)
	form.Action = head.Path("program", "edit")
	v := settings.ProgramForm{Title: "Title facts of the program", Typed: typed, Form: form}
	return s.render(w, r, status, settings.ProgramEdit(s.page(r, "Title facts", ui.Crumb{Label: "Program", Href: head.Path("program")}), v))
}

func typedOf(p repair.Program) map[string]string {
	out := map[string]string{"code": p.Code, "name": p.Name, "carries": p.Carries, "owner": p.Owner, "contract": p.Contract, "units": p.Units, "timezone": p.Timezone,
		"field_start": dateText(p.FieldStart), "completion_due": dateText(p.CompletionDue), "built_year": "", "photo_policy": p.PhotoPolicy}
	if p.BuiltYear != nil {
		out["built_year"] = strconv.Itoa(*p.BuiltYear)
	}
	return out
}

// programTyped reads the title facts of a form and notes what cannot be read.
func programTyped(typed map[string]string, bad *fault.Invalid) repair.Program {
	p := repair.Program{Code: typed["code"], Name: typed["name"], Carries: typed["carries"], Owner: typed["owner"], Contract: typed["contract"],
		Units: typed["units"], Timezone: typed["timezone"], PhotoPolicy: typed["photo_policy"]}
	if text := typed["built_year"]; text != "" {
		y, err := strconv.Atoi(text)
		if err != nil {
			bad.Add("built_year", text, "must be a year such as 1964")
		}
		p.BuiltYear = &y
	}
	p.FieldStart, p.CompletionDue = dateTyped("field_start", typed, bad), dateTyped("completion_due", typed, bad)
	if _, err := time.LoadLocation(p.Timezone); err != nil || p.Timezone == "" || strings.EqualFold(p.Timezone, "local") {
		bad.Add("timezone", p.Timezone, "no time zone of that name is known: take one such as America/New_York, Europe/Berlin or UTC")
	}
	return p
}

func dateTyped(field string, typed map[string]string, bad *fault.Invalid) *time.Time {
	if typed[field] == "" {
		return nil
	}
	t, err := time.Parse(time.DateOnly, typed[field])
	if err != nil {
		bad.Add(field, typed[field], "must be a date such as 2026-04-30")
		return nil
	}
	return &t
}

// programSubmit stores the title facts.
func (s *Server) programSubmit(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	typed := typedIn(r, programFields...)
	var bad fault.Invalid
	p := programTyped(typed, &bad)
	err := bad.Err()
	if err == nil {
		_, err = s.editSettings(r, time.Time{}, repair.EditProgram{Program: p, From: r.PostFormValue("from")})
	}
	if fault.KindOf(err) == fault.Conflict && err != nil {
		return s.programClash(w, r, typed)
	}
	if form, status, ok := refused(r, err); ok {
		form.From = r.PostFormValue("from")
		return s.programForm(w, r, status, form, typed)
	}
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, "The title facts are saved.")
	return seeOther(w, r, s.program(r).Path("program"))
}

// programClash shows the form again beside what is stored now.
func (s *Server) programClash(w http.ResponseWriter, r *http.Request, typed map[string]string) error {
	p, err := s.store.Program(r.Context(), s.program(r).ID.String())
	if err != nil {
		return err
	}
	now := typedOf(p)
	clash := &settings.Clash{Text: "Nothing of yours was stored yet. The form holds what you typed; saving it again puts it over what is stored now."}
	for _, f := range programFields {
		if label := programLabels[f]; label != "" && now[f] != typed[f] {
			clash.Rows = append(clash.Rows, settings.Beside{Label: label, Yours: orDash(typed[f]), Stored: orDash(now[f])})
		}
	}
	return s.programForm(w, r, http.StatusConflict, settings.Form{From: p.TitleDigest(), Clash: clash}, typed)
}

func orDash(text string) string {
	if text == "" {
		return "–"
	}
	return text
}

// programNew is the form that opens a program for another bridge.
func (s *Server) programNew(w http.ResponseWriter, r *http.Request) error {
	return s.programNewForm(w, r, http.StatusOK, settings.Form{}, map[string]string{"units": "us", "timezone": "UTC"})
}

func (s *Server) programNewForm(w http.ResponseWriter, r *http.Request, status int, form settings.Form, typed map[string]string) error {
	form.Action = "/programs/new"
	v := settings.ProgramForm{Title: "Open a program", New: true, Typed: typed, Form: form}
	return s.render(w, r, status, settings.ProgramEdit(s.page(r, "Open a program", ui.Crumb{Label: "Programs", Href: "/"}), v))
}

// programCreate opens a program and makes whoever opened it its administrator.
// Both ids follow from the id of the entry, so that a form sent twice opens one.
func (s *Server) programCreate(w http.ResponseWriter, r *http.Request) error {
	id, err := entry(r)
	if err != nil {
		return err
	}
	typed := typedIn(r, programFields...)
	var bad fault.Invalid
	p := programTyped(typed, &bad)
	p.ID = uuid.NewSHA1(id, []byte("program")).String()
	actor := repair.Actor{ID: s.user(r).ID.String(), Name: s.user(r).Name, Role: authz.Administrator}
	err = bad.Err()
	if err == nil {
		_, err = s.store.Edit(r.Context(), db.Entry{ID: id.String(), ProgramID: p.ID, Actor: actor, Change: repair.CreateProgram{Program: p}})
	}
	if err == nil {
		_, err = s.store.EditPeople(r.Context(), db.PeopleEntry{ID: uuid.NewSHA1(id, []byte("administrator")).String(), ProgramID: p.ID, Actor: actor,
			Act: db.PeopleAdd, UserID: s.user(r).ID, Role: authz.Administrator})
	}
	if fault.KindOf(err) == fault.Duplicate && err != nil {
		bad.Add("code", p.Code, "another program has this code")
		err = bad.Err()
	}
	if form, status, ok := refused(r, err); ok {
		return s.programNewForm(w, r, status, form, typed)
	}
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, "The program is open, with the sequence that new programs start from. Import the bridge next, then look through its sequence and its basis.")
	return seeOther(w, r, ProgramHead{Code: p.Code}.Path("program"))
}
