package web

import (
	"maps"
	"net/http"
	"slices"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/design"
	"endcast/views/review"
	"endcast/views/ui"
)

// sittingSent is a decision on several ends that could not be stored, as it was sent.
type sittingSent struct {
	entry, decision, reasons string
	ticked                   map[string]bool
	digests                  map[string]string // what was on the screen, by end
	bad                      *fault.Invalid
	problem                  string
	moved                    bool // the record of one of them moved
}

// reviewTogether shows the submitted revisions of several like ends on one page: those
// named in the address, or all that are like one.
func (s *Server) reviewTogether(w http.ResponseWriter, r *http.Request) error {
	names := r.URL.Query()["end"]
	if like := r.URL.Query().Get("like"); like != "" {
		alike, err := s.store.Alike(r.Context(), s.program(r).ID.String(), strings.ToUpper(like), repair.MostTogether)
		if err != nil {
			return err
		}
		names = append(names, alike...)
	}
	return s.sittingPage(w, r, http.StatusOK, names, sittingSent{})
}

// sitting is the ends of one sitting.
type sitting struct {
	ends []*endReader
	revs []*repair.Design
	out  []string // ends that are left out, and why
}

// openSitting loads the ends of a sitting, each once and at most so many. An end whose
// revision does not wait, or is of another layout, is left out.
func (s *Server) openSitting(r *http.Request, names []string) (sitting, error) {
	var t sitting
	layout, seen := "", map[string]bool{}
	for _, name := range names {
		if name = strings.ToUpper(strings.TrimSpace(name)); name == "" || seen[name] {
			continue
		}
		seen[name] = true
		if len(t.ends) == repair.MostTogether {
			t.out = append(t.out, name+": at most "+numberOf(repair.MostTogether)+" ends are looked at in one sitting")
			continue
		}
		sc, err := s.store.End(r.Context(), s.program(r).ID.String(), name)
		if err != nil {
			return t, err
		}
		e, err := s.readEnd(r, sc)
		if err != nil {
			return t, err
		}
		d := e.rec.LatestDesign()
		switch {
		case d == nil:
			t.out = append(t.out, name+": it has no design")
		case d.State != repair.DesignSubmitted:
			t.out = append(t.out, name+": revision "+numberOf(d.Revision)+" is "+revisionMark(d.State).Text+", and waits for no decision")
		case layout != "" && e.rec.LayoutDigest(sc, d) != layout:
			t.out = append(t.out, name+": its layout or its section is not that of "+t.ends[0].rec.End.Name)
		default:
			layout = e.rec.LayoutDigest(sc, d)
			t.ends, t.revs = append(t.ends, e), append(t.revs, d)
		}
	}
	return t, nil
}

func (s *Server) sittingPage(w http.ResponseWriter, r *http.Request, status int, names []string, sent sittingSent) error {
	t, err := s.openSitting(r, names)
	if err != nil {
		return err
	}
	head := s.program(r)
	p := s.page(r, "Like designs, one sitting", ui.Crumb{Label: "Bridge", Href: head.Path()}, ui.Crumb{Label: "Designs to review", Href: head.Path("reviews")})
	p.Scripts = []string{"review.js", "keys.js"}
	v := review.Sitting{Out: t.out, Bad: sent.bad, Problem: sent.problem, Moved: sent.moved, Back: head.Path("reviews")}
	if len(t.ends) == 0 {
		v.Empty = "None of these ends has a revision that waits. Open them together from the list of designs to review."
		return s.render(w, r, status, review.SittingPage(p, v))
	}
	t.view(&v, sent)
	t.decision(&v, sent)
	return s.render(w, r, status, review.SittingPage(p, v))
}

// view tells once what all share, and for each end what differs.
func (t sitting) view(v *review.Sitting, sent sittingSent) {
	first := t.ends[0]
	v.Layout = first.layout(t.revs[0])
	v.Facts = append([]design.Fact{{Label: "Section", Value: first.section()}}, first.layoutFacts(t.revs[0])...)
	v.Facts = v.Facts[:len(v.Facts)-1] // who designed it is told for each end
	stands := make([][]repair.StandFact, len(t.ends))
	notes := map[string][]string{}
	for i, e := range t.ends {
		d := t.revs[i]
		name := e.rec.End.Name
		stands[i] = e.rec.StandsOn(e.sc, d)
		v.Heads = append(v.Heads, name)
		if note := strings.TrimSpace(d.Note); note != "" {
			notes[note] = append(notes[note], name)
		}
		v.Ends = append(v.Ends, t.end(i, sent))
	}
	for _, note := range slices.Sorted(maps.Keys(notes)) {
		v.Notes = append(v.Notes, design.Fact{Label: strings.Join(notes[note], ", "), Value: note})
	}
	shared, differ := repair.Common(stands)
	checks := 0
	for _, f := range shared {
		switch {
		case strings.HasPrefix(f.Key, "check."):
			checks++
		case f.Key != "layout":
			v.Shared = append(v.Shared, design.Fact{Label: f.Name, Value: standText(&f, first.sys)})
		}
	}
	if checks > 0 {
		v.Alike = counted(checks, "check comes out alike at all of them.", "checks come out alike at all of them.")
	}
	for _, row := range differ {
		t.differing(v, row)
	}
}

// differing puts one fact that is not the same at all ends into its table.
func (t sitting) differing(v *review.Sitting, row []*repair.StandFact) {
	out := review.Differing{Cells: make([]review.Cell, len(row))}
	check := false
	for i, f := range row {
		if f == nil {
			out.Cells[i] = review.Cell{Text: "–"}
			continue
		}
		out.Name = f.Name
		if f.Key == "layout" {
			return // the revision numbers differ, the layout does not
		}
		out.Cells[i].Text = standText(f, t.ends[i].sys)
		if strings.HasPrefix(f.Key, "check.") {
			check = true
			mark := shortVerdict(storedVerdict(f.Text))
			out.Cells[i].Mark = &mark
		}
	}
	if row[0] != nil && row[0].Key == "survey" && !slices.ContainsFunc(out.Cells, func(c review.Cell) bool { return c.Text != out.Cells[0].Text }) {
		return // what was found is told line by line
	}
	if check {
		v.Checks = append(v.Checks, out)
	} else {
		v.Differ = append(v.Differ, out)
	}
}

// standText prints a fact that a decision stands on; of a check its ratio.
func standText(f *repair.StandFact, sys units.System) string {
	switch {
	case strings.HasPrefix(f.Key, "check.") && f.Value != nil:
		return ratioText(*f.Value)
	case strings.HasPrefix(f.Key, "check."):
		return "∞"
	case f.Key == "result.verdict":
		return storedVerdict(f.Text).String()
	}
	return f.Format(sys)
}

// end is one end of the sitting: its outcome, what stands in the way, and its tick.
func (t sitting) end(i int, sent sittingSent) review.SittingEnd {
	e, d := t.ends[i], t.revs[i]
	name := e.rec.End.Name
	ev := e.rec.EvaluateDraft(e.sc, *e.rec.DesignOf(d), nil)
	digest := e.rec.DesignDigest(e.sc, d)
	out := review.SittingEnd{Name: name, Reading: e.reading(), Href: e.path("designs", numberOf(d.Revision), "review"), Revision: "Revision " + numberOf(d.Revision), By: e.name(d.DesignedBy),
		DesignID: d.ID, Digest: digest, Short: shortDigest(digest), Ticked: sent.ticked[name],
		Capacity: ev.Capacity.Format(e.sys, -1), Demand: ev.Demand.Format(e.sys, -1), Ratio: ratioText(overResistance(ev.Demand, ev.Capacity)), Governs: ev.Governing, Verdict: shortVerdict(ev.Verdict)}
	out.Figure, out.Over = e.revisionFigure(d, nil, 720)
	if row := e.stored("corroded"); row != nil {
		out.Corroded = row.Capacity.Format(e.sys, -1)
	}
	if d.InputDigest != digest {
		out.Cautions = append(out.Cautions, "What it stands on moved since it was submitted.")
		out.MovedHref = e.path("compare") + "?was=" + numberOf(d.Revision) + "&is=" + asKnownNow
	}
	if was := sent.digests[name]; was != "" && was != digest {
		out.Cautions = append(out.Cautions, "Its record moved while you looked: look again, then tick it.")
		out.Ticked = false
	}
	switch held := e.rec.HoldingQuestions(e.sc, d.ID); {
	case !e.s.can(e.r, authz.ReviewDesign):
		out.Cannot = "for the owner's engineer"
	case d.DesignedBy == e.s.user(e.r).ID.String():
		out.Cannot = "your own design"
	case len(held) > 0:
		out.Cautions = append(out.Cautions, "Question "+numberOf(held[0].Number)+" is open and holds the approval.")
	}
	if open := len(e.rec.OpenQuestions(d.ID)); open > 0 {
		out.Questions = counted(open, "open question", "open questions")
	}
	return out
}

// decision is the form of a sitting, for who may decide.
func (t sitting) decision(v *review.Sitting, sent sittingSent) {
	e := t.ends[0]
	if !e.s.can(e.r, authz.ReviewDesign) {
		v.Instead = "These revisions wait for the owner's engineer, who decides on them here."
		return
	}
	v.Action, v.Entry = e.s.program(e.r).Path("reviews", "together"), sent.entry
	v.Reasons = ui.Field{Name: "reasons", Label: "Reasons", Rows: 4, Value: sent.reasons, Optional: true, Hint: "Needed to approve as noted and to return; recorded at every end that is ticked."}.With(sent.bad)
	v.Choice = ui.Field{Name: "decision", Label: "At the ends that are ticked I decide to", Value: sent.decision}
	for _, m := range meanings {
		v.Choice.Options = append(v.Choice.Options, ui.Option{Value: m.decision, Label: m.label})
		v.Means = append(v.Means, design.Fact{Label: m.label, Value: m.means})
	}
	v.Choice = v.Choice.With(sent.bad)
	if p := sent.bad.Of("ends"); p != nil {
		v.TickBad = p.Reason
	}
}

// reviewTogetherDecide stores one decision at each end that is ticked, or at none.
func (s *Server) reviewTogetherDecide(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	head := s.program(r)
	sent := sittingSent{entry: r.PostFormValue("entry"), decision: r.PostFormValue("decision"), reasons: r.PostFormValue("reasons"), ticked: map[string]bool{}, digests: map[string]string{}, bad: &fault.Invalid{}}
	names := r.PostForm["shown"]
	ch := repair.ReviewDesigns{Decision: sent.decision, Reasons: sent.reasons}
	for _, name := range names {
		sent.digests[name] = r.PostFormValue("digest-" + name)
	}
	var ends []db.EndRef
	for _, name := range r.PostForm["end"] {
		if sent.ticked[name] || !slices.Contains(names, name) {
			continue
		}
		sent.ticked[name] = true
		e, err := s.store.End(r.Context(), head.ID.String(), name)
		if err != nil {
			return err
		}
		ends = append(ends, db.EndRef{ID: e.Ends[0].End.ID})
		ch.Ends = append(ch.Ends, repair.DecidedEnd{End: e.Ends[0].End.Name, DesignID: r.PostFormValue("design-" + name), Digest: sent.digests[name]})
	}
	if len(ends) == 0 {
		sent.bad.Add("ends", "", "tick the ends that the decision is for")
	}
	if len(sent.reasons) > longestNote {
		sent.bad.Add("reasons", sent.reasons, "must have at most %d characters, got %d", longestNote, len(sent.reasons))
	}
	if sent.decision == "" {
		sent.bad.Add("decision", "", "must be approved, approved as noted or returned")
	}
	err := sent.bad.Err()
	if err == nil {
		_, err = s.edit(r, ends, time.Time{}, ch)
	}
	if err == nil {
		var done []string
		for _, x := range ch.Ends {
			done = append(done, x.End)
		}
		s.flash(r, ui.Done, ui.Sentence(decisionMark(sent.decision).Text+" at "+strings.Join(done, ", ")+", each with a decision of its own"))
		return seeOther(w, r, head.Path("reviews"))
	}
	status := http.StatusUnprocessableEntity
	switch fault.KindOf(err) {
	case fault.Fields:
		sent.bad = asInvalid(err)
	case fault.Refused, fault.Duplicate:
		sent.problem = sentence(err)
	case fault.Conflict:
		status, sent.problem, sent.moved, sent.entry = http.StatusConflict, sentence(err), true, ""
	default:
		return err
	}
	return s.sittingPage(w, r, status, names, sent)
}
