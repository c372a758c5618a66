package web

import (
	"cmp"
	"encoding/base64"
	"fmt"
	"slices"
	"strings"

	"github.com/a-h/templ"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/views/drawing"
	"endcast/views/paper"
)

func (e *endReader) figureOf(d drawing.EndData) templ.Component { return drawing.End(d) }

// asBuiltParts are the parts of the as-built book.
func (e *endReader) asBuiltParts() ([]paper.Section, error) {
	steps, err := e.stepsPart()
	if err != nil {
		return nil, err
	}
	photos, err := e.photosPart()
	if err != nil {
		return nil, err
	}
	d := e.rec.DesignInForce()
	studs := e.studPart(d)
	studs.Title = strings.Replace(studs.Title, "Stud map", "Studs as welded", 1)
	strain, err := e.strainParts()
	if err != nil {
		return nil, err
	}
	out := []paper.Section{steps, e.stagesPart(), e.surveyPart(), e.designPart(d), e.reviewPart(), studs, e.workPart(), e.castingPart(), e.breaksPart(), e.gatesPart(),
		e.nonconformancePart(), e.loadPathPart()}
	return append(append(out, strain...), photos), nil
}

// stepsPart is the sequence with who completed and released what.
func (e *endReader) stepsPart() (paper.Section, error) {
	facts, err := e.rec.Facts(e.sc)
	if err != nil {
		return paper.Section{}, err
	}
	status := sequence.Evaluate(e.sc.Sequence(), facts)
	standing := e.standing(status)
	sec := paper.Section{ID: "steps", Title: "Steps of the work", Mark: &standing.Mark}
	t := paper.Table{Caption: "Every act on every step, in the order of the sequence", Heads: heads("Step", "State", "Act", "By", "~When", "Note"), Empty: "The program has no sequence."}
	list, _ := e.steps(status, facts, nil)
	for _, st := range list {
		if len(st.Records) == 0 {
			t.Rows = append(t.Rows, append(cells(st.Order+" "+st.Name), append([]paper.Cell{mark(st.State)}, cells("–", "–", "–", "")...)...))
		}
		for i, rec := range st.Records {
			name, state := st.Order+" "+st.Name, mark(st.State)
			if i > 0 {
				name, state = "", paper.Cell{}
			}
			t.Rows = append(t.Rows, append(cells(name), append([]paper.Cell{state}, cells(rec.Kind, rec.By+", "+rec.Role, rec.When, strings.Trim(rec.Note+"; "+rec.Ticks, "; "))...)...))
		}
	}
	sec.Tables = append(sec.Tables, t)
	for _, w := range e.rec.Waivers {
		note := w.Reason
		if w.WithdrawnAt != nil {
			note += " (withdrawn: " + w.WithdrawnWhy + ")"
		}
		sec.Notes = append(sec.Notes, "Waived: "+plainWord(w.Condition)+" "+w.Line+", by "+w.ByName+", "+roleWords(w.ByRole)+", "+e.when(w.At)+": "+note)
	}
	return sec, nil
}

// stagesPart is what the end carried at each stage.
func (e *endReader) stagesPart() paper.Section {
	v := e.stages(e.rec.Stages(e.sc))
	sec := paper.Section{ID: "stages", Title: "What the end carried at each stage", Figure: v.Chart, Notes: v.Missing}
	t := paper.Table{Caption: "Capacity by stage against the demand", Heads: heads("#No.", "Stage", "~On", "By", "#Capacity", "#Demand", "#Rating factor", "Verdict", "Stands on"), Empty: "Nothing is computed yet."}
	for _, r := range v.Rows {
		row := cells(r.Number, r.Name, r.On, r.Who, r.Capacity, r.Demand, r.Rating, "", r.Note)
		row[7] = mark(r.Verdict)
		t.Rows = append(t.Rows, row)
	}
	sec.Tables = append(sec.Tables, t)
	return sec
}

// workPart is cleaning, checks of the shift and inspections.
func (e *endReader) workPart() paper.Section {
	sec := paper.Section{ID: "work", Title: "Cleaning, checks and inspections"}
	t := paper.Table{Caption: "Cleaning by zone", Heads: heads("Zone", "Grade reached", "~Ended", "By", "Steel and air", "Note"), Empty: "No cleaning is on record."}
	for _, c := range e.cleanings() {
		t.Rows = append(t.Rows, cells(c.Zone, c.Grade, c.When, c.By, c.Air, c.Note))
	}
	sec.Tables = append(sec.Tables, t)
	for _, c := range e.shiftChecked() {
		t := paper.Table{Caption: c.Title + ": " + c.Mark.Text, Heads: []paper.Head{}, Empty: c.Title + ": none on record."}
		for _, col := range c.Columns {
			t.Heads = append(t.Heads, paper.Head{Label: col.Label, Num: col.Numeric})
		}
		for _, r := range c.Rows {
			row := append(cells(r.Title), append([]paper.Cell{mark(r.Mark)}, cells(r.Cells...)...)...)
			for len(t.Heads) < len(row) {
				t.Heads = append(t.Heads, paper.Head{})
			}
			t.Rows = append(t.Rows, row)
		}
		sec.Tables = append(sec.Tables, t)
	}
	t = paper.Table{Caption: "Inspections that somebody signed for", Heads: heads("Subject", "Outcome", "By", "~When", "Note"), Empty: "No inspection is on record."}
	for _, x := range e.inspections() {
		t.Rows = append(t.Rows, append(cells(x.Subject), append([]paper.Cell{mark(x.Outcome)}, cells(x.By, x.When, x.Note)...)...))
	}
	sec.Tables = append(sec.Tables, t)
	return sec
}

// castingPart is every casting of the end with its batches.
func (e *endReader) castingPart() paper.Section {
	sec := paper.Section{ID: "castings", Title: "Castings"}
	for _, p := range e.pours() {
		t := paper.Table{Caption: "Pour " + p.Number + ", " + p.When, Heads: heads("#Batch", "~Mixed", "~Placed", "#Flow", "#Mix", "#Air", "State", "Why"), Empty: "Pour " + p.Number + " has no batch."}
		if p.Volume != "" {
			t.Caption += ", " + p.Volume + " at this end"
		}
		for _, b := range p.Batches {
			row := cells(b.Number, b.Mixed, b.Placed, b.Flow, b.MixTemp, b.AirTemp, "", b.Why)
			row[6] = mark(b.State)
			t.Rows = append(t.Rows, row)
		}
		sec.Tables = append(sec.Tables, t)
		if p.Note != "" {
			sec.Notes = append(sec.Notes, "Pour "+p.Number+": "+p.Note)
		}
	}
	if len(sec.Tables) == 0 {
		sec.Missing = "This end has not been cast."
	}
	return sec
}

// breaksPart is every specimen of those castings.
func (e *endReader) breaksPart() paper.Section {
	sec := paper.Section{ID: "breaks", Title: "Breaks", Short: true}
	for _, p := range e.pours() {
		sets := paper.Table{Caption: "Strength by age, pour " + p.Number, Heads: heads("#Batch", "Specimens", "#Age", "#Broken", "#Mean as broken", "#Mean, as a standard cylinder", "Remark"), Empty: "Pour " + p.Number + ": no specimen is on record."}
		for _, s := range p.Sets {
			remark := s.Held
			if s.Waiting {
				remark = strings.TrimSuffix(s.Due+"; "+remark, "; ")
			}
			sets.Rows = append(sets.Rows, cells(s.Batch, s.Kind+", "+s.Curing, s.Age, s.Broken, s.Raw, s.Mean, remark))
		}
		sec.Tables = append(sec.Tables, sets)
	}
	mine := map[string]bool{}
	for _, pe := range e.sc.PourEnds {
		if pe.EndID == e.rec.End.ID {
			mine[pe.PourID] = true
		}
	}
	each := paper.Table{Caption: "Each specimen that was broken", Heads: heads("~Mark", "#Batch", "~Broken", "#Load", "#As broken", "#As a standard cylinder", "Counts"), Empty: "No specimen of this end has been broken."}
	specimens := slices.Clone(e.sc.Specimens)
	slices.SortFunc(specimens, func(a, b repair.Specimen) int { return cmp.Compare(a.Mark, b.Mark) })
	for _, sp := range specimens {
		if !mine[sp.PourID] || sp.BrokenAt == nil {
			continue
		}
		row := cells(sp.Mark, numberOf(sp.BatchNo), e.when(*sp.BrokenAt), "–", "–", "–", "yes")
		if sp.Load != nil {
			row[3].Text = sp.Load.Format(e.sys, -1)
		}
		if sp.Raw != nil {
			row[4].Text = sp.Raw.Format(e.sys, -1)
		}
		if sp.Strength != nil {
			row[5].Text = sp.Strength.Format(e.sys, -1)
		}
		if sp.Held != "" {
			row[6].Text = "no: " + sp.Held
		}
		each.Rows = append(each.Rows, row)
	}
	sec.Tables = append(sec.Tables, each)
	return sec
}

// gatesPart is the decisions before the form came off and before traffic returned.
func (e *endReader) gatesPart() paper.Section {
	sec := paper.Section{ID: "gates", Title: "Decisions on strength", Short: true}
	rows := slices.Clone(e.rec.Gates)
	slices.SortFunc(rows, func(a, b repair.GateDecision) int { return a.At.Compare(b.At) })
	t := paper.Table{Caption: "Gates, in the order decided", Heads: heads("Gate", "Decision", "#Strength", "#Needed", "By", "~When", "Reasons"), Empty: "No gate was decided for this end."}
	for _, g := range rows {
		t.Rows = append(t.Rows, cells(sentenceCase(plainWord(g.Gate)), plainWord(g.Decision), units.Stress(g.Mean).Format(e.sys, -1), units.Stress(g.Limit).Format(e.sys, -1),
			g.ByName+", "+roleWords(g.ByRole), e.when(g.At), g.Reasons))
	}
	sec.Tables = append(sec.Tables, t)
	return sec
}

// nonconformancePart is each requirement that was not met and what became of it.
func (e *endReader) nonconformancePart() paper.Section {
	sec := paper.Section{ID: "nonconformances", Title: "Nonconformances"}
	rows := slices.Clone(e.rec.Nonconformances)
	slices.SortFunc(rows, func(a, b repair.Nonconformance) int { return a.Number - b.Number })
	for _, n := range rows {
		m := nonconformanceMark(n)
		p := paper.Part{ID: "nonconformance-" + numberOf(n.Number), Title: "Nonconformance " + numberOf(n.Number), Mark: &m}
		if n.Critical {
			p.Title += ", critical"
		}
		for _, f := range e.nonconformanceFacts(n) {
			p.Facts = append(p.Facts, paper.Fact{Label: f.Label, Value: f.Text, Note: f.By})
		}
		sec.Parts = append(sec.Parts, p)
	}
	if len(rows) == 0 {
		sec.Missing = "No nonconformance was raised at this end."
	}
	return sec
}

// loadPathPart is the finding whether the repair carries load, where it was tested.
func (e *endReader) loadPathPart() paper.Section {
	sec := paper.Section{ID: "load-path", Title: "Load path", Short: true}
	t := paper.Table{Caption: "Findings whether the repair takes load", Heads: heads("Subject", "Outcome", "By", "~When", "Note"), Empty: "No test of the load path is on record: not every end has gauges."}
	for _, x := range e.inspections() {
		if x.Subject == inspectionWords["load_path"] || x.Subject == inspectionWords["gauges"] {
			t.Rows = append(t.Rows, append(cells(x.Subject), append([]paper.Cell{mark(x.Outcome)}, cells(x.By, x.When, x.Note)...)...))
		}
	}
	sec.Tables = append(sec.Tables, t)
	verdicts := paper.Table{Caption: "Verdicts on strain records, in the order confirmed", Heads: heads("Result", "What the records show", "Judgment", "By", "~When"), Empty: "No verdict on strain records is on record."}
	for _, v := range byMoment(e.rec.Verdicts) {
		verdicts.Rows = append(verdicts.Rows, cells(sentenceCase(plainWord(v.Result)), v.Words, strings.Trim(plainWord(v.Judgment)+"; "+v.Note, "; "), v.ByName+", "+roleWords(v.ByRole), e.when(v.At)))
	}
	sec.Tables = append(sec.Tables, verdicts)
	return sec
}

// byMoment are verdicts in the order in which they were confirmed.
func byMoment(rows []repair.StrainVerdict) []repair.StrainVerdict {
	out := slices.Clone(rows)
	slices.SortFunc(out, func(a, b repair.StrainVerdict) int { return a.At.Compare(b.At) })
	return out
}

// mostBookPhotos is how many photographs a document holds; the rest are named by number.
const mostBookPhotos = 60

// photosPart is the small copies of the photographs, each with the digest of its original.
func (e *endReader) photosPart() (paper.Section, error) {
	sec := paper.Section{ID: "photographs", Title: "Photographs"}
	rows := e.byNumber()
	for i, p := range rows {
		if i == mostBookPhotos {
			sec.Notes = append(sec.Notes, fmt.Sprintf("%d further photographs are on record.", len(rows)-i))
			break
		}
		x := paper.Photo{Number: numberOf(i + 1), Caption: cmp.Or(p.Caption, sentenceCase(e.photoSubject(p.Subject))), Taken: e.when(p.CapturedAt) + ", " + e.name(p.ByUser), Place: e.pinWords(p), SHA: p.SHA256[:min(12, len(p.SHA256))]}
		small, err := e.s.store.PhotoThumb(e.r.Context(), p.SHA256)
		if err != nil {
			return sec, err
		}
		if small.Bytes == nil {
			x.Why = "No small copy could be made: " + small.Why
		} else {
			x.Data = "data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(small.Bytes)
		}
		sec.Photos = append(sec.Photos, x)
	}
	if len(rows) == 0 {
		sec.Missing = "No photograph is on record."
	} else {
		sec.Words = append(sec.Words, "Small copies without metadata; the originals are on record under the digests given.")
	}
	return sec, nil
}
