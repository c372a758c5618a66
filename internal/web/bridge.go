package web

import (
	"net/http"
	"net/url"
	"strings"

	"endcast/internal/db"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/views/bridge"
	"endcast/views/drawing"
	"endcast/views/ends"
	"endcast/views/ui"
)

// planLimit is the number of ends up to which the plan draws a mark each.
const planLimit = 600

// bridgeShow is the page of the whole bridge.
func (s *Server) bridgeShow(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	id := head.ID.String()
	frame, err := s.store.Frame(r.Context(), id)
	if err != nil {
		return err
	}
	sum, err := s.store.Summarise(r.Context(), id)
	if err != nil {
		return err
	}
	v := bridge.View{Facts: programFacts(frame.Program), Figures: headCount(head, sum), All: head.Path("ends"), Orders: rankLinks(head)}
	if at, text := mockupMissing(head, frame); text != "" {
		v.Mockup = &bridge.Link{Label: ui.Sentence(text), Href: at}
	}
	if sum.Ends <= planLimit {
		marks, err := s.store.PlanEnds(r.Context(), id, planLimit)
		if err != nil {
			return err
		}
		v.Plan = s.plan(r, frame, marks)
	} else if v.Lines, err = s.bearingLines(r, head); err != nil {
		return err
	}
	const shown = 60
	list, err := s.store.ListEnds(r.Context(), id, db.ListFilter{}, "", 1, shown)
	if err != nil {
		return err
	}
	sys := s.units(r)
	today := s.store.Today(frame.Program)
	v.First = ends.List{Columns: endColumns(head.Path("ends"), url.Values{}, sys)}
	for _, st := range list.Rows {
		v.First.Rows = append(v.First.Rows, endRow(head, st, sys, today))
	}
	return s.render(w, r, http.StatusOK, bridge.Page(s.page(r, head.Name), v))
}

// mockupMissing says which mock-up's acceptance the first casting waits for, with its
// address; nothing once one is accepted.
func mockupMissing(head ProgramHead, frame *repair.Scope) (href, text string) {
	n, text := frame.MockupStanding()
	if n > 0 {
		return head.Path("mockups", numberOf(n)), text
	}
	return head.Path("mockups"), text
}

func programFacts(p repair.Program) []bridge.Fact {
	var out []bridge.Fact
	add := func(label, value string) {
		if strings.TrimSpace(value) != "" {
			out = append(out, bridge.Fact{Label: label, Value: value})
		}
	}
	add("Carries", p.Carries)
	add("Owner", p.Owner)
	add("Contract", p.Contract)
	if p.Today != nil {
		add("Today", p.Today.Format("Mon 2006-01-02"))
	}
	if p.CompletionDue != nil {
		add("Due", p.CompletionDue.Format("Mon 2006-01-02"))
	}
	return out
}

func headCount(head ProgramHead, sum db.Summary) []bridge.Figure {
	base := head.Path("ends")
	return []bridge.Figure{
		{Label: "ends", Href: base, Value: sum.Ends, Mark: ui.Open},
		{Label: "closed", Href: base + "?show=closed", Value: sum.Closed, Mark: ui.Good},
		{Label: "open", Href: base + "?show=open&order=oldest", Value: sum.Ends - sum.Closed, Mark: ui.Active},
		{Label: "open, capacity below demand", Href: base + "?show=short&order=ratio", Value: sum.Short, Mark: ui.Stop},
		{Label: "designs wait for review", Href: base + "?show=review", Value: sum.Waiting, Mark: ui.Wait},
		{Label: "designs out of date", Href: base + "?show=outofdate", Value: sum.OutOfDate, Mark: ui.Caution},
		{Label: "with open nonconformances", Href: base + "?show=nonconformance", Value: sum.NCR, Mark: ui.Caution},
	}
}

func (s *Server) plan(r *http.Request, frame *repair.Scope, marks []db.PlanEnd) *drawing.PlanData {
	head := s.program(r)
	d := &drawing.PlanData{Title: head.Name, System: s.units(r), SkipTo: "ends"}
	skew := map[string]float64{}
	for _, m := range marks {
		skew[m.Support] = float64(m.Skew)
		e := drawing.PlanEnd{Name: girder.Name{Span: m.Span, Side: girder.Side(m.Side), Girder: m.Girder}, Href: head.Path("ends", m.Name),
			Phase: drawing.PhaseOf(m.StepCode, m.Closed), Step: strings.ToLower(m.StepName), Blocked: sequence.Track(m.Track), Why: m.Why,
			OutOfDate: m.OutOfDate, Nonconformance: m.NCR > 0, Critical: m.Critical}
		if m.Closed {
			e.Step, e.Blocked, e.Why = "closed", "", ""
		}
		d.Ends = append(d.Ends, e)
	}
	for _, sup := range frame.Supports {
		d.Supports = append(d.Supports, drawing.Support{Code: sup.Code, Name: sup.Name, Station: sup.Station, Skew: units.Angle(skew[sup.Code])})
	}
	for _, sp := range frame.Spans {
		d.Spans = append(d.Spans, drawing.Span{Number: sp.Number, Length: sp.Length, Girders: sp.Girders, Spacing: sp.Spacing, Continuous: sp.ContinuousNext})
	}
	return d
}

func (s *Server) bearingLines(r *http.Request, head ProgramHead) ([]bridge.Line, error) {
	counts, err := s.store.LineCounts(r.Context(), head.ID.String())
	if err != nil {
		return nil, err
	}
	var out []bridge.Line
	for _, c := range counts {
		if n := len(out); n == 0 || out[n-1].Support != c.Support || out[n-1].Face != c.Face {
			out = append(out, bridge.Line{Support: c.Support, Face: c.Face, Href: head.Path("ends") + "?" + url.Values{"support": {c.Support}}.Encode()})
		}
		l := &out[len(out)-1]
		l.Ends += c.Count
		if !c.Closed {
			l.Open += c.Count
		}
	}
	return out, nil
}
