package web

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/views/design"
	"endcast/views/review"
	"endcast/views/ui"
)

// reviewShow shows a revision with everything that a decision on it has to weigh.
func (s *Server) reviewShow(w http.ResponseWriter, r *http.Request) error {
	return s.reviewPage(w, r, http.StatusOK, reviewSent{})
}

// reviewSent is a decision that could not be stored, as it was sent.
type reviewSent struct {
	entry, decision, reasons string
	bad                      *fault.Invalid
	problem, conflict        string

	ask    *askSent // a question that could not be stored
	say    *saySent // what was said after the question of the number saying
	saying int
}

func (s *Server) reviewPage(w http.ResponseWriter, r *http.Request, status int, sent reviewSent) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	d, err := e.revision(chi.URLParam(r, "rev"))
	if err != nil {
		return err
	}
	return s.reviewAt(w, r, e, d, status, sent)
}

// reviewAt is the page of a revision's review, with what was sent from it and could not
// be stored.
func (s *Server) reviewAt(w http.ResponseWriter, r *http.Request, e *endReader, d *repair.Design, status int, sent reviewSent) error {
	var err error
	v := review.View{Head: e.revisionHead(d, "Review"), Facts: e.reviewFacts(d), Layout: e.layout(d), Note: d.Note, Problem: sent.problem, Conflict: sent.conflict, Bad: sent.bad,
		Digests: e.digests(d), Reviews: e.reviewsOf(d), Cautions: e.revisionCautions(d)}
	v.Figure, v.Over = e.revisionFigure(d, nil, deskWidth)
	if v.Checks, v.Source, err = e.checksOf(d); err != nil {
		return err
	}
	if err := e.reviewMoved(d, &v); err != nil {
		return err
	}
	if prev := e.rec.RevisionBefore(d); prev != nil {
		v.Compared = e.overRevision(prev, d)
	}
	e.reviewForm(d, sent, &v)
	e.questions(d, sent, &v)
	switch {
	case sent.ask != nil:
		v.Bad = sent.ask.bad
	case sent.say != nil:
		v.Bad = sent.say.bad
	}
	v.List = ui.Crumb{Label: "All that wait", Href: s.program(r).Path("reviews")}
	if v.Prev, v.Next, err = e.waitingBeside(); err != nil {
		return err
	}
	p := s.page(r, v.Head.Title, e.crumbs(true)...)
	p.Scripts = []string{"review.js", "keys.js"}
	p.Block = e.revisionBlock(d)
	return s.render(w, r, status, review.Page(p, v))
}

func (e *endReader) reviewFacts(d *repair.Design) []design.Fact {
	out := []design.Fact{{Label: "Designed by", Value: e.name(d.DesignedBy)}}
	if d.SubmittedAt != nil {
		waits := e.when(*d.SubmittedAt)
		if d.State == repair.DesignSubmitted {
			waits += ", " + days(*d.SubmittedAt, e.s.store.Today(e.sc.Program)) + " days ago"
		}
		out = append(out, design.Fact{Label: "Submitted", Value: waits})
	}
	if row := e.stored("corroded"); row != nil {
		out = append(out, design.Fact{Label: "As corroded", Value: row.Capacity.Format(e.sys, -1) + " of " + row.Demand.Format(e.sys, -1)})
	}
	return out
}

// reviewMoved tells what moved since the revision was submitted, or since it was
// approved.
func (e *endReader) reviewMoved(d *repair.Design, v *review.View) error {
	switch {
	case e.rec.Stale(e.sc, d):
		was := e.rec.LastApproval(d)
		m, err := e.moved(was.At, "the approval of "+e.when(was.At))
		if err != nil {
			return err
		}
		v.Moved, v.Since = &m, "What moved since the approval"
	case d.State == repair.DesignSubmitted && d.SubmittedAt != nil && d.InputDigest != e.rec.DesignDigest(e.sc, d):
		m, err := e.moved(*d.SubmittedAt, "it was submitted on "+e.when(*d.SubmittedAt))
		if err != nil {
			return err
		}
		v.Moved, v.Since = &m, "What moved since it was submitted"
	}
	return nil
}

// overRevision lays a revision over the one before it.
func (e *endReader) overRevision(prev, d *repair.Design) *review.Compared {
	was, is := "Revision "+numberOf(prev.Revision), "Revision "+numberOf(d.Revision)
	c := &review.Compared{More: ui.Crumb{Label: "Compare any two revisions, with checks and inputs", Href: e.path("compare") + "?was=" + numberOf(prev.Revision) + "&is=" + numberOf(d.Revision)},
		Title: "What changed since revision " + numberOf(prev.Revision) + ", " + revisionMark(prev.State).Text, Was: was, Is: is}
	c.Figure, _ = e.revisionFigure(d, prev, deskWidth)
	c.Changes = e.changes(encasement.Compare(*e.rec.DesignOf(prev), *e.rec.DesignOf(d)))
	a, b := e.rec.EvaluateDraft(e.sc, *e.rec.DesignOf(prev), nil), e.rec.EvaluateDraft(e.sc, *e.rec.DesignOf(d), nil)
	if a.Capacity != b.Capacity {
		c.Changes = append([]design.Changed{{What: "Repaired capacity", Was: a.Capacity.Format(e.sys, -1), Is: b.Capacity.Format(e.sys, -1),
			By: signed(a.Capacity.Kind(), float64(b.Capacity-a.Capacity), e.sys), Mark: ui.Mark{State: ui.Caution, Text: "changed"}}}, c.Changes...)
	}
	c.Note = "Both capacities are computed for this page on " + e.latestSurveyWords() + "."
	prevRow, prevFound := e.surveyUnder(prev)
	row, found := e.surveyUnder(d)
	c.Steel = e.steelMoved(prevRow, prevFound, row, found)
	c.Steel.Since = was
	if c.Steel.Empty() {
		c.Steel.Text = "Both revisions stand on the same readings."
	}
	return c
}

// meanings are the decisions of a review with the sentence that each signs.
var meanings = []struct{ decision, label, means string }{
	{repair.DesignApproved, "Approve", repair.MeaningApproved},
	{repair.DesignApprovedNoted, "Approve as noted", repair.MeaningNoted},
	{repair.DesignReturned, "Return", repair.MeaningReturned},
}

// reviewForm offers the decision that is open to this reader, or says why none is.
func (e *endReader) reviewForm(d *repair.Design, sent reviewSent, v *review.View) {
	n := numberOf(d.Revision)
	digest := e.rec.DesignDigest(e.sc, d)
	own := d.DesignedBy == e.s.user(e.r).ID.String()
	reasons := ui.Field{Name: "reasons", Label: "Reasons", Rows: 4, Value: sent.reasons, Optional: true}.With(sent.bad)
	switch {
	case d.State == repair.DesignSubmitted && e.rec.LatestDesign().ID != d.ID:
		v.Instead = "Revision " + numberOf(e.rec.LatestDesign().Revision) + " was begun after this one; it is the one to review once it is submitted."
	case d.State == repair.DesignSubmitted && !e.s.can(e.r, authz.ReviewDesign):
		v.Instead = "Revision " + n + " waits for the owner's engineer, who decides on it here."
	case d.State == repair.DesignSubmitted && own:
		v.Instead = "Revision " + n + " is your own design: another of the owner's engineers must review it."
	case d.State == repair.DesignSubmitted:
		f := review.Decision{Action: e.path("designs", n, "review"), Entry: sent.entry, Digest: digest, Short: shortDigest(digest), Reasons: reasons,
			Choice: ui.Field{Name: "decision", Label: "I decide to", Value: sent.decision}}
		f.Reasons.Hint = "Needed to approve as noted and to return."
		for _, m := range meanings {
			f.Choice.Options = append(f.Choice.Options, ui.Option{Value: m.decision, Label: m.label})
			f.Means = append(f.Means, design.Fact{Label: m.label, Value: m.means})
		}
		f.Choice = f.Choice.With(sent.bad)
		v.Decision = &f
	case e.rec.Stale(e.sc, d):
		e.confirmForm(d, sent, reasons, v)
	case d.State == repair.DesignDraft:
		v.Instead = "Revision " + n + " is a draft: it can be reviewed once it is submitted."
	default:
		v.Instead = "Revision " + n + " is " + revisionMark(d.State).Text + ": there is nothing to decide."
	}
}

func (e *endReader) confirmForm(d *repair.Design, sent reviewSent, reasons ui.Field, v *review.View) {
	n := numberOf(d.Revision)
	row := e.stored("repaired")
	switch {
	case !e.inForce(d):
		v.Instead = "Revision " + n + " is not in force."
	case !e.s.can(e.r, authz.ConfirmDesign):
		v.Instead = "Revision " + n + " waits for the owner's engineer, who confirms it here or asks for a new revision."
	case d.DesignedBy == e.s.user(e.r).ID.String():
		v.Instead = "Revision " + n + " is your own design: another of the owner's engineers must confirm it."
	case row == nil || storedVerdict(row.Verdict).Key() != "passes":
		v.Instead = "With what was found, revision " + n + " does not pass and cannot be confirmed: a new revision is needed."
	default:
		digest := e.rec.DesignDigest(e.sc, d)
		reasons.Label = "Remark"
		v.Confirm = &review.Confirm{Action: e.path("designs", n, "confirm"), Entry: sent.entry, Digest: digest, Short: shortDigest(digest),
			Meaning: repair.MeaningConfirmed, Reasons: reasons}
	}
}
