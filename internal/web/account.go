package web

import (
	"cmp"
	"net/http"
	"slices"
	"strconv"

	"github.com/google/uuid"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
	"endcast/internal/password"
	"endcast/views/account"
	"endcast/views/ui"
)

// accountPrograms lists the programs in which a person has a role; all of them to
// the administrator of the installation.
func (s *Server) accountPrograms(w http.ResponseWriter, r *http.Request) error {
	person := visitOf(r.Context()).person
	ids := []uuid.UUID{}
	for id := range person.Roles {
		ids = append(ids, id)
	}
	if person.SiteAdmin {
		ids = nil
	}
	heads, err := s.cfg.ListPrograms(r.Context(), ids)
	if err != nil {
		return err
	}
	slices.SortFunc(heads, func(a, b ProgramHead) int {
		return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID.String(), b.ID.String()))
	})
	rows := make([]account.ProgramRow, len(heads))
	for i, h := range heads {
		role := string(person.Roles[h.ID])
		if role == "" {
			role = "keeps the installation"
		}
		rows[i] = account.ProgramRow{Name: h.Name, Bridge: h.Bridge, Role: role, Href: h.Path()}
	}
	return s.render(w, r, http.StatusOK, account.Programs(s.page(r, "Programs"), rows, s.can(r, authz.CreateProgram)))
}

// accountShow shows a person's own account.
func (s *Server) accountShow(w http.ResponseWriter, r *http.Request) error {
	return s.accountPage(w, r, http.StatusOK, nil)
}

func (s *Server) accountPage(w http.ResponseWriter, r *http.Request, status int, bad *fault.Invalid) error {
	return s.accountTyped(w, r, status, account.View{Bad: bad})
}

// accountTyped shows the account with what was sent and what was made of it.
func (s *Server) accountTyped(w http.ResponseWriter, r *http.Request, status int, v account.View) error {
	u := s.user(r)
	v.Name, v.Email, v.Theme, v.MinPassword = u.Name, u.Email, themeOf(r), strconv.Itoa(password.MinLength)
	if u.Units != nil {
		v.Units = *u.Units
	}
	if err := s.accountSessions(r, &v); err != nil {
		return err
	}
	if err := s.accountTokens(r, &v); err != nil {
		return err
	}
	var err error
	if v.Notices, err = s.accountChoices(r); err != nil {
		return err
	}
	return s.render(w, r, status, account.Page(s.page(r, "Account"), v))
}

// accountReading stores in which units and on which ground a person reads.
func (s *Server) accountReading(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	var own *string
	if typed := r.PostFormValue("units"); typed != "" {
		system, err := units.ParseSystem(typed)
		if err != nil {
			return fault.Wrap(fault.Malformed, err, "there are no such units")
		}
		word := string(system)
		own = &word
	}
	if err := s.people.SetUnits(r.Context(), s.user(r).ID, own); err != nil {
		return err
	}
	s.setTheme(w, r.PostFormValue("theme"))
	s.flash(r, ui.Done, "Saved.")
	return seeOther(w, r, "/account")
}

// accountPassword changes a person's own password and ends their other sessions.
func (s *Server) accountPassword(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	ctx, id := r.Context(), s.user(r).ID
	c, err := s.people.CredentialsByID(ctx, id)
	if err != nil {
		return err
	}
	ok, _, err := password.Matches(r.PostFormValue("current"), c.PasswordHash)
	if err != nil {
		return err
	}
	plain := r.PostFormValue("password")
	var bad fault.Invalid
	if !ok {
		bad.Add("current", "", "current password is not that of the account")
	}
	if reason := password.Check(plain); reason != "" {
		bad.Add("password", "", reason)
	}
	if plain != r.PostFormValue("again") {
		bad.Add("again", "", "new password and its repetition differ")
	}
	if bad.Err() != nil {
		return s.accountPage(w, r, http.StatusUnprocessableEntity, &bad)
	}
	hash, err := password.Hash(plain)
	if err != nil {
		return err
	}
	epoch, err := s.people.SetPassword(ctx, id, hash)
	if err != nil {
		return err
	}
	if err := s.openSession(r, id, epoch, db.ByPassword); err != nil {
		return err
	}
	s.flash(r, ui.Done, "Password changed. Every other session of this account is over.")
	return seeOther(w, r, "/account")
}

const themeCookie = "theme"

// themeOf returns "light", "dark", or "" for what the device prefers.
func themeOf(r *http.Request) string {
	if c, err := r.Cookie(themeCookie); err == nil && (c.Value == "light" || c.Value == "dark") {
		return c.Value
	}
	return ""
}

// setTheme keeps the ground in this browser, for a year; any other word forgets it.
func (s *Server) setTheme(w http.ResponseWriter, theme string) {
	c := &http.Cookie{Name: themeCookie, Value: theme, Path: "/", MaxAge: 365 * 24 * 3600, HttpOnly: true, Secure: s.secure, SameSite: http.SameSiteLaxMode}
	if theme != "light" && theme != "dark" {
		c.Value, c.MaxAge = "", -1
	}
	http.SetCookie(w, c)
}
