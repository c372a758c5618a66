package web

import (
	"net/http"
	"strconv"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
)

// actor is who acts in the program of the request, in their role there.
func (s *Server) actor(r *http.Request) repair.Actor {
	v := visitOf(r.Context())
	a := repair.Actor{ID: v.user.ID.String(), Name: v.user.Name, Role: v.person.Roles[v.program.ID]}
	if a.Role == "" && v.person.SiteAdmin {
		a.Role = authz.Administrator
	}
	if v.token != nil {
		a.Through = v.token.Name
	}
	return a
}

// edit sends one change to ends through the store's one door, under the entry id
// of the form. Captured is when it was seen or done; zero means now.
func (s *Server) edit(r *http.Request, ends []db.EndRef, captured time.Time, change repair.Change) (db.Receipt, error) {
	id, err := entry(r)
	if err != nil {
		return db.Receipt{}, err
	}
	return s.store.Edit(r.Context(), db.Entry{ID: id.String(), ProgramID: s.program(r).ID.String(), Actor: s.actor(r),
		Captured: captured, Ends: ends, Change: change})
}

// seen reads the version of the end that the form was made from (field version).
func seen(r *http.Request, endID string) ([]db.EndRef, error) {
	if err := parseForm(r); err != nil {
		return nil, err
	}
	v, err := strconv.ParseInt(r.PostFormValue("version"), 10, 64)
	if err != nil || v < 1 {
		return nil, fault.New(fault.Malformed, "the form does not say which version of the record it was made from: load the page again")
	}
	return []db.EndRef{{ID: endID, Version: v}}, nil
}
