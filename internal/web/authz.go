package web

import (
	"net/http"
	"net/url"
	"strings"
	"unicode/utf8"

	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
)

const programPrefix = "/p/{program}"

// apiProgram is programPrefix for programs that ask.
const apiProgram = apiPrefix + "v1" + programPrefix

// gate lets a request through to a route's handler if the table allows it. A
// program in which the person has no role is not found, not forbidden: nobody
// learns which programs exist.
func (s *Server) gate(rt route) http.Handler {
	inProgram := strings.HasPrefix(rt.pattern+"/", programPrefix+"/") || strings.HasPrefix(rt.pattern+"/", apiProgram+"/")
	limit := rt.body
	if limit == 0 {
		limit = bodyLimit
	}
	return s.answer(func(w http.ResponseWriter, r *http.Request) error {
		v := visitOf(r.Context())
		v.pattern = rt.pattern
		if rt.action != authz.Public && v.user == nil {
			if isAPI(rt.pattern) {
				return askToken(w, r)
			}
			if r.Method == http.MethodGet || r.Method == http.MethodHead {
				if !wantsJSON(r) {
					http.Redirect(w, r, "/login?next="+url.QueryEscape(r.URL.RequestURI()), http.StatusSeeOther)
					return nil
				}
			}
			return fault.New(fault.SignIn, "sign in first: nobody is signed in here, or the session is over")
		}
		for _, part := range chi.RouteContext(r.Context()).URLParams.Values {
			if !plainText(part) {
				return fault.New(fault.NotFound, "there is no page at this address")
			}
		}
		if inProgram {
			if err := s.enterProgram(r, v); err != nil {
				return err
			}
		}
		program := uuid.Nil
		if v.program != nil {
			program = v.program.ID
		}
		if !authz.MayAtSomeStep(v.person, program, rt.action) {
			return fault.New(fault.Forbidden, "your role does not allow this")
		}
		r.Body = http.MaxBytesReader(w, r.Body, limit)
		return rt.handler(w, r)
	})
}

// plainText reports whether a text can be stored: the database holds neither NUL
// nor bytes that are not UTF-8.
func plainText(s string) bool { return utf8.ValidString(s) && !strings.ContainsRune(s, 0) }

// enterProgram finds the program of the address and notes it, if the person has
// anything to do there.
func (s *Server) enterProgram(r *http.Request, v *visit) error {
	unknown := fault.New(fault.NotFound, "there is no such program, or you have no role in it")
	head, err := s.cfg.FindProgram(r.Context(), chi.URLParam(r, "program"))
	if fault.KindOf(err) == fault.NotFound && err != nil {
		return unknown
	}
	if err != nil {
		return err
	}
	if !authz.Can(v.person, head.ID, authz.SeeProgram) {
		return unknown
	}
	v.program = &head
	return nil
}

// can reports whether the person who asks may do an action in the program of the
// request: for pages, which get booleans.
func (s *Server) can(r *http.Request, a authz.Action) bool {
	v := visitOf(r.Context())
	program := uuid.Nil
	if v.program != nil {
		program = v.program.ID
	}
	return authz.Can(v.person, program, a)
}

// canStep is can for a step that names the roles it is for.
func (s *Server) canStep(r *http.Request, a authz.Action, named []authz.Role) bool {
	v := visitOf(r.Context())
	if v.program == nil {
		return false
	}
	return authz.CanStep(v.person, v.program.ID, a, named)
}
