package web

import (
	"encoding/hex"
	"fmt"
	"net/http"
	"slices"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/drawing"
	"endcast/views/sheet"
	"endcast/views/ui"
)

// sheetShow computes an end again from its record, with the working, and prints
// it beside the stored result.
func (s *Server) sheetShow(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	word := r.URL.Query().Get("units")
	if sys, err := units.ParseSystem(word); word != "" && err == nil {
		e.sys = sys
	}
	pads := repair.NewPads()
	ev, err := e.rec.Evaluate(e.sc, pads)
	if err != nil {
		return err
	}
	v, err := e.sheet(ev, pads)
	if err != nil {
		return err
	}
	p := s.page(r, "Calculation sheet "+e.rec.End.Name, e.crumbs(true)...)
	p.Block = &v.Block
	return s.render(w, r, http.StatusOK, sheet.Page(p, v))
}

// computed is one condition as the sheet has it.
type computed struct {
	key, words string
	ev         *repair.Evaluation
	pad        *calc.Pad
	brief      string // not empty: only its results are printed, and why
	same       bool   // not even those: they are the results of another part
}

// computedParts are the conditions in the order of the sheet: the end as it is
// first, the end as new last. A condition whose formulas another one prints with
// the numbers that count shows its results alone.
func computedParts(ev repair.Evaluations, pads *repair.Pads) []computed {
	all := []computed{
		{key: "corroded", words: "As corroded", ev: ev.Corroded, pad: pads.Corroded},
		{key: "as_welded", words: "Repaired as welded", ev: ev.AsWelded, pad: pads.AsWelded},
		{key: "repaired", words: "Repaired as designed", ev: ev.Repaired, pad: pads.Repaired},
		{key: "as_new", words: "As new", ev: ev.AsNew, pad: pads.AsNew},
	}
	out := all[:0]
	for _, c := range all {
		if c.ev == nil {
			continue
		}
		switch {
		case c.key == "repaired" && ev.AsWelded != nil:
			c.brief = "The formulas are those of the end as welded, with every stud of the revision counted. Results only."
			if c.same = sameResults(ev.Repaired.Checks, ev.AsWelded.Checks); c.same {
				c.brief = "Every stud counts as welded: each check has the demand, the resistance and the verdict that it has as welded."
			}
		case c.key == "as_new" && ev.Corroded != nil:
			c.brief = "The formulas are those of the end as corroded, with nothing lost. Results only."
		}
		out = append(out, c)
	}
	return out
}

// sameResults reports whether two lists of checks say the same.
func sameResults(a, b []calc.Check) bool {
	return slices.EqualFunc(a, b, func(x, y calc.Check) bool {
		return x.Key == y.Key && x.Demand == y.Demand && x.Resistance == y.Resistance && x.Verdict == y.Verdict
	})
}

// sheet gathers the whole sheet.
func (e *endReader) sheet(ev repair.Evaluations, pads *repair.Pads) (sheet.View, error) {
	parts := computedParts(ev, pads)
	stored, err := e.compare(parts, ev.Digest)
	if err != nil {
		return sheet.View{}, err
	}
	last, err := e.s.store.History(e.r.Context(), e.sc.Program.ID, e.rec.End.ID, 0, 1)
	if err != nil {
		return sheet.View{}, err
	}
	v := sheet.View{Standing: e.approvalStanding(), Name: e.rec.End.Name, Reading: e.reading(), Units: e.sys.Name(), BackHref: e.path(), DocumentsHref: e.path("documents"), PaperHref: e.path("sheet", "paper.css"),
		Whole: e.r.URL.Query().Has("whole"), Stored: stored, Inputs: e.sheetInputs(), Visits: e.sheetVisits(), Lengths: units.Lengths.Label(e.sys),
		Digest: ev.Digest, Method: string(calc.MethodVersion), Printed: e.when(e.s.store.Today(e.sc.Program)) + " " + e.zone.String(), Prepared: e.s.user(e.r).Name}
	if len(last) > 0 {
		v.Journal = fmt.Sprintf("%d, %s", last[0].Seq, hex.EncodeToString(last[0].Hash))
	}
	e.sheetLinks(&v)
	v.Block = e.sheetBlock(v)
	for i, c := range parts {
		part := e.sheetPart(c, string(rune('A'+i)))
		v.Parts = append(v.Parts, part)
		v.Answer = append(v.Answer, sheet.Answer{ID: part.ID, Letter: part.Letter, Subject: part.Subject, On: part.On, Capacity: part.Capacity, Demand: part.Demand,
			Ratio: part.Ratio, Governs: part.Governs, Verdict: part.Verdict, Words: answerWords(c.ev.Verdict)})
		for _, f := range c.ev.Flags {
			v.Flags = append(v.Flags, sheet.Flag{Letter: part.Letter, Text: ui.Sentence(e.say(f))})
		}
	}
	ratings := e.rec.Ratings(e.sc)
	e.compareRating(&v.Stored, ratings)
	v.Before = e.sheetDemand()
	v.More = append(e.sheetRating(ratings), e.sheetOutlook()...)
	v.Grid, v.Holes = e.sheetReadings()
	figure := e.elevationData()
	figure.Width = sheetFigure
	v.Studs, v.Figure = e.sheetStuds(), drawing.End(figure)
	v.Sources, v.Symbols = e.sheetSources(parts), sheetSymbols(parts)
	v.Settings, v.Changed, v.Others = e.sheetBasis(pads.Settings)
	return v, nil
}

// sheetFigure is the width of the drawing in pixels: small, so that its lettering
// can be read where it shares the first page with the answer.
const sheetFigure = 720

// sheetLinks are the same sheet in the other units, and with more or less of it
// in full.
func (e *endReader) sheetLinks(v *sheet.View) {
	other := units.SI
	if e.sys == units.SI {
		other = units.US
	}
	v.OtherUnits = other.Name()
	here, whole := e.path("sheet")+"?units="+string(e.sys), ""
	if v.Whole {
		whole = "&whole"
		v.WholeHref = here
	} else {
		v.WholeHref = here + "&whole"
	}
	v.OtherHref = e.path("sheet") + "?units=" + string(other) + whole
}

// sheetBlock is the title block of the sheet: what it is of, what it stands on,
// and who printed it when.
func (e *endReader) sheetBlock(v sheet.View) ui.TitleBlock {
	b := *e.titleBlock()
	cells := b.Cells[:0:0]
	for _, c := range b.Cells {
		if c.Label != "Inputs" && c.Label != "Method" && c.Label != "Reading" && c.Label != "Printed" {
			cells = append(cells, c)
		}
	}
	survey := "none"
	if sv := e.rec.LatestSurvey(); sv != nil {
		survey = fmt.Sprintf("%d, %s", sv.Number, e.when(sv.CapturedAt)[:len("2006-01-02")])
	}
	cells = append(cells,
		ui.Cell{Label: "Survey", Value: survey},
		ui.Cell{Label: "Method", Value: "version " + v.Method},
		ui.Cell{Label: "Inputs", Value: shortDigest(v.Digest)},
		ui.Cell{Label: "Journal", Value: shortJournal(v.Journal)},
		ui.Cell{Label: "Printed", Value: v.Printed},
		ui.Cell{Label: "By", Value: v.Prepared})
	return ui.TitleBlock{Cells: cells}
}

// shortJournal is the number of an entry and the part of its hash that people
// compare by eye.
func shortJournal(entry string) string {
	if i := len(entry) - 64; i > 0 {
		return entry[:i] + shortDigest(entry[i:])
	}
	return entry
}

// answerWords says of a condition that does not pass what that means, so that
// nobody takes a number beside it for an answer.
func answerWords(v calc.Verdict) string {
	switch v {
	case calc.Outside:
		return "Not a pass: a limit of the method is not met, so the ratio proves nothing. An engineer has to judge this end by other means."
	case calc.Undecided:
		return "Not a pass: a check was not decided."
	}
	return ""
}
