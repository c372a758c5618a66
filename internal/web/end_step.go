package web

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/views/ui"
)

// endStep completes, releases, returns or reopens one step of an end.
func (s *Server) endStep(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	act := repair.StepAct{StepID: chi.URLParam(r, "step"), Act: r.PostFormValue("act"), Note: strings.TrimSpace(r.PostFormValue("note")), Ticks: r.PostForm["tick"]}
	steps := e.sc.Sequence()
	i := slices.IndexFunc(steps, func(st sequence.Step) bool { return st.ID == act.StepID })
	if i < 0 {
		return fault.New(fault.NotFound, "the sequence has no such step")
	}
	if !s.mayAct(e, steps[i], act.Act) {
		return fault.New(fault.Forbidden, "your role does not allow this at step %s", steps[i].Name)
	}
	sent := &stepSent{id: act.StepID, note: act.Note, at: r.PostFormValue("at"), entry: r.PostFormValue("entry"), ticks: act.Ticks}
	captured, err := momentTyped("at", sent.at, e.zone)
	var ends []db.EndRef
	if err == nil {
		if ends, err = seen(r, e.rec.End.ID); err != nil {
			return err
		}
		_, err = s.edit(r, ends, captured, act)
	}
	if err != nil {
		return s.endStepRefused(w, r, sent, err)
	}
	s.flash(r, ui.Done, steps[i].Name+": "+sequence.RecordKind(act.Act).Words()+".")
	return seeOther(w, r, e.path()+"#step-"+steps[i].Code)
}

// endStepRefused shows the page again with what was typed: with the reasons, or,
// when somebody changed the end meanwhile, on the record as it is now.
func (s *Server) endStepRefused(w http.ResponseWriter, r *http.Request, sent *stepSent, err error) error {
	status := http.StatusUnprocessableEntity
	notice := ""
	switch stale, isStale := errors.AsType[*db.Stale](err); {
	case isStale:
		status, sent.entry = http.StatusConflict, ""
		notice = fmt.Sprintf("%s changed this end after you opened it. Nothing of yours was stored yet. What you typed stands at the step below, beside the record as it is now: look at it and send again.", stale.By)
		sent.problem = "Changed meanwhile by " + stale.By + ": send again if it still holds."
	case fault.KindOf(err) == fault.Refused, fault.KindOf(err) == fault.Fields, fault.KindOf(err) == fault.Forbidden:
		sent.problem = ui.Sentence(fieldReasons(err))
		notice = sent.problem
	default:
		return err
	}
	e, lerr := s.openEnd(r)
	if lerr != nil {
		return lerr
	}
	return s.endPage(w, r, status, e, endSent{step: sent, notice: notice})
}

// fieldReasons is the message of a refusal, without names of fields.
func fieldReasons(err error) string {
	if bad, ok := errors.AsType[*fault.Invalid](err); ok {
		parts := make([]string, len(bad.Fields))
		for i, f := range bad.Fields {
			parts[i] = f.Reason
			if f.Typed != "" {
				parts[i] = f.Typed + ": " + f.Reason
			}
		}
		return strings.Join(parts, "; ")
	}
	return fault.Message(err)
}

// mayAct asks the table of rights about an act at a step. The sequence has its own
// say after that.
func (s *Server) mayAct(e *endReader, st sequence.Step, act string) bool {
	switch sequence.RecordKind(act) {
	case sequence.Completed:
		return s.canStep(e.r, authz.CompleteStep, st.Performer)
	case sequence.Released, sequence.Returned:
		return s.canStep(e.r, authz.ReleaseHold, st.Releaser)
	case sequence.Reopened:
		return e.mayReopen(st)
	}
	return true // an unknown act is refused by the rule itself
}
