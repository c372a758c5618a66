package web

import (
	"fmt"
	"net/http"

	"endcast/internal/domain/girder"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
)

// chooseEnd is an end among which a shift is chosen.
type chooseEnd struct {
	Name     string `json:"name"`
	Span     int    `json:"span"`
	Side     string `json:"side"`
	Girder   int    `json:"girder"`
	Reading  string `json:"reading"`
	Support  string `json:"support"`
	StepCode string `json:"step_code"`
	Step     string `json:"step"`
	Access   string `json:"access"`
	Mine     bool   `json:"mine"`
	Says     string `json:"says"`
}

// chooseWindow is an access window that is still to come or under way.
type chooseWindow struct {
	Kind string `json:"kind"`
	Says string `json:"says"`
}

// tabletChoice lists the ends of the program with what a shift is chosen by.
func (s *Server) tabletChoice(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	frame, err := s.store.Frame(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	rows, err := s.store.TabletEnds(r.Context(), head.ID.String(), string(s.actor(r).Role))
	if err != nil {
		return err
	}
	out := struct {
		Ends    []chooseEnd    `json:"ends"`
		Windows []chooseWindow `json:"windows"`
		Open    string         `json:"open"` // the access that needs no window
	}{[]chooseEnd{}, []chooseWindow{}, repair.OpenAccess}
	for _, row := range rows {
		n, err := girder.ParseName(row.Name)
		if err != nil {
			return fmt.Errorf("choice of ends: %w", err)
		}
		out.Ends = append(out.Ends, chooseEnd{Name: row.Name, Span: n.Span, Side: string(n.Side), Girder: row.Girder, Reading: row.SupportName + ", " + row.Face + " face", Support: row.SupportName,
			StepCode: row.StepCode, Step: stepOrClosed(row.State), Access: row.Access, Mine: row.Mine, Says: row.ReasonText})
	}
	now, zone := s.store.Today(frame.Program), zoneOf(frame.Program)
	for _, x := range frame.Windows {
		if x.EndsAt.After(now) && x.State != "lost" && x.State != "used" {
			out.Windows = append(out.Windows, chooseWindow{x.Kind, x.StartsAt.In(zone).Format(moment) + " to " + x.EndsAt.In(zone).Format("15:04") + ", " + x.Kind})
		}
	}
	return s.tabletJSON(w, out)
}

// tabletWho says who is signed in, and what time the server has.
func (s *Server) tabletWho(w http.ResponseWriter, r *http.Request) error {
	a := s.actor(r)
	return s.tabletJSON(w, map[string]any{"user": a.ID, "name": a.Name, "role": sequence.RoleWords(a.Role), "now": s.now().UTC(), "version": s.tabletVersion()})
}
