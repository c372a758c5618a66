package web

import (
	"errors"
	"fmt"
	"net/http"

	"endcast/internal/db"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	view "endcast/views/survey"
	"endcast/views/ui"
)

// surveyNew is an empty form for a visit.
func (s *Server) surveyNew(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	t, _ := e.surveyStart()
	return s.surveyPage(w, r, http.StatusOK, e, e.newForm(t, nil))
}

// newForm is the form of a new survey.
func (e *endReader) newForm(t *surveyTyped, bad *fault.Invalid) view.Form {
	f := e.surveyForm(t, bad)
	f.Title, f.Action = "New survey, "+e.rec.End.Name, e.path("surveys")
	return f
}

// surveyRecord stores a new survey, or does what a smaller button of the form asks.
func (s *Server) surveyRecord(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	t, err := typedSurvey(r)
	if err != nil {
		return err
	}
	_, k := e.surveyStart()
	if done, bad := t.act(r.PostFormValue("do"), e.sys, k); done {
		f := e.newForm(t, bad)
		p := e.preview(t, k)
		f.Preview = &p
		return s.surveyPage(w, r, statusOf(bad), e, f)
	}
	read := t.read(e.sys, k)
	read.validate(e)
	captured, err := momentTyped("captured_at", t.text["captured_at"], e.zone)
	err = errors.Join(read.bad.Err(), err)
	if err == nil {
		ends, serr := seen(r, e.rec.End.ID)
		if serr != nil {
			return serr
		}
		if _, err = s.edit(r, ends, captured, read.recordable()); err == nil {
			s.flash(r, ui.Done, "The survey is on record and the end is computed anew.")
			return seeOther(w, r, e.path()+"#capacity")
		}
	}
	return s.surveyRefused(w, r, t, err, func(e *endReader, bad *fault.Invalid) view.Form { return e.newForm(t, bad) })
}

// recordable is the change that the form asks for.
func (out *surveyRead) recordable() repair.RecordSurvey {
	return repair.RecordSurvey{Facts: out.facts, Readings: out.readings, Holes: out.holes}
}

// surveyRefused shows the form again with everything typed: with reasons at the
// boxes, or beside the record as it is now when that has moved on.
func (s *Server) surveyRefused(w http.ResponseWriter, r *http.Request, t *surveyTyped, err error, form func(*endReader, *fault.Invalid) view.Form) error {
	e, lerr := s.openEnd(r)
	if lerr != nil {
		return lerr
	}
	status, f := http.StatusUnprocessableEntity, view.Form{}
	if stale, ok := errors.AsType[*db.Stale](err); ok {
		status = http.StatusConflict
		t.text["version"], t.text["entry"] = fmt.Sprint(e.rec.End.Version), ""
		f = form(e, nil)
		f.Stale = &view.Stale{By: stale.By, Lines: e.surveyNow()}
	} else {
		bad, refused, other := refusedIn(err)
		if other != nil {
			return other
		}
		f = form(e, bad)
		f.Refused = ui.Sentence(refused)
	}
	p := e.preview(t, e.keptOf(r))
	f.Preview = &p
	return s.surveyPage(w, r, status, e, f)
}

// surveyNow says in a line or two what is on record now.
func (e *endReader) surveyNow() []string {
	var out []string
	if sv := e.rec.LatestSurvey(); sv != nil {
		out = append(out, fmt.Sprintf("The latest survey on record is survey %d, %s, taken %s by %s.", sv.Number, surveyKinds[sv.Kind], e.when(sv.CapturedAt), sv.TakenBy))
	}
	if st := e.state(); st.Capacity != nil {
		out = append(out, fmt.Sprintf("On record the end carries %s of %s: %s.", st.Capacity.Format(e.sys, -1), st.Demand.Format(e.sys, -1), verdictMark(storedVerdict(st.CapacityVerdict)).Text))
	}
	return out
}

func statusOf(bad *fault.Invalid) int {
	if bad != nil {
		return http.StatusUnprocessableEntity
	}
	return http.StatusOK
}

// invalidOf gathers the fields of an error that may be several joined.
func invalidOf(err error) *fault.Invalid {
	out := &fault.Invalid{}
	var walk func(error)
	walk = func(err error) {
		if bad, ok := err.(*fault.Invalid); ok { //nolint:errorlint // each of the joined errors is looked at
			out.Fields = append(out.Fields, bad.Fields...)
			return
		}
		if joined, ok := err.(interface{ Unwrap() []error }); ok { //nolint:errorlint // see above
			for _, e := range joined.Unwrap() {
				walk(e)
			}
			return
		}
		if inner := errors.Unwrap(err); inner != nil {
			walk(inner)
		}
	}
	walk(err)
	return out
}

// mostLenient is the design basis with every reading above the as-new thickness
// let through: the rules cut such readings down to the as-new thickness.
func mostLenient(e *endReader) basis.Basis {
	b := e.sc.Basis()
	if d, ok := basis.Lookup(basis.SurveyAboveNominal); ok {
		if nb, err := b.With(d.Key, d.Max); err == nil {
			return nb
		}
	}
	return b
}
