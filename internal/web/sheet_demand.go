package web

import (
	"cmp"
	"fmt"
	"math"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/sheet"
	"endcast/views/ui"
)

// sheetDemand is what the end must carry: the parts, each with who entered it, the
// statics that turns them into reactions, and the factored sum. It is empty where the
// factored total was entered as such; the inputs say so then.
func (e *endReader) sheetDemand() []sheet.Chapter {
	row := e.rec.DemandOf()
	if row == nil || row.How == repair.ByHandTotal {
		return nil
	}
	p := calc.NewPad()
	d := e.rec.FactoredOn(e.sc, p)
	c := sheet.Chapter{ID: "demand", Title: "What the end must carry"}
	c.Facts = []sheet.Input{{Name: "Factored reaction", Value: d.Factored.Format(e.sys, -1), Origin: ui.Sentence(d.Origin)},
		{Name: "How it comes", Value: demandWays[row.How], Origin: e.setBy(row.SetByName, row.SetBy) + ", " + e.when(row.SetAt)}}
	if d.Problem != "" {
		c.Mark = &ui.Mark{State: ui.Caution, Text: "the factored total by hand stands in its place"}
		c.Words = append(c.Words, "This way gives no demand: "+ui.Sentence(d.Problem))
		return []sheet.Chapter{c}
	}
	e.spanFacts(&c, row)
	reactions := sheet.Table{Caption: "Reactions at this end, without load factors", Heads: []sheet.Head{{Label: "Cause", Words: true}, {Label: "Reaction"}, {Label: "How it comes", Words: true}}}
	for _, k := range demand.Buckets() {
		r := d.Loads.Bucket(k)
		if r.Known {
			reactions.Rows = append(reactions.Rows, []string{sentenceCase(k.Words()), r.Force.Format(e.sys, -1), r.Origin})
		} else {
			reactions.Rows = append(reactions.Rows, []string{sentenceCase(k.Words()), "–", "not known"})
		}
	}
	for _, l := range d.Loads.Live {
		how := l.Origin
		if l.Lane > 0 {
			how = fmt.Sprintf("share %s of a lane of %s, impact %s inside; governs: %s", units.Significant(l.Share, 3), units.Force(l.Lane).Format(e.sys, -1), share(l.Impact), l.Governs)
		}
		reactions.Rows = append(reactions.Rows, []string{l.Load, l.Force.Format(e.sys, -1), how})
	}
	c.Tables = append(c.Tables, reactions)
	for _, w := range d.Loads.Share.Warnings {
		c.Words = append(c.Words, ui.Sentence(e.say(w)))
	}
	lines := p.Lines()
	sum := demand.Factored(calc.NewPad(), e.sc.Basis(), d.Loads, demand.LRFR, "")
	c.Lines = e.lines(append(lines, sum.Lines...), calc.Clause{})
	return []sheet.Chapter{c}
}

var demandWays = map[string]string{repair.ByHandTotal: "factored total by hand", repair.ByHandParts: "parts by hand", repair.ByStatics: "statics of the span"}

// setBy is who set a row: the name that it keeps, or the name of the person.
func (e *endReader) setBy(name, id string) string { return cmp.Or(name, e.name(id)) }

// spanFacts are the cross section and the parts of the dead load that statics reads.
func (e *endReader) spanFacts(c *sheet.Chapter, row *repair.EndDemand) {
	x := e.sc.SpanDemand(e.rec.End.SpanID)
	if row.How != repair.ByStatics || x == nil {
		return
	}
	sp, _ := e.sc.Span(e.rec.End.SpanID)
	in := func(name string, l units.Length) sheet.Input { return sheet.Input{Name: name, Value: e.length(l)} }
	traffic := "not known"
	if x.ADTT != nil {
		traffic = numberOf(*x.ADTT)
	}
	c.Facts = append(c.Facts,
		sheet.Input{Name: "Cross section entered by", Value: e.setBy(x.SetByName, x.SetBy), Origin: x.Source + ", " + e.when(x.SetAt)},
		sheet.Input{Name: "Span, bearing to bearing", Value: units.Spans.Format(float64(sp.Length), e.sys, -1)}, sheet.Input{Name: "Girders", Value: numberOf(sp.Girders)}, in("Spacing", sp.Spacing),
		in("Deck", x.Deck), in("Outer web to curb, left", x.EdgeLeft), in("Outer web to curb, right", x.EdgeRight), in("Overhang, left", x.OverhangLeft), in("Overhang, right", x.OverhangRight),
		sheet.Input{Name: "Skew, near and far", Value: x.SkewNear.Format(e.sys, -1) + ", " + x.SkewFar.Format(e.sys, -1)},
		sheet.Input{Name: "Trucks a day, one direction", Value: traffic})
	t := sheet.Table{Caption: "Parts of the dead load of the span", Heads: []sheet.Head{{Label: "Part", Words: true}, {Label: "Kind", Words: true}, {Label: "Value"}, {Label: "Carried by", Words: true}, {Label: "Source", Words: true}, {Label: "Entered by", Words: true}}}
	for _, p := range e.sc.PartsOf(e.rec.End.SpanID) {
		if p.Retired {
			continue
		}
		t.Rows = append(t.Rows, []string{p.Name, demand.Bucket(p.Bucket).Words(), partValue(p.Kind, p.Value, e.sys), plainWord(p.Where), p.Source, e.setBy(p.SetByName, p.SetBy) + ", " + e.when(p.SetAt)[:len("2006-01-02")]})
	}
	if len(t.Rows) > 0 {
		c.Tables = append(c.Tables, t)
	}
}

// sheetRating is the rating factors of the end in each condition, with the
// calculation of the least one now. It is empty where nothing of the loads is known.
func (e *endReader) sheetRating(sum repair.RatingSummary) []sheet.Chapter {
	if len(sum.Rated) == 0 {
		return nil
	}
	words := map[string]string{repair.AsNew: "As new", repair.Corroded: "As corroded", repair.Repaired: "As designed", repair.AsWelded: "As welded"}
	c := sheet.Chapter{ID: "rating", Title: "Rating factors"}
	heads := []sheet.Head{{Label: "Load", Words: true}, {Label: "Level", Words: true}, {Label: "Method", Words: true}}
	for _, cond := range sum.Rated {
		heads = append(heads, sheet.Head{Label: words[cond.Condition]})
	}
	t := sheet.Table{Caption: "Rating factors by condition; below 1 the load is not carried; marked * where a limit of the method is not met: no factor of that condition is to be relied on", Heads: append(heads, sheet.Head{Label: "May cross now"})}
	last := sum.Rated[len(sum.Rated)-1]
	now := last
	if now.Condition != repair.AsWelded {
		if x := sum.Of(repair.Corroded); x != nil {
			now = *x
		}
	}
	for i, line := range last.Ratings {
		row := []string{line.Vehicle, string(line.Level), line.Method.Words()}
		for _, cond := range sum.Rated {
			row = append(row, ratingText(cond, i))
		}
		safe := "–"
		if i < len(now.Ratings) && now.Ratings[i].Posts && now.Ratings[i].Known {
			safe = now.Ratings[i].SafeLoad.Format(e.sys, -1)
		}
		t.Rows = append(t.Rows, append(row, safe))
	}
	c.Tables = append(c.Tables, t)
	for _, m := range sum.Missing {
		c.Words = append(c.Words, "Not known: "+m+".")
	}
	if sum.Traffic == 0 {
		c.Words = append(c.Words, "Nobody knows the trucks a day: the factor of the heaviest traffic counts.")
	}
	for _, s := range now.Screens {
		if s.Words != "" {
			c.Words = append(c.Words, sentenceCase(words[now.Condition])+", by "+s.Method.Words()+": "+ui.Sentence(s.Words))
		}
	}
	if now.Outside {
		c.Mark = &ui.Mark{State: ui.Caution, Text: "outside the method's limits: no factor is to be relied on"}
	}
	list := e.rec.RatingsOn(e.sc, now.Condition, calc.NewPad())
	least := -1
	for i, x := range list {
		if x.Known && x.Method == demand.LRFR && x.Level != demand.Inventory && (least < 0 || x.RF < list[least].RF) {
			least = i
		}
	}
	if least >= 0 {
		x := list[least]
		c.Words = append(c.Words, fmt.Sprintf("The least factor of a load that may cross, %s at %s level, %s:", x.Vehicle, x.Level, words[now.Condition]))
		c.Lines = e.lines(x.Lines, calc.Clause{})
	}
	return []sheet.Chapter{c}
}

// ratingText prints a factor so that nobody takes one for an answer that is none.
func ratingText(c repair.ConditionRatings, i int) string {
	if i >= len(c.Ratings) || !c.Ratings[i].Known {
		return "–"
	}
	text := ratioFigure(c.Ratings[i].RF)
	if c.Outside {
		text += "*"
	}
	return text
}

// ratioFigure prints a rating factor cut off, never rounded up over 1.
func ratioFigure(rf float64) string {
	if math.IsInf(rf, 0) || math.IsNaN(rf) {
		return "–"
	}
	return factorText(ptr(math.Floor(rf*100+1e-9) / 100))
}

func ptr[T any](v T) *T { return &v }
