package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/sequence"
	"endcast/views/field"
	"endcast/views/ui"
)

// fieldWaiting is how many waiting ends the first page shows.
const fieldWaiting = 12

// fieldStart asks where the reader is: span and side first, then the girder.
func (s *Server) fieldStart(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	id := head.ID.String()
	program, err := s.store.Program(r.Context(), id)
	if err != nil {
		return err
	}
	role := s.actor(r).Role
	lines, err := s.store.EndLines(r.Context(), id, string(role))
	if err != nil {
		return err
	}
	v := field.Start{Role: sequence.RoleWords(role), Raised: head.Path("nonconformances")}
	q := r.URL.Query()
	today := s.store.Today(program)
	for _, l := range lines {
		line := fieldLine(head, l)
		v.Lines = append(v.Lines, line)
		v.More += l.Waiting
		if q.Get("span") == strconv.Itoa(l.Span) && q.Get("side") == l.Side {
			v.Chosen = &line
			rows, err := s.store.LineEnds(r.Context(), id, string(role), l.Span, l.Side)
			if err != nil {
				return err
			}
			v.Ends = fieldCards(head, rows, today)
		}
	}
	if q.Has("span") && v.Chosen == nil {
		return fault.New(fault.NotFound, "the bridge has no such line of girder ends")
	}
	title := "Field"
	var way []ui.Crumb
	if v.Chosen != nil {
		title = v.Chosen.Title
		way = []ui.Crumb{{Label: "Field", Href: head.Path("field")}}
	} else {
		rows, err := s.store.ActorEnds(r.Context(), id, string(role), fieldWaiting)
		if err != nil {
			return err
		}
		v.Waiting = fieldCards(head, rows, today)
		v.More -= len(v.Waiting)
	}
	p := s.page(r, title, way...)
	p.Field = true
	return s.render(w, r, http.StatusOK, field.StartPage(p, v))
}

var sideWords = map[string]string{"N": "near", "F": "far"}

func fieldLine(head ProgramHead, l db.EndLine) field.Line {
	counts := fmt.Sprintf("%d ends, %d open", l.Ends, l.Open)
	if l.Waiting > 0 {
		counts += fmt.Sprintf(", %d for you", l.Waiting)
	}
	return field.Line{Title: fmt.Sprintf("Span %d, %s end", l.Span, sideWords[l.Side]), Reading: l.Support + ", " + l.Face + " face", Counts: counts, Waiting: l.Waiting,
		Critical: l.Critical > 0, Href: head.Path("field") + "?" + url.Values{"span": {strconv.Itoa(l.Span)}, "side": {l.Side}}.Encode()}
}

func fieldCards(head ProgramHead, rows []db.FieldEnd, today time.Time) []field.EndCard {
	var out []field.EndCard
	for _, x := range rows {
		card := field.EndCard{Name: x.Name, Reading: x.SupportName + ", " + x.Face + " face", Href: head.Path("ends", x.Name, "field"), Step: stepOrClosed(x.State),
			Mark: blockMark(x.State), Mine: x.Mine}
		if x.Since != nil && !x.Closed {
			card.Since = "for " + days(*x.Since, today) + " days"
		}
		out = append(out, card)
	}
	return out
}

// fieldEnd is what the reader may do at one end.
func (s *Server) fieldEnd(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	st := e.state()
	head := e.head()
	head.Field = ""
	v := field.EndField{Head: head, Step: stepOrClosed(st), Tasks: e.tasks()}
	if st.ReasonText != "" && !st.Closed {
		v.Blocked = append(v.Blocked, ui.Mark{State: blockMark(st).State, Text: st.ReasonText})
	}
	if d := e.rec.DesignInForce(); d != nil {
		v.OutOfDate, _ = e.designWarnings(d)
	}
	for _, n := range e.rec.Nonconformances {
		if n.ClosedAt != nil {
			continue
		}
		if n.Critical {
			v.Critical = append(v.Critical, fmt.Sprintf("nonconformance %d: %s", n.Number, n.Found))
		}
		v.Open = append(v.Open, field.Subject{Title: fmt.Sprintf("No. %d: %s", n.Number, n.Requirement), Says: n.Found, Href: s.program(r).Path("nonconformances", numberOf(n.Number)), Mark: nonconformanceMark(n)})
	}
	p := s.page(r, "Work at "+e.rec.End.Name, ui.Crumb{Label: "Field", Href: s.program(r).Path("field")})
	p.Field, p.Block = true, e.titleBlock()
	return s.render(w, r, http.StatusOK, field.EndPage(p, v))
}

// tasks are what the reader may record at an end, and what else is there to see.
func (e *endReader) tasks() []field.Task {
	var out []field.Task
	clean := ui.Mark{State: ui.Open, Text: "not yet"}
	if len(e.rec.Cleanings) > 0 {
		clean = ui.Mark{State: ui.Stop, Text: "not what is asked"}
		if e.rec.CleaningAssessment(e.sc).Acceptable {
			clean = ui.Mark{State: ui.Good, Text: "may be accepted"}
		}
	}
	out = append(out, field.Task{Title: "Cleaning", Says: "Grade of each zone, clock times, steel and air", Href: e.path("cleaning"), Mark: clean})
	if e.s.can(e.r, authz.RecordSurvey) && e.s.answers(programPrefix+"/ends/{end}/surveys/new") {
		out = append(out, field.Task{Title: "Survey", Says: "Readings of remaining thickness, holes", Href: e.path("surveys", "new")})
	}
	if d := e.rec.DesignInForce(); d != nil {
		m := e.studMap(d)
		c := m.counts()
		mark := ui.Mark{State: ui.Wait, Text: fmt.Sprintf("%d to look at", c[3].Count)}
		switch {
		case c[3].Count == 0 && c[2].Count == 0:
			mark = ui.Mark{State: ui.Good, Text: "every stud accepted"}
		case c[2].Count > 0:
			mark = ui.Mark{State: ui.Stop, Text: fmt.Sprintf("%d rejected or open, %d to look at", c[2].Count, c[3].Count)}
		}
		out = append(out, field.Task{Title: "Weld collars", Says: fmt.Sprintf("%d studs of revision %d", len(m.studs), d.Revision), Href: e.path("collars"), Mark: mark})
	}
	for _, c := range shiftChecks {
		out = append(out, field.Task{Title: c.title, Href: e.path("checks", c.key), Mark: c.last(e)})
	}
	out = append(out, field.Task{Title: "Release for casting", Says: "The list before casting: evidence, ticks, waivers, release", Href: e.path("release")})
	if len(e.inspectable()) > 0 {
		out = append(out, field.Task{Title: "Inspection", Says: "Curing, hardened panel, gauges, load path", Href: e.path("inspections", "new")})
	}
	if e.s.can(e.r, authz.RaiseNonconformance) {
		out = append(out, field.Task{Title: "Nonconformance", Says: "Something does not meet its requirement", Href: e.path("nonconformances", "new")})
	}
	return append(out, field.Task{Title: "Step and photographs", Says: "Complete the step, attach pictures", Href: e.path() + "#sequence"})
}
