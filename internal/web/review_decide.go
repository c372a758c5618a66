package web

import (
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/views/ui"
)

// reviewDecide stores the decision of the owner's engineer on a revision.
func (s *Server) reviewDecide(w http.ResponseWriter, r *http.Request) error {
	return s.decide(w, r, func(d *repair.Design) (repair.Change, string) {
		decision := r.PostFormValue("decision")
		return repair.ReviewDesign{DesignID: d.ID, Decision: decision, Reasons: r.PostFormValue("reasons"), Digest: r.PostFormValue("digest")},
			"Revision " + numberOf(d.Revision) + " is " + decisionMark(decision).Text + "."
	})
}

// reviewConfirm renews an approval for what was found since.
func (s *Server) reviewConfirm(w http.ResponseWriter, r *http.Request) error {
	return s.decide(w, r, func(d *repair.Design) (repair.Change, string) {
		return repair.ConfirmDesign{DesignID: d.ID, Reasons: r.PostFormValue("reasons"), Digest: r.PostFormValue("digest")},
			"The approval of revision " + numberOf(d.Revision) + " is confirmed for what was found since."
	})
}

// decide sends a decision. It carries no version of the record: the digest of what
// was on the screen decides whether it still applies, so that a photograph added
// meanwhile does not refuse it and a corrected reading does.
func (s *Server) decide(w http.ResponseWriter, r *http.Request, change func(*repair.Design) (repair.Change, string)) error {
	if err := parseForm(r); err != nil {
		return err
	}
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	d, err := e.revision(chi.URLParam(r, "rev"))
	if err != nil {
		return err
	}
	sent := reviewSent{entry: r.PostFormValue("entry"), decision: r.PostFormValue("decision"), reasons: r.PostFormValue("reasons")}
	if len(sent.reasons) > longestNote {
		sent.bad = &fault.Invalid{}
		sent.bad.Add("reasons", sent.reasons, "must have at most %d characters, got %d", longestNote, len(sent.reasons))
		return s.reviewPage(w, r, http.StatusUnprocessableEntity, sent)
	}
	ch, done := change(d)
	_, err = s.edit(r, []db.EndRef{{ID: e.rec.End.ID}}, time.Time{}, ch)
	if err == nil {
		s.flash(r, ui.Done, done)
		return seeOther(w, r, e.path("designs", numberOf(d.Revision)))
	}
	switch fault.KindOf(err) {
	case fault.Fields:
		sent.bad = asInvalid(err)
	case fault.Refused, fault.Duplicate:
		sent.problem = sentence(err)
	case fault.Conflict:
		// The choice is taken back: it was made on other data. The words stay.
		sent.decision = ""
		sent.conflict = sentence(err) + " This page shows the record as it is now; what you wrote stands below."
		return s.reviewPage(w, r, http.StatusConflict, sent)
	default:
		return err
	}
	return s.reviewPage(w, r, http.StatusUnprocessableEntity, sent)
}
