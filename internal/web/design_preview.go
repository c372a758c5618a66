package web

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"endcast/internal/domain/encasement"
	"endcast/internal/domain/fault"
	"endcast/views/design"
)

// designPreview draws and checks what is typed without storing it, after it has
// done to it what the button asks: lay out a pattern, propose, add or remove a
// stud.
func (s *Server) designPreview(w http.ResponseWriter, r *http.Request) error {
	d, err := s.openDesk(r)
	if err != nil {
		return err
	}
	do := r.PostFormValue("do")
	switch {
	case do == "preview":
		d.strict = true
	case do == "pattern":
		if bad := d.typed.layPattern(d.sys); bad != nil {
			d.said.Bad = bad
			return d.page(w, http.StatusUnprocessableEntity)
		}
	case do == "propose":
		d.propose(false)
	case do == "nearest":
		d.propose(true)
	case do == "add":
		d.typed.addStud(d.sys)
	case strings.HasPrefix(do, "drop-"):
		if n, err := strconv.Atoi(strings.TrimPrefix(do, "drop-")); err == nil && n >= 1 && n <= len(d.typed.studs) {
			d.typed.studs = append(d.typed.studs[:n-1], d.typed.studs[n:]...)
		}
	}
	status := http.StatusOK
	if d.said.Bad != nil {
		status = http.StatusUnprocessableEntity
	}
	return d.page(w, status)
}

// openDesk loads the end and takes what its form holds.
func (s *Server) openDesk(r *http.Request) (*designDesk, error) {
	if err := parseForm(r); err != nil {
		return nil, err
	}
	e, err := s.openEnd(r)
	if err != nil {
		return nil, err
	}
	version, err := strconv.Atoi(r.PostFormValue("version"))
	if err != nil || version < 1 {
		return nil, fault.New(fault.Malformed, "the form does not say which version of the record it was made from: load the page again")
	}
	id, err := entry(r)
	if err != nil {
		return nil, err
	}
	return &designDesk{endReader: e, typed: readDesignTyped(r.PostForm), entry: id.String(), version: version, guarded: true}, nil
}

// propose replaces studs and panel by a layout that passes, or says why there is
// none; with nearest it takes the one that comes nearest then.
func (d *designDesk) propose(nearest bool) {
	in, bad := d.typed.read(d.sys)
	if bad != nil {
		mine := &fault.Invalid{}
		for _, f := range materialFields {
			if p := bad.Of(f.name); p != nil {
				mine.Fields = append(mine.Fields, *p)
			}
		}
		if mine.Err() != nil {
			d.said.Bad = mine
			return
		}
	}
	layout, err := encasement.Propose(d.sc.Basis(), d.rec.Geometry(d.sc), d.rec.Steel(d.sc), d.rec.Demand(d.sc).Factored,
		encasement.Materials{StudDiameter: in.StudDiameter, StudHeight: in.StudHeight, StudFu: in.StudFu, Fc: in.Fc})
	none, ok := errors.AsType[*encasement.NoLayout](err)
	switch {
	case ok && nearest && none.Nearest != nil:
		d.typed.take(*none.Nearest, d.sys)
		d.said.Done = "The nearest layout is drawn. It does not carry the demand."
	case ok:
		d.said.NoLayout = &design.NoLayout{Reason: none.Reason}
		if none.Nearest != nil {
			d.said.NoLayout.Nearest = "The nearest, " + strconv.Itoa(len(none.Nearest.Studs)) + " studs and a panel " +
				none.Nearest.Panel.Width.Format(d.sys, -1) + " wide, carries " + none.Carries.Format(d.sys, -1) + " of " + none.Demand.Format(d.sys, -1) + "."
		}
	case err != nil:
		if v, ok := asFields(err); ok {
			d.said.Bad = d.typed.named(v, d.sys)
		} else {
			d.said.Problem = sentence(err)
		}
	default:
		d.typed.take(layout, d.sys)
		d.said.Done = "A layout that passes every check is drawn: " + strconv.Itoa(len(layout.Studs)) + " studs. It is a start for the designer, who owns the design; nothing is stored yet."
	}
}
