package web

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/static"
	"endcast/views/paper"
	"endcast/views/ui"
)

// bookFigure is the width of a drawing in a document, in pixels: its lettering can then
// be read on letter paper.
const bookFigure = 720

// endBook gathers a document of the end of the address. The reader of the end comes back
// also with a refusal, so that its page can be shown.
func (s *Server) endBook(r *http.Request, signable bool) (*endReader, printJob, paper.Book, error) {
	e, err := s.openEnd(r)
	if err != nil {
		return nil, printJob{}, paper.Book{}, err
	}
	if err := parseForm(r); err != nil {
		return nil, printJob{}, paper.Book{}, err
	}
	job := printJob{kind: r.PostFormValue("kind"), endID: e.rec.End.ID}
	if !slices.Contains(repair.PaperKinds, job.kind) {
		return e, job, paper.Book{}, fault.New(fault.Refused, "say which document is wanted: %.20q is none", job.kind)
	}
	// The journal first, the record after it: what is printed is at least as new as the entry
	// that it names, and the door compares both once more.
	if job.seq, job.hash, err = s.store.LastBearing(r.Context(), e.sc.Program.ID, job.endID); err != nil {
		return e, job, paper.Book{}, err
	}
	sc, err := s.store.Ends(r.Context(), e.sc.Program.ID, []string{job.endID})
	if err != nil {
		return e, job, paper.Book{}, err
	}
	if e, err = s.readEnd(r, sc); err != nil {
		return e, job, paper.Book{}, err
	}
	e.sys = paperUnits(r, e.sys)
	if err := job.of(s, sc, e.sys); err != nil {
		return e, job, paper.Book{}, err
	}
	b := s.newBook(job, e.sc.Program, e.rec.End.Name+", "+e.reading(), signable)
	b.Block = e.bookBlock(job)
	stands := e.approvalStanding()
	b.Standing = &stands
	switch job.kind {
	case repair.PaperCalculation:
		b.Lead = "What this end carries, what it must carry, and the repair that mends it, line by line."
		b.Sections, err = e.calculationParts(job)
	case repair.PaperAsBuilt:
		b.Lead = "What was found, decided, done and tested at this end, from the first reading to its closing."
		b.Sections, err = e.asBuiltParts()
	}
	return e, job, b, err
}

// of fills what a print says of the record that it is taken from, or refuses where that
// lacks something.
func (j *printJob) of(s *Server, sc *repair.Scope, sys units.System) error {
	lacks, err := sc.PaperLacks(j.kind)
	if err != nil {
		return err
	}
	if len(lacks) > 0 {
		return fault.New(fault.Refused, "the %s cannot be made yet: %s", strings.ToLower(repair.PaperWords(j.kind)), strings.Join(lacks, "; "))
	}
	if j.record, err = sc.PaperDigest(j.kind); err != nil {
		return err
	}
	j.at, j.units = s.store.Today(sc.Program), string(sys)
	return nil
}

// newBook begins a document: its name, what it was made from, and the lines that run
// along every page of it.
func (s *Server) newBook(j printJob, p repair.Program, of string, signable bool) paper.Book {
	zone := zoneOf(p)
	at := j.at.In(zone).Format("2006-01-02 15:04") + " " + zone.String()
	b := paper.Book{Kind: repair.PaperWords(j.kind), Program: p.Name, Bridge: p.Carries, Of: of}
	b.Title = b.Kind
	if j.kind != repair.PaperProgram {
		b.Title += " " + strings.SplitN(of, ",", 2)[0]
	}
	b.Title += ", " + p.Name
	entry := fmt.Sprintf("journal entry %d, %s", j.seq, shortDigest(j.hash))
	line := "For signature, of " + at + ", " + entry + "; counts only with its signatures"
	if !signable {
		line = "UNSIGNED, of " + at + ", " + entry
		b.Unsigned = line
	} else {
		for _, m := range []string{repair.SignedPrepared, repair.SignedChecked, repair.SignedApproved} {
			b.Signing = append(b.Signing, sentenceCase(repair.MeaningWords(m)))
		}
		if j.kind == repair.PaperAsBuilt {
			b.Signing = append(b.Signing, sentenceCase(repair.MeaningWords(repair.SignedAsBuilt)))
		}
	}
	b.Identity = []paper.Fact{{Label: "Made", Value: at}, {Label: "Method", Value: "version " + string(calc.MethodVersion)}, {Label: "Digest of the record", Note: j.record},
		{Label: "Last entry of the journal that bears on it", Value: fmt.Sprint(j.seq), Note: j.hash}, {Label: "Release of the program", Value: cmp.Or(s.cfg.Release, "unknown")},
		{Label: "Units", Value: units.System(j.units).Name()}}
	size := "letter"
	if units.System(j.units) == units.SI {
		size = "A4"
	}
	right := "record " + shortDigest(j.record) + ", method " + string(calc.MethodVersion)
	b.Style = string(static.Whole()) + fmt.Sprintf(bookPages, size, cssString(p.Name+": "+b.Kind+", "+of), cssString(right), cssString(line))
	return b
}

// bookPages are the margins of every page of a document, with the lines in them.
const bookPages = `
@page { size: %s; margin: 17mm 13mm 17mm;
  @top-left { content: %s; font: 7.5pt sans-serif; color: #444; text-align: start; width: 62%%; }
  @top-right { content: %s; font: 7.5pt sans-serif; color: #444; width: 38%%; }
  @bottom-left { content: %s; font: bold 7.5pt sans-serif; color: #000; text-align: start; width: 80%%; }
  @bottom-right { content: "Page " counter(page) " of " counter(pages); font: 7.5pt sans-serif; color: #444; width: 20%%; }
}
`

// bookBlock is the title block of a document of an end.
func (e *endReader) bookBlock(j printJob) ui.TitleBlock {
	b := *e.titleBlock()
	cells := b.Cells[:0:0]
	for _, c := range b.Cells {
		if c.Label != "Inputs" && c.Label != "Release" && c.Label != "Record" && c.Label != "Method" {
			cells = append(cells, c)
		}
	}
	survey := "none"
	if sv := e.rec.LatestSurvey(); sv != nil {
		survey = fmt.Sprintf("%d, %s", sv.Number, e.when(sv.CapturedAt)[:len("2006-01-02")])
	}
	return ui.TitleBlock{Cells: append(cells, ui.Cell{Label: "Survey", Value: survey}, ui.Cell{Label: "Record", Value: shortDigest(j.record)},
		ui.Cell{Label: "Journal", Value: fmt.Sprintf("%d, %s", j.seq, shortDigest(j.hash))}, ui.Cell{Label: "Method", Value: string(calc.MethodVersion)},
		ui.Cell{Label: "By", Value: e.s.user(e.r).Name})}
}

// calculationParts are the parts of the calculation package.
func (e *endReader) calculationParts(j printJob) ([]paper.Section, error) {
	d := e.rec.DesignInForce()
	pads := repair.NewPads()
	ev, err := e.rec.Evaluate(e.sc, pads)
	if err != nil {
		return nil, err
	}
	v, err := e.sheet(ev, pads)
	if err != nil {
		return nil, err
	}
	v.OtherHref, v.PaperHref = "", ""
	v.Journal = fmt.Sprintf("%d, %s", j.seq, j.hash)
	v.Block = e.sheetBlock(v)
	return []paper.Section{e.surveyPart(), e.designPart(d), {ID: "calculation-sheet", Title: "Calculation sheet", Sheet: &v}, e.reviewPart(), e.studPart(d)}, nil
}

// only returns the rows that meet a condition.
func only[T any](rows []T, keep func(T) bool) []T {
	return slices.DeleteFunc(slices.Clone(rows), func(x T) bool { return !keep(x) })
}

func mark(m ui.Mark) paper.Cell { return paper.Cell{Mark: &m} }

// cells are plain texts as a row.
func cells(texts ...string) []paper.Cell {
	out := make([]paper.Cell, len(texts))
	for i, t := range texts {
		out[i] = paper.Cell{Text: t}
	}
	return out
}

// heads are the heads of a table; those that begin with # stand over numbers, those that
// begin with ~ over names and dates, which never break.
func heads(labels ...string) []paper.Head {
	out := make([]paper.Head, len(labels))
	for i, l := range labels {
		label, num := strings.CutPrefix(l, "#")
		label, whole := strings.CutPrefix(label, "~")
		out[i] = paper.Head{Label: label, Num: num, Whole: whole}
	}
	return out
}

// surveyPart is the loss map with who read it.
func (e *endReader) surveyPart() paper.Section {
	sec := paper.Section{ID: "survey-map", Title: "Survey map"}
	fig := e.elevationData()
	fig.ID, fig.Design, fig.Revision, fig.Status, fig.Width = "survey-map-figure", nil, "", nil, bookFigure
	sec.Figure = e.figureOf(fig)
	visits := paper.Table{Caption: "Visits: who read the steel, when and with what", Heads: heads("Survey", "~Taken", "By", "Method, gauge", "Read"), Empty: "No survey is on record."}
	for _, s := range e.sheetVisits() {
		what := s.Number + ", " + s.Kind
		if s.Counts {
			what += " (counts)"
		}
		visits.Rows = append(visits.Rows, cells(what, s.When, s.By, s.How, s.Read))
	}
	sec.Tables = append(sec.Tables, visits)
	if e.rec.LatestSurvey() != nil {
		sec.Notes = append(sec.Notes, "Each reading of the survey that counts is listed in the calculation sheet.")
	}
	return sec
}

// designPart is the revision in force with what it is.
func (e *endReader) designPart(d *repair.Design) paper.Section {
	if d == nil {
		return paper.Section{ID: "design-revision", Title: "Design revision", Missing: "No design revision is on record."}
	}
	m := revisionMark(d.State)
	sec := paper.Section{ID: "design-revision", Title: "Design revision " + numberOf(d.Revision), Mark: &m}
	if stale, why := e.rec.OutOfDate(e.sc); stale {
		sec.Mark = &ui.Mark{State: ui.Caution, Text: m.Text + ", out of date"}
		sec.Words = append(sec.Words, "This revision no longer stands on what is known: "+why+".")
	}
	if d.State != repair.DesignApproved && d.State != repair.DesignApprovedNoted {
		sec.Words = append(sec.Words, "This revision is not approved. Nothing may be welded or cast to it.")
	}
	var over string
	sec.Figure, over = e.revisionFigure(d, nil, bookFigure)
	sec.Notes = append([]string{over}, e.revisionCautions(d)...)
	for _, f := range e.layoutFacts(d) {
		sec.Facts = append(sec.Facts, paper.Fact{Label: f.Label, Value: f.Value})
	}
	if d.Note != "" {
		sec.Notes = append(sec.Notes, "Design note: "+d.Note)
	}
	t := paper.Table{Caption: "What decisions on this revision were made on, beside what it stands on now", Heads: heads("Event", "~When", "Inputs", "Beside now"), Empty: "Nothing was decided on this revision."}
	for _, x := range e.digests(d) {
		row := append(cells(x.Label, x.When, x.Value), paper.Cell{Text: "–"})
		if x.Mark.Text != "" {
			row[3] = mark(x.Mark)
		}
		t.Rows = append(t.Rows, row)
	}
	sec.Tables = append(sec.Tables, t)
	return sec
}

// reviewPart is every decision on every revision, with its words.
func (e *endReader) reviewPart() paper.Section {
	sec := paper.Section{ID: "review", Title: "Review"}
	rows := slices.Clone(e.rec.Designs)
	slices.SortFunc(rows, func(a, b repair.Design) int { return a.Revision - b.Revision })
	n := 0
	for i := range rows {
		for _, x := range e.reviewsOf(&rows[i]) {
			n++
			decision := x.Decision
			p := paper.Part{ID: fmt.Sprintf("review-%d", n), Title: "Revision " + numberOf(rows[i].Revision), Mark: &decision,
				Facts: []paper.Fact{{Label: "By", Value: x.By}, {Label: "When", Value: x.When}, {Label: "Inputs decided on", Value: x.Sign}}, Words: []string{"“" + x.Meaning + "”"}}
			if x.Reasons != "" {
				p.Words = append(p.Words, "Notes and reasons: "+x.Reasons)
			}
			sec.Parts = append(sec.Parts, p)
		}
		notes := only(e.rec.ReviewNotes, func(x repair.ReviewNote) bool { return x.DesignID == rows[i].ID })
		slices.SortFunc(notes, func(a, b repair.ReviewNote) int { return a.Number - b.Number })
		for j, x := range notes {
			if j == 0 {
				sec.Tables = append(sec.Tables, paper.Table{Caption: "Notes of the review, revision " + numberOf(rows[i].Revision), Heads: heads("#Note", "Says")})
			}
			t := &sec.Tables[len(sec.Tables)-1]
			t.Rows = append(t.Rows, cells(numberOf(x.Number), x.Note))
		}
	}
	if n == 0 {
		sec.Missing = "No revision of this end has been reviewed."
	}
	return sec
}

// studPart is the map of the studs, with what was found at each collar.
func (e *endReader) studPart(d *repair.Design) paper.Section {
	sec := paper.Section{ID: "stud-map", Title: "Stud map"}
	if d == nil {
		sec.Missing = "No stud is designed."
		return sec
	}
	sec.Title += ", revision " + numberOf(d.Revision)
	fig := e.elevationData()
	fig.ID, fig.Survey, fig.Width = "stud-map-figure", nil, bookFigure
	sec.Figure = e.figureOf(fig)
	latest := e.rec.LatestCollars(d.ID)
	unit := units.Lengths.Label(e.sys)
	t := paper.Table{Caption: "Studs: x from the girder end, z above the bottom flange, " + unit, Empty: "This revision has no studs.",
		Heads: heads("~Stud", "Face", "#Row", "#Column", "#x", "#z", "Collar", "Detail", "Seen")}
	for _, s := range e.studRows(d) {
		row := cells(s.Mark, s.Face, s.Row, s.Col, s.X, s.Z, s.Collar, "", "")
		if c, ok := latest[s.Mark]; ok {
			row[7].Text, row[8].Text = e.collarDetail(c), e.when(c.CapturedAt)+", "+e.name(c.ByUser)
		}
		t.Rows = append(t.Rows, row)
	}
	sec.Tables = append(sec.Tables, t)
	return sec
}

func roleWords(role string) string { return sequence.RoleWords(sequence.Role(role)) }
