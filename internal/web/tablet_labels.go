package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"github.com/go-chi/chi/v5"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/repair"
	"endcast/views/tablet"
	"endcast/views/ui"
)

// tabletLabels is a sheet of labels, of every end or of one line of ends.
func (s *Server) tabletLabels(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	rows, err := s.store.TabletEnds(r.Context(), head.ID.String(), string(s.actor(r).Role))
	if err != nil {
		return err
	}
	sc, err := s.store.States(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	approvals, err := s.approvals(r.Context(), sc)
	if err != nil {
		return err
	}
	printed := s.store.Today(sc.Program).In(zoneOf(sc.Program)).Format("2006-01-02")
	v := tablet.Labels{All: head.Path("labels")}
	asked := r.URL.Query().Get("line")
	for _, row := range rows {
		n, err := girder.ParseName(row.Name)
		if err != nil {
			return fmt.Errorf("labels: %w", err)
		}
		line := fmt.Sprintf("%d%s", n.Span, string(n.Side))
		title := fmt.Sprintf("Span %d, %s end", n.Span, sideWords[string(n.Side)])
		if len(v.Lines) == 0 || v.Lines[len(v.Lines)-1].Title != title {
			v.Lines = append(v.Lines, tablet.Line{Title: title, Current: line == asked, Href: v.All + "?" + url.Values{"line": {line}}.Encode()})
		}
		if asked != "" && asked != line {
			continue
		}
		if asked != "" {
			v.Title = title
		}
		address := strings.TrimSuffix(s.base.String(), "/") + head.Path("tablet", "at", row.Name)
		code, err := tablet.Encode(address)
		if err != nil {
			return err
		}
		v.Labels = append(v.Labels, tablet.Label{Name: row.Name, Reading: row.SupportName + ", " + row.Face + " face", Program: head.Name, Address: address, Code: code,
			Approval: labelMark(approvals[row.Name]), Printed: printed})
	}
	if asked != "" && v.Title == "" {
		return fault.New(fault.NotFound, "the bridge has no line of girder ends %.10q", asked)
	}
	return s.render(w, r, http.StatusOK, tablet.LabelsPage(s.page(r, "Labels", ui.Crumb{Label: "Bridge", Href: head.Path()}), v))
}

// labelMark is an approval as short as a label has room for.
func labelMark(a repair.Approval) ui.Mark {
	m := approvalMark(a)
	if a.Standing != repair.ApprovalNone {
		m.Text += ", revision " + numberOf(a.Revision)
	}
	m.Text += "."
	return m
}

// tabletAt is where a label leads: to the end on the tablet for those who work
// there, to its record for others.
func (s *Server) tabletAt(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	sc, err := s.store.End(r.Context(), head.ID.String(), chi.URLParam(r, "end"))
	if err != nil {
		return err
	}
	name := sc.Ends[0].End.Name
	v := visitOf(r.Context())
	if s.answers(programPrefix+"/tablet") && authz.MayAtSomeStep(v.person, head.ID, authz.CompleteStep) {
		return seeOther(w, r, head.Path("tablet")+"?"+url.Values{"end": {name}}.Encode())
	}
	if s.mayWork(r) {
		return seeOther(w, r, head.Path("ends", name, "field"))
	}
	return seeOther(w, r, head.Path("ends", name))
}
