package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/design"
	"endcast/views/drawing"
	"endcast/views/review"
	"endcast/views/ui"
)

// asKnownNow stands in an address for a revision on what is known now.
const asKnownNow = "now"

// compareShow lays two revisions of an end over each other, or one over what is known now,
// with every difference named.
func (s *Server) compareShow(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	v := review.Compare{Action: e.path("compare"), Reading: e.reading(), Links: []ui.Crumb{{Label: "Girder end " + e.rec.End.Name, Href: e.path()}}}
	p := s.page(r, "Revisions of "+e.rec.End.Name+" compared", e.crumbs(true)...)
	latest := e.rec.LatestDesign()
	if latest == nil {
		v.Empty = "This end has no design yet: there is nothing to compare."
		return s.render(w, r, http.StatusOK, review.ComparePage(p, v))
	}
	was, is, now, err := e.compareAsked(r.FormValue("was"), r.FormValue("is"))
	if err != nil {
		return err
	}
	v.Was, v.Is = e.compareChoices(was, is, now)
	if was == nil {
		v.Empty = "Revision " + numberOf(is.Revision) + " is the only one, and nothing was decided on it. Lay it over what is known now, or come back when there is another."
		return s.render(w, r, http.StatusOK, review.ComparePage(p, v))
	}
	e.compareView(&v, was, is, now)
	p.Block = e.revisionBlock(is)
	return s.render(w, r, http.StatusOK, review.ComparePage(p, v))
}

// compareAsked reads which two are asked for. Without a word it is the latest revision
// over the one approved before it, and for a single one over what is known now.
func (e *endReader) compareAsked(wasText, isText string) (was, is *repair.Design, now bool, err error) {
	is, now = e.rec.LatestDesign(), isText == asKnownNow
	if isText != "" && !now {
		if is, err = e.revision(isText); err != nil {
			return nil, nil, false, err
		}
	}
	switch {
	case wasText != "":
		if was, err = e.revision(wasText); err != nil {
			return nil, nil, false, err
		}
	case now:
		was = e.rec.DesignInForce()
	default:
		if was = e.rec.RevisionBefore(is); was == nil && e.rec.LastApproval(is) != nil {
			was, now = is, true
		}
	}
	if now {
		is = was
	}
	return was, is, now, nil
}

func (e *endReader) compareChoices(was, is *repair.Design, now bool) (ui.Field, ui.Field) {
	a := ui.Field{Name: "was", Label: "Lay over revision"}
	b := ui.Field{Name: "is", Label: "The revision drawn in full"}
	for _, d := range e.rec.Designs {
		o := ui.Option{Value: numberOf(d.Revision), Label: "Revision " + numberOf(d.Revision) + ", " + revisionMark(d.State).Text}
		a.Options, b.Options = append(a.Options, o), append(b.Options, o)
	}
	b.Options = append(b.Options, ui.Option{Value: asKnownNow, Label: "The same revision, on what is known now"})
	if was != nil {
		a.Value = numberOf(was.Revision)
	}
	if b.Value = numberOf(is.Revision); now {
		b.Value = asKnownNow
	}
	return a, b
}

// compareView fills the page with the differences of two revisions.
func (e *endReader) compareView(v *review.Compare, was, is *repair.Design, now bool) {
	sides := repair.CompareSights(e.rec.Sighted(e.sc, was, false), e.rec.Sighted(e.sc, is, now))
	v.HeadWas, v.HeadIs = "Revision "+numberOf(was.Revision), "Revision "+numberOf(is.Revision)
	if now {
		v.HeadWas, v.HeadIs = "As decided", "Now"
	}
	v.Links = append(v.Links, ui.Crumb{Label: "Revision " + numberOf(is.Revision), Href: e.path("designs", numberOf(is.Revision))},
		ui.Crumb{Label: "Review of revision " + numberOf(is.Revision), Href: e.path("designs", numberOf(is.Revision), "review")})
	v.Sides = []design.Fact{{Label: v.HeadWas, Value: e.sightWords(sides.Was)}, {Label: v.HeadIs, Value: e.sightWords(sides.Is)}}
	v.Layout = e.renamed(e.changes(sides.Layout), sides)
	v.Checks = e.checkChanges(sides)
	v.Results, v.Inputs = e.factChanges(sides.Results), e.factChanges(sides.Inputs)
	v.Steel = e.steelMoved(sides.Was.Survey, sides.Was.Found, sides.Is.Survey, sides.Is.Found)
	v.Steel.Facts = nil // told among the inputs
	v.Steel.Since = v.HeadWas
	if now {
		v.Steel.Since = "it was decided"
	}
	pins := e.readingPins(sides.Readings, v.Steel.Readings)
	v.Figure = e.compareFigure(sides, pins, now)
	v.Said = compareWords(sides)
	if sides.Same > 0 {
		v.Alike = strconv.Itoa(sides.Same) + " checks came out alike and are not listed."
	}
	if now {
		v.Moved = e.ruledRows(e.rec.Movement(e.sc, is))
	}
}

// sightWords says what one side stands on, and where its facts come from.
func (e *endReader) sightWords(v repair.Sight) string {
	on := "the steel as new"
	if v.Survey != nil {
		on = "survey " + numberOf(v.Survey.Number)
	}
	mark := revisionMark(v.Design.State).Text
	switch {
	case v.Kept():
		return fmt.Sprintf("%s; on %s, with everything it stood on as kept when it was %s on %s by %s.", mark, on, decisionMark(v.Review.Decision).Text, e.when(v.Review.At), v.Review.ReviewerName)
	case v.At != nil:
		return fmt.Sprintf("%s; on %s as of %s. What the end, its demand and the design basis were then was not kept: they are as now.", mark, on, e.when(*v.At))
	}
	return fmt.Sprintf("%s; on %s and everything else as known now.", mark, on)
}

// renamed tells of studs that only got another mark.
func (e *endReader) renamed(rows []design.Changed, v repair.Sides) []design.Changed {
	names := v.Layout.Renamed()
	old := map[string]string{}
	for is, was := range names {
		old[was] = is
	}
	for i := range rows {
		mark, ok := strings.CutPrefix(rows[i].What, "Stud ")
		if !ok {
			continue
		}
		if was := names[mark]; was != "" {
			rows[i].By = "stands where " + was + " was"
		} else if is := old[mark]; is != "" {
			rows[i].By = is + " stands there"
		}
	}
	return rows
}

// checkChanges lists the checks whose value or result changed.
func (e *endReader) checkChanges(v repair.Sides) []review.CheckChange {
	side := func(f *repair.StandFact, checks map[string]calc.Check) (out review.CheckSide) {
		if f == nil {
			return review.CheckSide{Ratio: "–", Mark: ui.Mark{State: ui.Open, Text: "not made"}}
		}
		out.Ratio, out.Mark = "∞", shortVerdict(storedVerdict(f.Text))
		if f.Value != nil {
			out.Ratio = ratioText(*f.Value)
		}
		if c, ok := checks[f.Key]; ok {
			out.Value, out.Limit = c.Dim.Format(c.Demand, e.sys, -1), c.Dim.Format(c.Resistance, e.sys, -1)
		}
		return out
	}
	var out []review.CheckChange
	for _, c := range v.Checks {
		row := review.CheckChange{Name: c.Name, Was: side(c.Was, v.Was.Checks), Is: side(c.Is, v.Is.Checks), By: "–"}
		if c.Was != nil && c.Is != nil && c.Was.Value != nil && c.Is.Value != nil {
			row.By = signedRatio(*c.Is.Value - *c.Was.Value)
		}
		out = append(out, row)
	}
	return out
}

// signedRatio prints a difference of ratios with the digits that show it.
func signedRatio(v float64) string {
	for decimals := 2; decimals < 6; decimals++ {
		text := strconv.FormatFloat(v, 'f', decimals, 64)
		if strings.Trim(text, "-0.") == "" {
			continue
		}
		if v > 0 {
			return "+" + text
		}
		return text
	}
	return "0"
}

// factChanges are facts that differ, ready to print.
func (e *endReader) factChanges(list []repair.FactChange) []design.Changed {
	text := func(f *repair.StandFact) string {
		switch {
		case f == nil:
			return "–"
		case f.Key == "result.verdict":
			return storedVerdict(f.Text).String()
		}
		return f.Format(e.sys)
	}
	var out []design.Changed
	for _, c := range list {
		row := design.Changed{What: c.Name, Was: text(c.Was), Is: text(c.Is), Mark: ui.Mark{State: ui.Caution, Text: "changed"}}
		switch {
		case c.Was == nil:
			row.Mark = ui.Mark{State: ui.Active, Text: "added"}
		case c.Is == nil:
			row.Mark = ui.Mark{State: ui.Stop, Text: "removed"}
		case c.Inside():
			row.By = "reads alike, other values within"
		case c.Was.Value != nil && c.Is.Value != nil:
			if kind, ok := units.KindNamed(c.Is.Unit); ok && kind != units.Numbers {
				row.By = signed(kind, *c.Is.Value-*c.Was.Value, e.sys)
			}
		}
		out = append(out, row)
	}
	return out
}

// readingPins numbers the readings that stand open on the page, in the drawing and in
// their rows.
func (e *endReader) readingPins(list []repair.ReadingChange, rows []design.Changed) []drawing.Pin {
	var out []drawing.Pin
	for i := range rows {
		n := numberOf(i + 1)
		out = append(out, drawing.Pin{Label: n, Words: rows[i].What + ": " + rows[i].Mark.Text, Right: list[i].Face == "R", X: list[i].X, Z: list[i].Z})
		rows[i].What = n + ": " + rows[i].What
	}
	return out
}

func (e *endReader) compareFigure(v repair.Sides, pins []drawing.Pin, now bool) (fig drawing.EndData) {
	is, was := numberOf(v.Is.Design.Revision), numberOf(v.Was.Design.Revision)
	fig = drawing.EndData{ID: "over", Support: e.support(), System: e.sys, Geometry: e.rec.Geometry(e.sc), Survey: v.Is.Found,
		Design: v.Is.Layout, Revision: is, Width: deskWidth, Pins: pins,
		PinNote: "Numbers are readings that changed, on the left face in a circle and on the right face in a diamond; the table of readings tells them."}
	if now {
		fig.Title = "Revision " + is + " of " + e.rec.End.Name + " over what is known now"
		return fig
	}
	fig.Overlay, fig.OverlayRevision = v.Was.Layout, was
	fig.Title = "Revision " + is + " of " + e.rec.End.Name + " over revision " + was
	return fig
}

// compareWords is the outcome in one sentence.
func compareWords(v repair.Sides) string {
	if v.Empty() {
		return "Nothing differs: the layout, what it stands on and every check are the same."
	}
	moved, added, removed := 0, 0, 0
	for _, c := range v.Layout.Studs {
		switch {
		case c.Added():
			added++
		case c.Removed():
			removed++
		default:
			moved++
		}
	}
	count := func(n int, one, many string) string {
		if n == 1 {
			return "1 " + one
		}
		return strconv.Itoa(n) + " " + many
	}
	return strings.Join([]string{count(moved, "stud moved", "studs moved"), count(added, "new", "new"), count(removed, "removed", "removed"),
		count(len(v.Layout.Quantities), "measure of panel or material changed", "measures of panel or material changed"),
		count(len(v.Checks), "check came out otherwise", "checks came out otherwise"), count(len(v.Readings), "reading differs", "readings differ"),
		count(len(v.Inputs), "other input differs", "other inputs differ")}, ", ") + "."
}

// ruledRows are what moved under an approval with what it means by the owner's rules.
func (e *endReader) ruledRows(m repair.Movement) []review.Ruled {
	var out []review.Ruled
	text := func(f *repair.StandFact) string {
		if f == nil {
			return "–"
		}
		return f.Format(e.sys)
	}
	for _, x := range m.Ruled {
		out = append(out, review.Ruled{What: x.Name, Was: text(x.Was), Is: text(x.Is), Why: ui.Sentence(x.Says(e.sys)), Means: effectMark(x.Effect)})
	}
	return out
}

// effectMark shows what something that moved means for an approval.
func effectMark(x repair.Effect) ui.Mark {
	m := ui.Mark{State: ui.Good, Text: x.Words()}
	switch x {
	case repair.Confirms:
		m.State = ui.Active
	case repair.SecondLook:
		m.State = ui.Caution
	case repair.Stops:
		m.State = ui.Stop
	}
	return m
}
