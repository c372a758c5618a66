package web

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/quality"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/views/field"
	"endcast/views/ui"
)

// nonconformanceShow is the page of one nonconformance.
func (s *Server) nonconformanceShow(w http.ResponseWriter, r *http.Request) error {
	e, n, err := s.openNonconformance(r)
	if err != nil {
		return err
	}
	return e.nonconformancePage(w, http.StatusOK, n, nonconformanceSent{})
}

// nonconformanceSent is what came in from a form of the page and was refused.
type nonconformanceSent struct {
	form   *typedForm
	decide *field.Sent
	close  *field.Sent
	stale  *db.Stale
}

// openNonconformance loads the one of the address with its end.
func (s *Server) openNonconformance(r *http.Request) (*endReader, repair.Nonconformance, error) {
	none := repair.Nonconformance{}
	number, err := strconv.Atoi(chi.URLParam(r, "number"))
	if err != nil || number < 1 || number > 1e9 {
		return nil, none, fault.New(fault.NotFound, "a nonconformance has a number, such as 7")
	}
	sc, err := s.store.NonconformanceScope(r.Context(), s.program(r).ID.String(), number)
	if err != nil {
		return nil, none, err
	}
	e, err := s.readEnd(r, sc)
	if err != nil {
		return nil, none, err
	}
	for _, n := range e.rec.Nonconformances {
		if n.Number == number {
			return e, n, nil
		}
	}
	return nil, none, fault.New(fault.NotFound, "this program has no nonconformance %d", number)
}

// nonconformanceDecide settles what becomes of the work.
func (s *Server) nonconformanceDecide(w http.ResponseWriter, r *http.Request) error {
	e, n, err := s.openNonconformance(r)
	if err != nil {
		return err
	}
	f, err := e.typed()
	if err != nil {
		return err
	}
	ch := repair.DecideNonconformance{Number: n.Number, Disposition: f.text("disposition"), Instructions: f.text("instructions"), Cause: f.text("cause")}
	if ch.Instructions == "" {
		f.bad.Add("instructions", "", "say what is to be done, or why it may stay as it is")
		if ch.Disposition == "" {
			f.bad.Add("disposition", "", "choose what becomes of it")
		}
	}
	return e.nonconformanceEdit(w, n, f, ch, "decided: "+quality.Disposition(ch.Disposition).Words(), func(x *nonconformanceSent, sent field.Sent) { x.decide = &sent })
}

// nonconformanceClose ends one that was decided.
func (s *Server) nonconformanceClose(w http.ResponseWriter, r *http.Request) error {
	e, n, err := s.openNonconformance(r)
	if err != nil {
		return err
	}
	if n.Disposition != "" && n.ClosedAt == nil && !n.MayClose(s.actor(r).Role) {
		return fault.New(fault.Forbidden, "nonconformance %d: your role may not close it", n.Number)
	}
	f, err := e.typed()
	if err != nil {
		return err
	}
	ch := repair.CloseNonconformance{Number: n.Number, Reinspection: f.text("reinspection"), Cause: f.text("cause")}
	return e.nonconformanceEdit(w, n, f, ch, "closed", func(x *nonconformanceSent, sent field.Sent) { x.close = &sent })
}

// nonconformanceEdit sends a change of the record and shows the page again, with
// what was typed, where it was not taken.
func (e *endReader) nonconformanceEdit(w http.ResponseWriter, n repair.Nonconformance, f *typedForm, ch repair.Change, done string, put func(*nonconformanceSent, field.Sent)) error {
	refs, err := seen(e.r, e.rec.End.ID)
	if err != nil {
		return err
	}
	if err = f.bad.Err(); err == nil {
		_, err = e.s.edit(e.r, refs, f.captured(), ch)
	}
	if err == nil {
		e.s.flash(e.r, ui.Done, fmt.Sprintf("Nonconformance %d %s.", n.Number, done))
		return seeOther(w, e.r, e.s.program(e.r).Path("nonconformances", numberOf(n.Number)))
	}
	sent := nonconformanceSent{form: f}
	stale, isStale := errors.AsType[*db.Stale](err)
	if !isStale && !refusedForm(err) {
		return err
	}
	back, status := f.sent(err), http.StatusUnprocessableEntity
	if isStale {
		// A new entry on the record as it is now: the old one was never stored.
		sent.stale, back, status = stale, field.Sent{}, http.StatusConflict
	}
	put(&sent, back)
	fresh, now, err := e.s.openNonconformance(e.r)
	if err != nil {
		return err
	}
	return fresh.nonconformancePage(w, status, now, sent)
}

func (e *endReader) nonconformancePage(w http.ResponseWriter, status int, n repair.Nonconformance, sent nonconformanceSent) error {
	v := field.Nonconformance{Head: e.head(), Number: numberOf(n.Number), Critical: n.Critical, Open: n.ClosedAt == nil, State: nonconformanceMark(n), Acts: "Nobody must act.",
		Facts: e.nonconformanceFacts(n)}
	if who := n.Waits(); who != "" {
		v.Acts = "Next: the " + sequence.RoleWords(who) + "."
		v.Days = "Open for " + days(n.RaisedAt, e.now()) + " days."
	}
	for _, p := range e.pictures("nonconformance") {
		if strings.HasPrefix(p.Caption, nonconformanceCaption(n.Number)) {
			v.Pictures = append(v.Pictures, p)
		}
	}
	role := e.s.actor(e.r).Role
	if v.Open && e.s.can(e.r, authz.DecideNonconformance) {
		v.Decide = e.decideForm(n, sent)
	}
	if v.Open && n.MayClose(role) && e.s.can(e.r, authz.RaiseNonconformance) {
		v.Close = e.closeForm(n, sent)
	}
	if v.Open && v.Decide == nil && v.Close == nil {
		v.Why = "It is decided by the owner's engineer, and closed by the engineer or, where nothing was conceded, by an inspector."
	}
	// A refusal whose form is gone, since the record moved on, stands over the page.
	if sent.decide != nil && v.Decide == nil {
		v.Problem = sent.decide.Problem
	}
	if sent.close != nil && v.Close == nil {
		v.Problem = sent.close.Problem
	}
	if sent.stale != nil {
		v.Stale = &field.Stale{By: sent.stale.By, At: e.when(sent.stale.At)}
	}
	p := e.s.page(e.r, "Nonconformance "+v.Number, ui.Crumb{Label: "Nonconformances", Href: e.s.program(e.r).Path("nonconformances")})
	p.Field, p.Block = true, e.titleBlock()
	return e.s.render(w, e.r, status, field.NonconformancePage(p, v))
}

func nonconformanceMark(n repair.Nonconformance) ui.Mark {
	switch {
	case n.StateOf() == quality.Withdrawn:
		return ui.Mark{State: ui.Good, Text: "withdrawn"}
	case n.ClosedAt != nil:
		return ui.Mark{State: ui.Good, Text: "closed, " + quality.Disposition(n.Disposition).Words()}
	case n.Disposition != "":
		return ui.Mark{State: ui.Wait, Text: "decided: " + quality.Disposition(n.Disposition).Words()}
	}
	return ui.Mark{State: ui.Stop, Text: "waits for a decision"}
}

func (e *endReader) nonconformanceFacts(n repair.Nonconformance) []field.Fact {
	out := []field.Fact{{Label: "Requirement", Text: n.Requirement}, {Label: "Found", Text: n.Found, By: e.name(n.RaisedBy) + ", " + e.when(n.RaisedAt)}}
	add := func(label, text, by string) {
		if text != "" {
			out = append(out, field.Fact{Label: label, Text: text, By: by})
		}
	}
	add("Done at once", n.Containment, "")
	add("Stops", e.stopsWords(n.Stops), "")
	signedAt := func(who string, at *time.Time) string {
		if at == nil {
			return ""
		}
		return who + ", " + e.when(*at)
	}
	add("Proposed", quality.Disposition(n.Proposed).Words(), signedAt(n.ProposedBy, n.ProposedAt))
	add("Why the proposal is sound", n.Justification, "")
	if n.DecidedAt != nil {
		add("Decided", quality.Disposition(n.Disposition).Words(), n.DecidedBy+", "+e.when(*n.DecidedAt))
	}
	add("To be done, or why it may stay", n.Instructions, "")
	add("Done", n.WorkDone, signedAt(n.WorkedBy, n.WorkedAt))
	if n.Failures > 0 {
		add("Looked at again and not accepted", strconv.Itoa(n.Failures)+" times", "")
	}
	add("Cause", n.Cause, "")
	add("So that it does not come again", n.Corrective, "")
	add("Why it was sent back, opened again or withdrawn", n.Reason, "")
	switch {
	case n.VerifiedAt != nil:
		add("Seen again", n.Reinspection, signedAt(n.VerifiedBy, n.VerifiedAt))
	case n.ClosedAt != nil:
		add("Seen again", n.Reinspection, n.ClosedBy+", "+e.when(*n.ClosedAt))
	}
	if n.VerifiedAt != nil && n.ClosedAt != nil {
		add("Closed", "with that", signedAt(n.ClosedBy, n.ClosedAt))
	}
	return out
}

// stopsWords names the steps that a nonconformance stops.
func (e *endReader) stopsWords(codes []string) string {
	if len(codes) == 0 {
		return "every step that allows none open"
	}
	out := make([]string, len(codes))
	for i, code := range codes {
		out[i] = code
		for _, st := range e.sc.Steps {
			if st.Code == code {
				out[i] = st.Name
			}
		}
	}
	return strings.Join(out, ", ")
}
