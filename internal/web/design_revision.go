package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
	"endcast/views/design"
	"endcast/views/drawing"
	"endcast/views/ui"
)

// designRevision is one revision of an end's design, to read.
func (s *Server) designRevision(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	d, err := e.revision(chi.URLParam(r, "rev"))
	if err != nil {
		return err
	}
	v := design.Revision{Head: e.revisionHead(d, "Revision"), Facts: e.layoutFacts(d), Note: d.Note, Studs: e.studRows(d), Length: units.Lengths.Label(e.sys),
		Digests: e.digests(d), Reviews: e.reviewsOf(d), Others: e.revisions(d)}
	v.Figure, v.Over = e.revisionFigure(d, nil, deskWidth)
	if v.Checks, v.Source, err = e.checksOf(d); err != nil {
		return err
	}
	markLines(&v.Checks, e.lineMarks(d, e.path("designs", numberOf(d.Revision), "review")))
	v.Cautions = e.revisionCautions(d)
	if e.rec.Stale(e.sc, d) {
		was := e.rec.LastApproval(d)
		m, err := e.moved(was.At, "the approval of "+e.when(was.At))
		if err != nil {
			return err
		}
		v.Moved, v.NextHref, v.Next = &m, e.path("designs", numberOf(d.Revision), "review"), "Compare and confirm, or begin a new revision"
	}
	p := s.page(r, "Revision "+numberOf(d.Revision)+" of "+e.rec.End.Name, e.crumbs(true)...)
	p.Block = e.revisionBlock(d)
	return s.render(w, r, http.StatusOK, design.RevisionPage(p, v))
}

// revision finds a revision by the number in an address.
func (e *endReader) revision(number string) (*repair.Design, error) {
	n, err := strconv.Atoi(number)
	for i := range e.rec.Designs {
		if err == nil && e.rec.Designs[i].Revision == n {
			return &e.rec.Designs[i], nil
		}
	}
	return nil, fault.New(fault.NotFound, "end %s has no revision %.20s", e.rec.End.Name, number)
}

// revisionHead names a revision, with the ways on that are open to this reader.
func (e *endReader) revisionHead(d *repair.Design, what string) design.Head {
	n := numberOf(d.Revision)
	h := design.Head{Title: what + " " + n + " of " + e.rec.End.Name, Reading: e.reading(), State: revisionMark(d.State)}
	if what != "Revision" {
		h.Title = what + " of revision " + n + ", " + e.rec.End.Name
		h.Links = append(h.Links, ui.Crumb{Label: "Revision " + n, Href: e.path("designs", n)})
	} else {
		label := "Review and questions"
		if open := len(e.rec.OpenQuestions(d.ID)); open > 0 {
			label += ", " + numberOf(open) + " open"
		}
		h.Links = append(h.Links, ui.Crumb{Label: label, Href: e.path("designs", n, "review")})
	}
	if before := e.rec.RevisionBefore(d); before != nil {
		h.Links = append(h.Links, ui.Crumb{Label: "Compare with revision " + numberOf(before.Revision), Href: e.path("compare") + "?was=" + numberOf(before.Revision) + "&is=" + n})
	}
	if e.rec.Stale(e.sc, d) {
		h.State = ui.Mark{State: ui.Caution, Text: h.State.Text + ", out of date"}
		h.Links = append(h.Links, ui.Crumb{Label: "Compare with what is known now", Href: e.path("compare") + "?was=" + n + "&is=" + asKnownNow})
	}
	if e.s.can(e.r, authz.EditDesign) {
		h.Links = append(h.Links, ui.Crumb{Label: "Work on the design", Href: e.path("design")})
	}
	if e.inForce(d) && e.s.answers(programPrefix+"/ends/{end}/sheet") {
		h.Links = append(h.Links, ui.Crumb{Label: "Calculation sheet", Href: e.path("sheet") + "#repaired"})
	}
	return h
}

// inForce reports whether stored results of the repair are those of a revision.
func (e *endReader) inForce(d *repair.Design) bool {
	f := e.rec.DesignInForce()
	return f != nil && f.ID == d.ID
}

func (e *endReader) revisionBlock(d *repair.Design) *ui.TitleBlock {
	b := e.titleBlock()
	mark := revisionMark(d.State)
	if e.rec.Stale(e.sc, d) {
		mark = ui.Mark{State: ui.Caution, Text: "out of date"}
	}
	for i := range b.Cells {
		switch c := &b.Cells[i]; c.Label {
		case "Revision":
			c.Value = numberOf(d.Revision)
		case "Design":
			c.Mark = &mark
		case "Inputs":
			c.Value = shortDigest(e.rec.DesignDigest(e.sc, d))
		}
	}
	return b
}

// surveyUnder is the survey that a revision was decided or submitted on; for a
// draft the latest.
func (e *endReader) surveyUnder(d *repair.Design) (*repair.Survey, *survey.Survey) {
	if x := e.rec.LastApproval(d); x != nil {
		return e.rec.SurveyAt(x.At)
	}
	if d.SubmittedAt != nil {
		return e.rec.SurveyAt(*d.SubmittedAt)
	}
	sv := e.rec.LatestSurvey()
	return sv, e.rec.SurveyFindings(sv)
}

// revisionFigure draws a revision over the survey it stands on, with another
// revision behind it where one is given.
func (e *endReader) revisionFigure(d, behind *repair.Design, width float64) (templ.Component, string) {
	row, found := e.surveyUnder(d)
	fig := drawing.EndData{ID: "rev-" + e.rec.End.Name + "-" + numberOf(d.Revision), Support: e.support(), System: e.sys, Geometry: e.rec.Geometry(e.sc),
		Survey: found, Design: e.rec.DesignOf(d), Revision: numberOf(d.Revision), Width: width}
	if latest := e.rec.LatestCollars(d.ID); len(latest) > 0 {
		fig.Status = map[string]drawing.StudStatus{}
		for mark, c := range latest {
			fig.Status[mark] = drawing.Rejected
			if repair.CollarCounts(c.Outcome) {
				fig.Status[mark] = drawing.Accepted
			}
		}
	}
	if behind == nil {
		if fig.Pins = e.questionPins(d); len(fig.Pins) > 0 {
			fig.PinNote = questionPinNote
		}
	} else {
		fig.ID += "-over-" + numberOf(behind.Revision)
		fig.Overlay, fig.OverlayRevision = e.rec.DesignOf(behind), numberOf(behind.Revision)
		fig.Title = "Revision " + numberOf(d.Revision) + " of " + e.rec.End.Name + " over revision " + numberOf(behind.Revision)
	}
	over := "Drawn over the steel as new: no survey is on record."
	if row != nil {
		over = fmt.Sprintf("Drawn over survey %d, taken %s by %s.", row.Number, e.when(row.CapturedAt), row.TakenBy)
		if last := e.rec.LatestSurvey(); last != nil && last.ID != row.ID {
			over += fmt.Sprintf(" Survey %d is later.", last.Number)
		}
	}
	return drawing.End(fig), over
}

// checksOf is the outcome of a revision: the stored one where it is in force,
// otherwise computed for this page.
func (e *endReader) checksOf(d *repair.Design) (design.Checks, string, error) {
	if !e.inForce(d) {
		ev := e.rec.EvaluateDraft(e.sc, *e.rec.DesignOf(d), nil)
		v := e.designChecks(ev.Checks, ev.Capacity, ev.Demand, ev.Verdict, ev.Governing)
		v.Facts = e.studFacts(ev.Studs)
		for _, f := range ev.Flags {
			v.Notes = append(v.Notes, ui.Sentence(f))
		}
		return v, "Computed for this page on " + e.latestSurveyWords() + ", by method " + string(calc.MethodVersion) + ". The stored results are those of the revision in force.", nil
	}
	for _, row := range e.rec.Results {
		if row.Subject != "repaired" {
			continue
		}
		var checks []calc.Check
		if err := json.Unmarshal(row.Checks, &checks); err != nil {
			return design.Checks{}, "", fmt.Errorf("stored checks of %s: %w", e.rec.End.Name, err)
		}
		v := e.designChecks(checks, row.Capacity, row.Demand, storedVerdict(row.Verdict), row.Governing)
		if row := e.stored("as_welded"); row != nil {
			v.Facts = append(v.Facts, design.Fact{Label: "As welded", Value: row.Capacity.Format(e.sys, -1)})
		}
		return v, "Stored result on " + e.latestSurveyWords() + ", inputs " + shortDigest(row.InputDigest) + ", method " + row.MethodVersion + ".", nil
	}
	return design.Checks{}, "No result is stored yet.", nil
}

func (e *endReader) stored(subject string) *repair.Result {
	for i := range e.rec.Results {
		if e.rec.Results[i].Subject == subject {
			return &e.rec.Results[i]
		}
	}
	return nil
}

func (e *endReader) latestSurveyWords() string {
	if sv := e.rec.LatestSurvey(); sv != nil {
		return "survey " + numberOf(sv.Number)
	}
	return "the steel as new"
}

func (e *endReader) revisionCautions(d *repair.Design) []string {
	row, _ := e.surveyUnder(d)
	last := e.rec.LatestSurvey()
	if last != nil && (row == nil || row.ID != last.ID) {
		return []string{"The checks follow " + e.latestSurveyWords() + ", which this revision was not made on."}
	}
	return nil
}

func (e *endReader) layoutFacts(d *repair.Design) []design.Fact {
	l := func(v units.Length) string { return v.Format(e.sys, -1) }
	out := []design.Fact{{Label: "Studs", Value: strconv.Itoa(len(e.rec.StudsOf(d.ID))) + " of " + l(d.StudDiameter) + ", " + l(d.StudHeight) + " high"},
		{Label: "Stud strength", Value: d.StudFu.Format(e.sys, -1)}, {Label: "UHPC strength", Value: d.Fc.Format(e.sys, -1)},
		{Label: "Panel", Value: l(d.PanelWidth) + " wide, " + l(d.PanelHeight) + " high"},
		{Label: "Panel corner", Value: "x " + l(d.PanelX) + ", z " + l(d.PanelZ)},
		{Label: "Panel thickness", Value: l(d.PanelLeft) + " left, " + l(d.PanelRight) + " right"}}
	if d.PanelGap > 0 {
		out = append(out, design.Fact{Label: "Gap under the foot", Value: l(d.PanelGap)})
	}
	return append(out, design.Fact{Label: "Designed by", Value: e.name(d.DesignedBy) + ", " + e.when(d.CreatedAt)})
}

func (e *endReader) studRows(d *repair.Design) []design.StudRow {
	latest := e.rec.LatestCollars(d.ID)
	var out []design.StudRow
	for _, s := range e.rec.StudsOf(d.ID) {
		row := design.StudRow{Mark: s.Mark, Row: numberOf(s.Row), Col: numberOf(s.Col), X: figure(units.Lengths, e.sys, float64(s.X)),
			Z: figure(units.Lengths, e.sys, float64(s.Z)), Face: map[string]string{"L": "left", "R": "right"}[s.Face], Collar: "not looked at"}
		if c, ok := latest[s.Mark]; ok {
			row.Collar = stud.Outcome(c.Outcome).Words()
		}
		out = append(out, row)
	}
	return out
}

// digests lists what the decisions on a revision were made on, beside what it
// stands on now.
func (e *endReader) digests(d *repair.Design) []design.Digest {
	now := e.rec.DesignDigest(e.sc, d)
	against := func(was string) ui.Mark {
		if was == now {
			return ui.Mark{State: ui.Good, Text: "the same"}
		}
		return ui.Mark{State: ui.Caution, Text: "moved since"}
	}
	var out []design.Digest
	if d.SubmittedAt != nil {
		out = append(out, design.Digest{Label: "Submitted", When: e.when(*d.SubmittedAt), Value: shortDigest(d.InputDigest), Mark: against(d.InputDigest)})
	}
	for _, x := range e.rec.Reviews {
		if x.DesignID == d.ID {
			out = append(out, design.Digest{Label: sentenceCase(decisionMark(x.Decision).Text), When: e.when(x.At), Value: shortDigest(x.InputDigest), Mark: against(x.InputDigest)})
		}
	}
	return append(out, design.Digest{Label: "Now", When: "–", Value: shortDigest(now)})
}

func (e *endReader) reviewsOf(d *repair.Design) []design.Review {
	var out []design.Review
	for _, x := range e.rec.Reviews {
		if x.DesignID == d.ID {
			out = append(out, design.Review{Decision: decisionMark(x.Decision), By: x.ReviewerName + ", " + sequence.RoleWords(sequence.Role(x.ReviewerRole)),
				When: e.when(x.At), Meaning: x.Meaning, Reasons: x.Reasons, Sign: shortDigest(x.InputDigest)})
		}
	}
	return out
}

// revisions lists all revisions of the end, newest first.
func (e *endReader) revisions(current *repair.Design) []design.Other {
	rows := slices.Clone(e.rec.Designs)
	slices.SortFunc(rows, func(a, b repair.Design) int { return b.Revision - a.Revision })
	var out []design.Other
	for _, d := range rows {
		out = append(out, design.Other{Label: "Revision " + numberOf(d.Revision), Href: e.path("designs", numberOf(d.Revision)), Mark: revisionMark(d.State), Current: d.ID == current.ID})
	}
	return out
}
