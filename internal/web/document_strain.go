package web

import (
	"fmt"

	"endcast/internal/domain/monitor"
	"endcast/internal/domain/repair"
	"endcast/views/paper"
	"endcast/views/strain"
	"endcast/views/ui"
)

// strainParts are the strain records in a document: the verdict as it follows from what
// is on record, the states, and the pictures of the page of the verdict. None where
// nothing was recorded.
func (e *endReader) strainParts() ([]paper.Section, error) {
	list := e.rec.CountedRecordings()
	if len(list) == 0 {
		return nil, nil
	}
	found, stale, err := e.s.store.FoundPassages(e.r.Context(), e.sc, e.rec)
	if err != nil {
		return nil, err
	}
	sec := paper.Section{ID: "strain", Title: "Strain records"}
	files := paper.Table{Caption: "Recordings that count", Heads: heads("~From", "~To", "#Rows", "#Rows a second", "File", "By", "Note")}
	for _, x := range list {
		files.Rows = append(files.Rows, cells(e.when(x.FromAt), e.when(x.ToAt), grouped(x.Rows), decimalText(x.Rate, 0), x.FileName+", SHA-256 "+x.SHA256[:12], x.ByName+", "+roleWords(x.ByRole), x.Note))
	}
	if len(stale) > 0 {
		sec.Words = []string{fmt.Sprintf("The passages of %d recordings were being found anew when this was printed: print it again for the verdict and its pictures.", len(stale))}
		sec.Tables = []paper.Table{files}
		return []paper.Section{sec}, nil
	}
	j, ev, _ := e.judged(found)
	m := strainMark(repair.ResultOf(j.Verdict))
	sec.Mark = &m
	sec.Words = []string{ui.Sentence(j.Words), monitor.RawWhy}
	for _, f := range j.Finding {
		sec.Words = append(sec.Words, "Disagrees: "+f.Words+".")
	}
	var v strain.Verdict
	e.verdictStates(&v, j, ev)
	sec.Notes = []string{v.Stiffness, "The verdict supports the judgment of a licensed engineer and does not replace it."}
	sec.Tables = []paper.Table{paperTable(v.States), files}
	out := []paper.Section{sec}
	pictures, err := e.strainPictures(j, ev, found, bookFigure)
	if err != nil {
		return nil, err
	}
	for i, p := range pictures {
		part := paper.Section{ID: fmt.Sprintf("strain-%d", i+1), Title: p.Title, Words: []string{p.Says}, Figure: p.Draw, Short: true, Tables: []paper.Table{paperTable(p.Table)}}
		out = append(out, part)
		if p.Below != nil {
			out = append(out, paper.Section{ID: part.ID + "-below", Title: p.Title + ", continued", Figure: p.Below, Short: true})
		}
	}
	return out, nil
}

// paperTable is a table of a page of strain as a document prints it.
func paperTable(t strain.Table) paper.Table {
	out := paper.Table{Caption: t.Caption, Empty: t.None}
	for _, c := range t.Columns {
		label := c.Label
		if c.Unit != "" {
			label += ", " + c.Unit
		}
		out.Heads = append(out.Heads, paper.Head{Label: label, Num: c.Numeric})
	}
	for _, r := range t.Rows {
		var row []paper.Cell
		for _, c := range r {
			if c.Mark != nil {
				row = append(row, mark(*c.Mark))
				continue
			}
			text := c.Text
			if c.Small != "" {
				text += " (" + c.Small + ")"
			}
			row = append(row, cells(text)...)
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}
