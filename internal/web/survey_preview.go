package web

import (
	"fmt"
	"net/http"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
	"endcast/views/drawing"
	view "endcast/views/survey"
)

// surveyPreview answers with what the findings typed so far leave of the end, as a
// piece of a page. It stores nothing.
func (s *Server) surveyPreview(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	t, err := typedSurvey(r)
	if err != nil {
		return err
	}
	w.Header().Set("Cache-Control", "no-store")
	return s.render(w, r, http.StatusOK, view.Fragment(e.preview(t, e.keptOf(r))))
}

// preview evaluates what was typed. Boxes that cannot be read are named and left
// out of the numbers.
func (e *endReader) preview(t *surveyTyped, k kept) view.Preview {
	read := t.read(e.sys, k)
	read.validate(e)
	p := view.Preview{Problems: problemsOf(t, &read.bad)}
	if len(p.Problems) > 12 {
		p.Problems = p.Problems[:12]
	}
	sv := read.sound()
	if len(sv.Readings) == 0 && len(sv.Holes) == 0 || survey.Validate(e.rec.Geometry(e.sc), &sv, mostLenient(e)) != nil {
		p.Empty = true
		return p
	}
	ev, loss := e.rec.PreviewSurvey(e.sc, sv)
	sec, _ := e.sc.Section(e.rec.End.SectionID)
	p.Capacity, p.Demand, p.Ratio = ev.Capacity.Format(e.sys, -1), ev.Demand.Format(e.sys, -1), ratioText(overResistance(ev.Demand, ev.Capacity))
	p.Verdict, p.Governs, p.Warnings = verdictMark(ev.Verdict), ev.Governing, ev.Flags
	p.Loss, p.Least = share(loss), e.length(units.Length(float64(sec.WebThickness)*(1-loss)))
	p.Count = fmt.Sprint(len(sv.Readings))
	p.Before = "no survey yet"
	if st := e.state(); st.Capacity != nil {
		p.Before = fmt.Sprintf("%s, %s", st.Capacity.Format(e.sys, -1), verdictMark(storedVerdict(st.CapacityVerdict)).Text)
	}
	p.Figure = drawing.End(drawing.EndData{ID: "preview", Title: "Loss as typed", Support: e.support(), System: e.sys, Geometry: e.rec.Geometry(e.sc), Survey: &sv, Width: 760})
	return p
}

// surveyPage renders the form.
func (s *Server) surveyPage(w http.ResponseWriter, r *http.Request, status int, e *endReader, f view.Form) error {
	p := s.page(r, f.Title, e.crumbs(true)...)
	p.Scripts = []string{"survey.js"}
	return s.render(w, r, status, view.Page(p, f))
}

// refusedIn splits a refusal of the store into reasons for boxes and one for the
// whole form. It returns the error itself where neither fits.
func refusedIn(err error) (*fault.Invalid, string, error) {
	switch fault.KindOf(err) {
	case fault.Fields:
		bad := &fault.Invalid{}
		for _, f := range invalidOf(err).Fields {
			bad.Add(f.Field, f.Typed, "%s", f.Reason)
		}
		return bad, "", nil
	case fault.Refused, fault.Duplicate:
		return nil, fault.Message(err), nil
	}
	return nil, "", err
}
