package web

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"endcast/internal/domain/calc"
	"endcast/views/sheet"
)

// sheetPart is one condition of the end with its checks: the one that governs
// first, then the graver before the milder, and the rules of layout that are met
// in a table behind them.
func (e *endReader) sheetPart(c computed, letter string) sheet.Part {
	part := sheet.Part{ID: c.key, Letter: letter, Subject: c.words, On: e.standsOn(c.key), Verdict: verdictMark(c.ev.Verdict), Capacity: "–", Ratio: "–",
		Demand: c.ev.Demand.Format(e.sys, -1), Governs: c.ev.Governing, Digest: shortDigest(c.ev.Digest), Brief: c.brief, Same: c.same}
	if carries(c.ev.Checks) {
		part.Capacity, part.Ratio = c.ev.Capacity.Format(e.sys, -1), ratioText(overResistance(c.ev.Demand, c.ev.Capacity))
	}
	if c.ev.Upper > c.ev.Capacity && !math.IsInf(float64(c.ev.Upper), 0) {
		part.Band = c.ev.Upper.Format(e.sys, -1)
	}
	e.starts(&part, c.pad.Lines())
	var main, minor []calc.Check
	for _, x := range slices.SortedStableFunc(slices.Values(c.ev.Checks), func(a, b calc.Check) int { return graver(a, b, c.ev.Governing) }) {
		if minorCheck(x, c.ev.Governing) {
			minor = append(minor, x)
		} else {
			main = append(main, x)
		}
	}
	n := 0
	number := func() string { n++; return letter + strconv.Itoa(n) }
	for _, x := range main {
		part.Checks = append(part.Checks, e.sheetCheck(c, x, number()))
	}
	for _, x := range minor {
		part.Details = append(part.Details, e.sheetCheck(c, x, number()))
	}
	return part
}

// minorCheck reports whether a check is a rule of layout or detail that is met and
// has a line or two of working: a row of a table says it all.
func minorCheck(c calc.Check, governing string) bool {
	if c.Group != "detail" || c.Name == governing || c.Verdict != calc.Passes && c.Verdict != calc.Informs || c.Dim == calc.Force || len(c.Lines) > 4 {
		return false
	}
	return !slices.ContainsFunc(c.Limits, func(l calc.Limit) bool { return !l.Met })
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
		Ratio: checkRatio(c), Governs: c.Name == p.ev.Governing, Informs: c.Verdict == calc.Informs, Outside: c.Verdict == calc.Outside, Lines: e.lines(c.Lines, c.Clause), Marks: e.sheetMarks(p.key, c)}
	for _, l := range c.Limits {
		if l.Met {
			out.Met = append(out.Met, e.say(l.Text))
		} else {
			out.Unmet = append(out.Unmet, e.say(l.Text))
		}
	}
	return out
}

// checkRatio prints the ratio of a check. One that passes by the rounding of
// inches alone prints as the 1.00 that it is.
func checkRatio(c calc.Check) string {
	if c.Verdict == calc.Passes && c.Ratio > 1 {
		return ratioText(1)
	}
	return ratioText(c.Ratio)
}

// verdictSentence says the outcome of a check where its mark alone could be
// misread.
func verdictSentence(c calc.Check) string {
	switch c.Verdict {
	case calc.Outside:
		return "This is not a pass: a limit of the method is not met, so the ratio proves nothing. An engineer has to judge it by other means."
	case calc.Undecided:
		return "This is not a pass: the check was not decided."
	}
	return ""
}
