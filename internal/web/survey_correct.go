package web

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"github.com/go-chi/chi/v5"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	view "endcast/views/survey"
	"endcast/views/ui"
)

// surveyOf finds the survey of the address, by its number.
func (e *endReader) surveyOf(r *http.Request) (*repair.Survey, error) {
	n, err := strconv.Atoi(chi.URLParam(r, "n"))
	i := slices.IndexFunc(e.rec.Surveys, func(sv repair.Survey) bool { return sv.Number == n })
	if err != nil || i < 0 {
		return nil, fault.New(fault.NotFound, "this end has no such survey")
	}
	return &e.rec.Surveys[i], nil
}

// keptOf are the stored values behind the form of a request: those of the survey
// that it corrects, or the places that a new one was laid out on.
func (e *endReader) keptOf(r *http.Request) kept {
	n, err := strconv.Atoi(r.PostFormValue("survey"))
	if i := slices.IndexFunc(e.rec.Surveys, func(sv repair.Survey) bool { return sv.Number == n }); err == nil && i >= 0 {
		_, k := e.surveyFrom(&e.rec.Surveys[i])
		return k
	}
	_, k := e.surveyStart()
	return k
}

// surveyEdit is the form that corrects the latest survey.
func (s *Server) surveyEdit(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	sv, err := e.surveyOf(r)
	if err != nil {
		return err
	}
	if last := e.rec.LatestSurvey(); last.ID != sv.ID {
		return fault.New(fault.Refused, "survey %d is not the latest; record a new survey instead", sv.Number)
	}
	t, k := e.surveyFrom(sv)
	f := e.editForm(t, nil, sv)
	p := e.preview(t, k)
	f.Preview = &p
	return s.surveyPage(w, r, http.StatusOK, e, f)
}

// editForm is the form of a correction.
func (e *endReader) editForm(t *surveyTyped, bad *fault.Invalid, sv *repair.Survey) view.Form {
	f := e.surveyForm(t, bad)
	n := numberOf(sv.Number)
	f.Title, f.Action, f.Edit, f.Survey = "Correct survey "+n+", "+e.rec.End.Name, e.path("surveys", n, "edit"), true, n
	f.Taken = fmt.Sprintf("Survey %s, %s, taken %s. Values that you change stay on record as they were.", n, surveyKinds[sv.Kind], e.when(sv.CapturedAt))
	return f
}

// surveyCorrect stores a correction.
func (s *Server) surveyCorrect(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	sv, err := e.surveyOf(r)
	if err != nil {
		return err
	}
	t, err := typedSurvey(r)
	if err != nil {
		return err
	}
	_, k := e.surveyFrom(sv)
	if done, bad := t.act(r.PostFormValue("do"), e.sys, k); done {
		f := e.editForm(t, bad, sv)
		p := e.preview(t, k)
		f.Preview = &p
		return s.surveyPage(w, r, statusOf(bad), e, f)
	}
	t.text["kind"] = sv.Kind
	read := t.read(e.sys, k)
	read.validate(e)
	if len(read.readings) == 0 && read.bad.Err() == nil {
		read.bad.Add("points", "", "a survey keeps at least one reading; record a new survey instead")
	}
	if err = read.bad.Err(); err == nil {
		ends, serr := seen(r, e.rec.End.ID)
		if serr != nil {
			return serr
		}
		change := repair.EditSurvey{SurveyID: sv.ID, Facts: read.facts, Readings: read.readings, Holes: read.holes, Withdrawn: e.gone(sv, read.readings)}
		if _, err = s.edit(r, ends, e.s.store.Today(e.sc.Program), change); err == nil {
			s.flash(r, ui.Done, "The correction is on record and the end is computed anew.")
			return seeOther(w, r, e.path()+"#capacity")
		}
	}
	return s.surveyRefused(w, r, t, err, func(now *endReader, bad *fault.Invalid) view.Form {
		f := now.editForm(t, bad, sv)
		if bad == nil && !errors.Is(err, fault.Refused) {
			now.beside(&f, t, sv.ID)
		}
		return f
	})
}

// gone are the places of a survey that the form holds no longer.
func (e *endReader) gone(sv *repair.Survey, readings []repair.ReadingIn) []repair.PlaceIn {
	have := map[repair.PlaceIn]bool{}
	for _, in := range readings {
		have[repair.PlaceIn{Face: in.Face, X: in.X, Z: in.Z}] = true
	}
	var out []repair.PlaceIn
	for _, x := range e.rec.Readings {
		p := repair.PlaceIn{Face: x.Face, X: x.X, Z: x.Z}
		if x.SurveyID == sv.ID && x.SupersededBy == nil && !have[p] {
			out = append(out, p)
		}
	}
	return out
}

// beside sets what is on record now beside every box of the grid that says
// something else, for a form that was filled from an older record.
func (e *endReader) beside(f *view.Form, t *surveyTyped, surveyID string) {
	_, k := e.surveyFrom(e.rec.SurveyOf(surveyID))
	stored := map[repair.PlaceIn]repair.Reading{}
	for _, x := range e.rec.Readings {
		if x.SurveyID == surveyID && x.SupersededBy == nil {
			stored[repair.PlaceIn{Face: x.Face, X: x.X, Z: x.Z}] = x
		}
	}
	now := func(c *view.Cell, face, xText, zText string) {
		x, errX := k.length(xText, e.sys)
		z, errZ := k.length(zText, e.sys)
		if errX != nil || errZ != nil {
			return
		}
		row, ok := stored[repair.PlaceIn{Face: face, X: x, Z: z}]
		text := ""
		if ok && row.NoAccess {
			text = "NA"
		} else if ok {
			text = k.show(row.T, row.Typed, e.sys)
		}
		if same(text, c.Value, e.sys) {
			return
		}
		c.Now = text
		if text == "" {
			c.Now = "empty"
		}
	}
	for r := range f.Rows {
		for c := range f.Rows[r].Cells {
			p := &f.Rows[r].Cells[c]
			now(&p.Through, "T", t.x[c], t.z[r])
			now(&p.Left, "L", t.x[c], t.z[r])
			now(&p.Right, "R", t.x[c], t.z[r])
		}
	}
}

// same reports whether two texts of a reading say the same.
func same(a, b string, sys units.System) bool {
	if a == b || noAccess(a) && noAccess(b) {
		return true
	}
	x, errA := units.ParseLength(a, sys)
	y, errB := units.ParseLength(b, sys)
	return errA == nil && errB == nil && x == y
}
