package web

import (
	"fmt"
	"net/http"
	"net/url"

	"endcast/internal/domain/sequence"
	"endcast/views/ui"
	"endcast/views/work"
)

// workShow is the manager's page: open ends by step and by what blocks them,
// oldest first, each count a link to its list.
func (s *Server) workShow(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	steps, reasons, err := s.store.Tallies(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	p, err := s.store.Program(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	today := s.store.Today(p)
	base := head.Path("ends")
	v := work.View{}
	all, closed := 0, 0
	for _, t := range steps {
		all += t.Count
		if t.Ord == 9999 {
			closed = t.Count
		}
	}
	for _, t := range steps {
		row := work.Step{Name: t.Name, Href: base + "?" + url.Values{"step": {t.Key}}.Encode(), Count: t.Count, Share: 100 * t.Count / max(all, 1),
			First: t.First, FirstHref: head.Path("ends", t.First)}
		if t.Ord == 9999 {
			row.Name, row.Href, row.First = "Every step done", base+"?show=closed", ""
		} else if t.Oldest != nil {
			row.Oldest = days(*t.Oldest, today)
		}
		v.Steps = append(v.Steps, row)
	}
	for _, t := range reasons {
		words := "free to go on"
		mark := ui.Mark{State: ui.Active, Text: words}
		if t.Key != "" {
			words = sequence.Reason(t.Key).Words()
			mark = ui.Mark{State: ui.Wait, Text: words}
			if t.Track == string(sequence.Paper) {
				mark.State = ui.Caution
			}
			if t.Key == string(sequence.CriticalFinding) {
				mark.State = ui.Stop
			}
		}
		row := work.Reason{Reason: words, Mark: mark, Count: t.Count, First: t.First, FirstHref: head.Path("ends", t.First),
			Href: base + "?" + url.Values{"show": {"open"}, "reason": {t.Key}, "order": {"oldest"}}.Encode()}
		if t.Track != "" {
			row.Track = sequence.Track(t.Track).Words()
		}
		if t.Actor != "" {
			row.Actor = sequence.RoleWords(sequence.Role(t.Actor))
		}
		if t.Oldest != nil {
			row.Oldest = days(*t.Oldest, today)
		}
		v.Reasons = append(v.Reasons, row)
	}
	v.Sentence = fmt.Sprintf("%d of %d ends are closed, %d are open.", closed, all, all-closed)
	return s.render(w, r, http.StatusOK, work.Page(s.page(r, "Work"), v))
}
