package web

import (
	"bytes"
	"fmt"
	"net/http"
	"strings"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
	"endcast/views/ui"
)

// indexed is one page of the index.
type indexed struct{ label, suffix string }

// sheets is the index of a program's pages in the order shown, in groups. An entry
// appears once a route answers there and the person may ask for it.
var sheets = []struct {
	group string
	list  []indexed
}{
	{"Bridge", []indexed{
		{"Bridge", ""},
		{"Dashboard", "/board"},
		{"Ends", "/ends"},
		{"Repair first", "/first"},
		{"Work", "/work"},
		{"Notices", "/notices"},
	}},
	{"Time", []indexed{
		{"Windows", "/windows"},
		{"Crews and stock", "/planning"},
		{"Forecast", "/forecast"},
	}},
	{"Field", []indexed{
		{"Field", "/field"},
		{"Tablet", "/tablet"},
		{"Kept aside", "/aside"},
		{"Labels", "/labels"},
	}},
	{"Design", []indexed{
		{"Designs to review", "/reviews"},
		{"Families", "/families"},
		{"Spans", "/spans"},
		{"Vehicles", "/vehicles"},
		{"Procedures", "/procedures"},
	}},
	{"Casting and quality", []indexed{
		{"Pours", "/pours"},
		{"Laboratory", "/laboratory"},
		{"Mock-ups", "/mockups"},
		{"Stud quality", "/stud-quality"},
		{"Nonconformances", "/nonconformances"},
	}},
	{"Record", []indexed{
		{"Documents", "/documents"},
		{"Import and export", "/files"},
		{"History", "/history"},
	}},
	{"Rules", []indexed{
		{"Sequence", "/sequence"},
		{"Basis", "/basis"},
		{"People", "/people"},
		{"Program", "/program"},
	}},
}

// page returns the frame for a page of this request. It takes the waiting messages
// with it, so call it once, when the page is going to be shown.
func (s *Server) page(r *http.Request, title string, way ...ui.Crumb) ui.Page {
	v := visitOf(r.Context())
	p := ui.Page{Title: title, Crumbs: way, Release: s.cfg.Release, Theme: themeOf(r)}
	if v.framed {
		p.Flashes = s.takeFlashes(r.Context())
	}
	if v.user == nil {
		return p
	}
	p.Person = &ui.Person{Name: v.user.Name, Demo: v.user.Demo}
	if v.program == nil {
		return p
	}
	p.Person.Role = string(v.person.Roles[v.program.ID])
	p.Program = &ui.Program{Name: v.program.Name, Bridge: v.program.Bridge, Href: v.program.Path()}
	p.Nav = s.nav(v)
	s.countReviews(r, p.Nav)
	s.countAsides(r, p.Nav)
	return p
}

func (s *Server) nav(v *visit) []ui.NavItem {
	root := v.program.Path()
	var out []ui.NavItem
	for _, g := range sheets {
		for _, sh := range g.list {
			for _, rt := range s.routes {
				if rt.method != get || rt.pattern != programPrefix+sh.suffix || !authz.MayAtSomeStep(v.person, v.program.ID, rt.action) {
					continue
				}
				// The pattern and not the address: a program has an address by code and one by id.
				current := v.pattern == rt.pattern || (sh.suffix != "" && strings.HasPrefix(v.pattern, rt.pattern+"/"))
				out = append(out, ui.NavItem{Group: g.group, Label: sh.label, Href: root + sh.suffix, Current: current})
			}
		}
	}
	return out
}

// render writes a component as a whole page. It is rendered to memory first, so
// that a failure half-way becomes an error page and not half a page.
func (s *Server) render(w http.ResponseWriter, r *http.Request, status int, c templ.Component) error {
	var buf bytes.Buffer
	ctx := templ.WithNonce(r.Context(), visitOf(r.Context()).nonce)
	if err := c.Render(ctx, &buf); err != nil {
		return fmt.Errorf("render %s: %w", r.URL.Path, err)
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	if h.Get("Cache-Control") == "" {
		h.Set("Cache-Control", "private, no-cache")
	}
	w.WriteHeader(status)
	_, _ = buf.WriteTo(w)
	return nil
}

// seeOther sends the browser on after a change, so that reloading repeats nothing.
func seeOther(w http.ResponseWriter, r *http.Request, path string) error {
	http.Redirect(w, r, path, http.StatusSeeOther)
	return nil
}

// user returns who is signed in. Call it only behind a route that is not public.
func (s *Server) user(r *http.Request) db.User {
	if u := visitOf(r.Context()).user; u != nil {
		return *u
	}
	return db.User{}
}

// program returns the program of the request. Call it only behind /p/{program}.
func (s *Server) program(r *http.Request) ProgramHead {
	if p := visitOf(r.Context()).program; p != nil {
		return *p
	}
	return ProgramHead{}
}

// units returns in which units the person reads this page: their own choice, or
// the program's.
func (s *Server) units(r *http.Request) units.System {
	v := visitOf(r.Context())
	if v.user != nil && v.user.Units != nil {
		return units.System(*v.user.Units)
	}
	if v.program != nil && v.program.Units != "" {
		return v.program.Units
	}
	return units.US
}

// entry returns the id of the entry that a form carries (ui.EntryField), or of the
// Idempotency-Key header for a client that sends no form. A request that carries
// none cannot be told from its repetition and is refused.
func entry(r *http.Request) (uuid.UUID, error) {
	text := r.Header.Get("Idempotency-Key")
	if text == "" {
		if err := parseForm(r); err != nil {
			return uuid.Nil, err
		}
		text = r.PostFormValue("entry")
	}
	id, err := uuid.Parse(text)
	if err != nil || id == uuid.Nil {
		return uuid.Nil, fault.New(fault.Malformed, "the entry number of the form is missing or cannot be read: load the page again")
	}
	return id, nil
}

// parseForm reads the form of a request, plain or with files, and says in one way
// what was wrong with it.
func parseForm(r *http.Request) error {
	var err error
	if strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/form-data") {
		err = r.ParseMultipartForm(1 << 20)
	} else {
		err = r.ParseForm()
	}
	if err == nil {
		for name, values := range r.Form {
			for _, v := range values {
				if !plainText(name) || !plainText(v) {
					return fault.New(fault.Malformed, "the form holds bytes that are no text")
				}
			}
		}
		return nil
	}
	if k := fault.KindOf(asTooLarge(err)); k == fault.TooLarge {
		return asTooLarge(err)
	}
	return fault.Wrap(fault.Malformed, err, "the form could not be read")
}
