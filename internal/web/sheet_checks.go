package web

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"endcast/internal/domain/calc"
	"endcast/views/sheet"
	"endcast/views/ui"
)

// sheetPart is one condition of the end with its checks: the one that governs
// first, then the graver before the milder.
func (e *endReader) sheetPart(c computed, letter string) sheet.Part {
	part := sheet.Part{ID: c.key, Letter: letter, Subject: c.words, On: e.standsOn(c.key), Verdict: partMark(c.ev), Capacity: "–", Ratio: "–",
		Demand: c.ev.Demand.Format(e.sys, -1), Governs: c.ev.Governing, Digest: shortDigest(c.ev.Digest), Flags: c.ev.Flags, Starts: e.lines(c.pad.Lines())}
	if carries(c.ev.Checks) {
		part.Capacity, part.Ratio = c.ev.Capacity.Format(e.sys, -1), ratioText(overResistance(c.ev.Demand, c.ev.Capacity))
	}
	if c.ev.Upper > c.ev.Capacity && !math.IsInf(float64(c.ev.Upper), 0) {
		part.Band = c.ev.Upper.Format(e.sys, -1)
	}
	order := make([]int, len(c.ev.Checks))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return graver(c.ev.Checks[i], c.ev.Checks[j], c.ev.Governing) })
	for n, i := range order {
		part.Checks = append(part.Checks, e.sheetCheck(c, c.ev.Checks[i], letter+strconv.Itoa(n+1)))
	}
	return part
}

// graver orders checks for a reader: what governs, then what fails, what lies
// outside the method, what passes, and last what only informs; within each the
// higher ratio first.
func graver(a, b calc.Check, governing string) int {
	rank := func(c calc.Check) int {
		switch {
		case c.Name == governing:
			return 0
		case c.Verdict == calc.Fails:
			return 1
		case c.Verdict == calc.Outside, c.Verdict == calc.Undecided:
			return 2
		case c.Verdict == calc.Passes:
			return 3
		}
		return 4
	}
	return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(b.Ratio, a.Ratio))
}

func (e *endReader) sheetCheck(p computed, c calc.Check, number string) sheet.Check {
	out := sheet.Check{ID: checkID(p.key, c.Key), Number: number, Name: c.Name, Clause: c.Clause.String(), Tag: tagText(c.Clause.Tag),
		Verdict: verdictMark(c.Verdict), Sentence: verdictSentence(c), Demand: c.Dim.Format(c.Demand, e.sys, -1), Resistance: c.Dim.Format(c.Resistance, e.sys, -1),
		Ratio: ratioText(c.Ratio), Governs: c.Name == p.ev.Governing, Informs: c.Verdict == calc.Informs, Outside: c.Verdict == calc.Outside, Lines: e.lines(c.Lines)}
	for _, l := range c.Limits {
		mark := ui.Mark{State: ui.Caution, Text: "not met"}
		if l.Met {
			mark = ui.Mark{State: ui.Good, Text: "met"}
		}
		out.Limits = append(out.Limits, sheet.Limit{Text: l.Text, Mark: mark})
	}
	return out
}

// verdictSentence says the outcome of a check so that it cannot be misread.
func verdictSentence(c calc.Check) string {
	switch c.Verdict {
	case calc.Passes:
		return "The check passes."
	case calc.Fails:
		return "The check does not pass."
	case calc.Outside:
		return "This is not a pass: a limit of the method is not met, so the ratio proves nothing. An engineer has to judge it by other means."
	case calc.Informs:
		return "For information: this check decides nothing here."
	}
	return "The check was not decided."
}

// lines turns the working into lines of print.
func (e *endReader) lines(ls []calc.Line) []sheet.Line {
	var out []sheet.Line
	for _, l := range ls {
		row := sheet.Line{Name: l.Name, Origin: l.Origin, Working: l.SubstitutionMathML(e.sys)}
		switch l.Kind {
		case calc.Remark:
			row = sheet.Line{Note: ui.Sentence(l.Note)}
		case calc.Computed:
			if l.Formula != nil {
				row.Formula = l.Formula.MathML()
			}
			if l.Clause.Document != "" {
				row.Origin = l.Clause.String()
				if tag := tagText(l.Clause.Tag); tag != "" {
					row.Origin += " (" + tag + ")"
				}
			}
		}
		row.Long = len([]rune(l.AsText(e.sys))) > longLine
		out = append(out, row)
	}
	return out
}

// longLine is the length of a line of working, in characters, from which it needs
// the whole width of the sheet.
const longLine = 85
