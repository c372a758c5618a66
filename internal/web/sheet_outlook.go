package web

import (
	"github.com/a-h/templ"

	"endcast/internal/domain/repair"
	views "endcast/views/outlook"
	"endcast/views/sheet"
	"endcast/views/ui"
)

// sheetOutlook is what uncertainty and time do to the end, what the repair is
// foreseen to take, and what the end carried at each stage: as stored, since samples
// are drawn when the record changes.
func (e *endReader) sheetOutlook() []sheet.Chapter {
	list := e.rec.Stages(e.sc)
	v, share := e.outlook(list), e.loadShare()
	var out []sheet.Chapter
	if v.Odds.None == "" {
		c := sheet.Chapter{ID: "chance", Title: "Chance that the capacity is below the demand, as corroded", Facts: factRows(v.Odds.Facts)}
		for _, f := range v.Odds.Spread {
			c.Facts = append(c.Facts, sheet.Input{Name: f.Label, Value: f.Value, Origin: ratioNote(f.Note)})
		}
		c.Words = append(c.Words, listed("What varies: ", v.Odds.In), listed("What does not: ", v.Odds.Out))
		out = append(out, c)
	}
	if v.Fall.None == "" {
		c := sheet.Chapter{ID: "fall", Title: "Loss carried forward in time", Mark: &v.Fall.Mark, Facts: factRows(v.Fall.Facts)}
		for _, w := range v.Fall.Words {
			c.Words = append(c.Words, ui.Sentence(w))
		}
		if len(v.Fall.Pairs) > 0 {
			t := sheet.Table{Caption: "Surveys compared", Heads: []sheet.Head{{Label: "Surveys", Words: true}, {Label: "Years"}, {Label: "Matched", Words: true}, {Label: "Loss a year"}, {Label: "Used", Words: true}}}
			for _, p := range v.Fall.Pairs {
				used := p.State.Text
				if p.Why != "" {
					used += ": " + p.Why
				}
				t.Rows = append(t.Rows, []string{p.Surveys, p.Years, p.Matched, p.Loss, used})
			}
			c.Tables = append(c.Tables, t)
		}
		if v.Fall.Chart != nil {
			c.Figures = []templ.Component{v.Fall.Chart}
		}
		out = append(out, c)
	}
	if share.None == "" {
		out = append(out, sheetShare(share))
	}
	if st := e.stages(list); len(st.Rows) > 1 {
		out = append(out, sheetStages(st))
	}
	return out
}

func factRows(fs []views.Fact) []sheet.Input {
	var out []sheet.Input
	for _, f := range fs {
		out = append(out, sheet.Input{Name: f.Label, Value: f.Value, Origin: f.Note})
	}
	return out
}

// ratioNote says what the plain ratio beside a percentile is.
func ratioNote(note string) string {
	if note == "" || note == "–" {
		return ""
	}
	return note + " of the demand"
}

func listed(lead string, items []string) string {
	out := lead
	for i, s := range items {
		if i > 0 {
			out += "; "
		}
		out += s
	}
	return out + "."
}

func sheetShare(v views.Share) sheet.Chapter {
	c := sheet.Chapter{ID: "share", Title: "Load share foreseen, " + v.On, Facts: factRows(v.Strain), Words: v.Unsolved}
	t := sheet.Table{Caption: "Web and panel, range over the laws of load and slip", Heads: []sheet.Head{{Label: "State", Words: true}, {Label: "Reaction"}, {Label: "Before hardening"}, {Label: "Panel's part"}, {Label: "Panel"}, {Label: "Web"}, {Label: "Hardest stud"}, {Label: "Slip, top"}, {Label: "Slip, foot"}}}
	for _, s := range v.States {
		t.Rows = append(t.Rows, []string{s.Name + ": " + s.Note, s.Total, s.Before, s.Share, s.Panel, s.Web, s.Peak + ", " + s.Use, s.SlipTop, s.SlipFoot})
	}
	c.Tables = append(c.Tables, t)
	return c
}

func sheetStages(v views.Stages) sheet.Chapter {
	c := sheet.Chapter{ID: "stages", Title: "What it carried at each stage of the work", Words: []string{"By the demand, the design basis and the procedure of today, with the steel and the strength that were known then."}}
	t := sheet.Table{Caption: "Stages", Heads: []sheet.Head{{Label: "Stage", Words: true}, {Label: "On"}, {Label: "By", Words: true}, {Label: "Capacity"}, {Label: "Demand"}, {Label: "Rating"}, {Label: "Verdict", Words: true}, {Label: "What it counts", Words: true}}}
	for _, r := range v.Rows {
		t.Rows = append(t.Rows, []string{r.Number + " " + r.Name, r.On, r.Who, r.Capacity, r.Demand, r.Rating, r.Verdict.Text, r.Note})
	}
	c.Tables = append(c.Tables, t)
	for _, m := range v.Missing {
		c.Words = append(c.Words, ui.Sentence(m))
	}
	return c
}

// compareRating says where the stored rating is not the one computed now.
func (e *endReader) compareRating(stored *sheet.Stored, now repair.RatingSummary) {
	o := e.rec.LatestOutlook()
	if o == nil {
		return
	}
	was, ok := o.RatingOf()
	if !ok {
		return
	}
	for _, c := range now.Rated {
		old := was.Of(c.Condition)
		if old == nil || (old.Least == nil) != (c.Least == nil) || c.Least != nil && *old.Least != *c.Least {
			stored.Lines = append(stored.Lines, plainWord(c.Condition)+": the stored rating is not the one computed now")
		}
	}
	stored.Agrees = len(stored.Lines) == 0
}
