package web

import (
	"crypto/rand"
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/sequence"
	"endcast/internal/password"
	"endcast/views/settings"
	"endcast/views/ui"
)

// peopleList shows who has a role in the program.
func (s *Server) peopleList(w http.ResponseWriter, r *http.Request) error {
	return s.peoplePage(w, r, http.StatusOK, settings.PeopleView{})
}

func (s *Server) peoplePage(w http.ResponseWriter, r *http.Request, status int, v settings.PeopleView) error {
	head := s.program(r)
	p, err := s.store.Program(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	zone := zoneOf(p)
	members, err := s.people.Members(r.Context(), head.ID)
	if err != nil {
		return err
	}
	for _, m := range members {
		v.Members = append(v.Members, settings.MemberRow{Href: head.Path("people", m.ID.String()), Name: m.Name, Email: m.Email,
			Role: sentenceCase(sequence.RoleWords(m.Role)), State: accountMark(m.User, s.now()), Since: m.CreatedAt.In(zone).Format(time.DateOnly), Self: m.ID == s.user(r).ID})
	}
	v.Action, v.Roles = head.Path("people"), roleOptions(true)
	if v.Log, err = s.settingsLog(r, zone, db.PeopleActs()...); err != nil {
		return err
	}
	w.Header().Set("Cache-Control", "no-store") // the page may hold a password
	return s.render(w, r, status, settings.People(s.page(r, "People"), v))
}

func accountMark(u db.User, now time.Time) ui.Mark {
	switch {
	case !u.Active():
		return ui.Mark{State: ui.Void, Text: "shut"}
	case u.Locked(now):
		return ui.Mark{State: ui.Wait, Text: "paused after wrong passwords"}
	}
	return ui.Mark{State: ui.Good, Text: "open"}
}

func roleOptions(empty bool) []ui.Option {
	var out []ui.Option
	if empty {
		out = append(out, ui.Option{Label: "Choose…"})
	}
	for _, role := range authz.Roles() {
		out = append(out, ui.Option{Value: string(role), Label: sentenceCase(sequence.RoleWords(role))})
	}
	return out
}

// peopleAdd gives somebody a role: an account of this installation, or a new one,
// whose password is on the answer and nowhere else.
func (s *Server) peopleAdd(w http.ResponseWriter, r *http.Request) error {
	id, err := entry(r)
	if err != nil {
		return err
	}
	typed := typedIn(r, "email", "name", "role")
	e := db.PeopleEntry{ID: id.String(), ProgramID: s.program(r).ID.String(), Actor: s.actor(r), Act: db.PeopleAdd, Role: authz.Role(typed["role"])}
	plain := ""
	known, err := s.people.Credentials(r.Context(), typed["email"])
	switch {
	case err == nil:
		e.UserID = known.ID
	case fault.KindOf(err) != fault.NotFound:
		return err
	default:
		if e.New, plain, err = newAccount(typed); err == nil && !e.Role.Valid() {
			var bad fault.Invalid
			bad.Add("role", typed["role"], "choose a role")
			err = bad.Err()
		}
	}
	if e.New != nil || e.UserID != uuid.Nil {
		var rec db.Receipt
		if err == nil {
			rec, err = s.store.EditPeople(r.Context(), e)
		}
		if err == nil && rec.Repeated {
			plain = ""
		}
	}
	if fault.KindOf(err) == fault.Duplicate {
		// The form came a second time, and the account that it opened is there now.
		s.flash(r, ui.Notice, "This person was added already. A password is shown only once: if it is lost, whoever keeps the server can make another.")
		return seeOther(w, r, s.program(r).Path("people"))
	}
	if form, status, ok := refused(r, err); ok {
		return s.peoplePage(w, r, status, settings.PeopleView{Typed: typed, Form: form})
	}
	if err != nil {
		return err
	}
	if plain != "" {
		made := &settings.MadeAccount{Name: e.New.Name, Email: e.New.Email, Password: plain, Role: sequence.RoleWords(e.Role)}
		return s.peoplePage(w, r, http.StatusOK, settings.PeopleView{Made: made})
	}
	s.flash(r, ui.Done, "Added as "+sequence.RoleWords(e.Role)+".")
	return seeOther(w, r, s.program(r).Path("people"))
}

// newAccount makes the account of an address that has none, with a password drawn
// for it.
func newAccount(typed map[string]string) (*db.NewUser, string, error) {
	if typed["name"] == "" {
		var bad fault.Invalid
		bad.Add("name", "", "no account has this address yet: give a name and one is made, or correct the address")
		return nil, "", bad.Err()
	}
	plain := rand.Text()
	hash, err := password.Hash(plain)
	return &db.NewUser{Email: typed["email"], Name: typed["name"], PasswordHash: hash}, plain, err
}

// member finds the person of the address among those of the program.
func (s *Server) member(r *http.Request) (db.Member, error) {
	id, err := uuid.Parse(chi.URLParam(r, "user"))
	if err == nil {
		all, err := s.people.Members(r.Context(), s.program(r).ID)
		if err != nil {
			return db.Member{}, err
		}
		for _, m := range all {
			if m.ID == id {
				return m, nil
			}
		}
	}
	return db.Member{}, fault.New(fault.NotFound, "nobody of that account has a role in this program")
}

// peopleShow is the page of one person; ?ask=remove and ?ask=disable ask once
// more before that is done.
func (s *Server) peopleShow(w http.ResponseWriter, r *http.Request) error {
	m, err := s.member(r)
	if err != nil {
		return err
	}
	return s.memberPage(w, r, http.StatusOK, m, settings.Form{}, r.URL.Query().Get("ask"))
}

func (s *Server) memberPage(w http.ResponseWriter, r *http.Request, status int, m db.Member, form settings.Form, ask string) error {
	head := s.program(r)
	here := head.Path("people", m.ID.String())
	form.Action = here
	v := settings.MemberView{Name: m.Name, Role: string(m.Role), Roles: roleOptions(false), MayShut: s.can(r, authz.ManageSite), Shut: !m.Active(), Back: here,
		ConfirmAt: map[string]string{"remove": here + "?ask=remove", "disable": here + "?ask=disable"}, Form: form,
		Facts: []settings.Fact{{Label: "Email", Value: m.Email}, {Label: "Account", Value: accountMark(m.User, s.now()).Text}}}
	open, err := s.people.Sessions(r.Context(), m.ID, s.now())
	if err != nil {
		return err
	}
	v.MaySignOut = len(open) > 0
	tokens, err := s.people.Tokens(r.Context(), m.ID, head.ID)
	if err != nil {
		return err
	}
	for _, t := range tokens {
		row := tokenRow(t, s.now())
		v.Tokens = append(v.Tokens, settings.TokenLine{ID: row.ID, Name: row.Name, Scopes: row.Scopes, Until: row.Until, Used: row.Used, State: row.State, Open: row.Open})
	}
	v.Facts = append(v.Facts, settings.Fact{Label: "Signed in", Value: signedInWords(open)})
	if ask == "remove" || (ask == "disable" && v.MayShut) {
		v.Confirm = ask
	}
	return s.render(w, r, status, settings.Member(s.page(r, m.Name, ui.Crumb{Label: "People", Href: head.Path("people")}), v))
}

// peopleSubmit changes the role of one person, takes them out of the program, or
// shuts or opens the account.
func (s *Server) peopleSubmit(w http.ResponseWriter, r *http.Request) error {
	id, err := entry(r)
	if err != nil {
		return err
	}
	m, err := s.member(r)
	if err != nil {
		return err
	}
	e := db.PeopleEntry{ID: id.String(), ProgramID: s.program(r).ID.String(), Actor: s.actor(r), UserID: m.ID}
	said := ""
	switch r.PostFormValue("do") {
	case "role":
		e.Act, e.Role = db.PeopleRole, authz.Role(r.PostFormValue("role"))
		said = m.Name + " is " + sequence.RoleWords(e.Role) + " now."
	case "remove":
		e.Act, said = db.PeopleRemove, m.Name+" has no role in this program any more."
	case "disable":
		e.Act, said = db.PeopleDisable, "The account of "+m.Name+" is shut."
	case "sign_out":
		e.Act, said = db.PeopleSignOut, m.Name+" is signed out everywhere."
	case "revoke":
		e.Act, said = db.PeopleRevoke, "The token is revoked."
		if e.TokenID, err = uuid.Parse(r.PostFormValue("token")); err != nil {
			return fault.New(fault.Malformed, "the form does not say which token")
		}
	case "enable":
		e.Act, said = db.PeopleEnable, "The account of "+m.Name+" is open again."
	default:
		return fault.New(fault.Malformed, "the form does not say what to do")
	}
	if (e.Act == db.PeopleDisable || e.Act == db.PeopleEnable) && !s.can(r, authz.ManageSite) {
		return fault.New(fault.Forbidden, "only an administrator of the installation shuts and opens accounts")
	}
	self := m.ID == s.user(r).ID
	if self && e.Act == db.PeopleDisable {
		err = fault.New(fault.Refused, "this is your own account: another administrator of the installation can shut it")
	} else {
		_, err = s.store.EditPeople(r.Context(), e)
	}
	if form, status, ok := refused(r, err); ok {
		return s.memberPage(w, r, status, m, form, "")
	}
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, said)
	switch {
	case self && e.Act == db.PeopleSignOut:
		return seeOther(w, r, "/login")
	case self && e.Act == db.PeopleRemove && !s.can(r, authz.ManageSite):
		return seeOther(w, r, "/") // the program is out of sight now
	case self && e.Act == db.PeopleRole && e.Role != authz.Administrator && !s.can(r, authz.ManageSite):
		return seeOther(w, r, s.program(r).Path("ends"))
	}
	return seeOther(w, r, s.program(r).Path("people"))
}
