package web

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/design"
	"endcast/views/ui"
)

// designChecks is the outcome of a repair for a page: the gravest first, and what
// passes its dimensions folded away.
func (e *endReader) designChecks(checks []calc.Check, capacity, demand units.Force, verdict calc.Verdict, governing string) design.Checks {
	v := design.Checks{Verdict: shortVerdict(verdict), Capacity: "–", Ratio: "–", Demand: demand.Format(e.sys, -1), Governing: governing}
	if carries(checks) {
		v.Capacity = capacity.Format(e.sys, -1)
		v.Ratio = ratioText(overResistance(demand, capacity))
	}
	sorted := slices.Clone(checks)
	govern := func(c calc.Check) int {
		if c.Name == governing {
			return 1
		}
		return 0
	}
	slices.SortStableFunc(sorted, func(a, b calc.Check) int {
		if d := cmp.Compare(gravity(b.Verdict), gravity(a.Verdict)); d != 0 {
			return d
		}
		if d := cmp.Compare(govern(b), govern(a)); d != 0 {
			return d
		}
		return cmp.Compare(ratioForOrder(b.Ratio), ratioForOrder(a.Ratio))
	})
	strength, detail := design.Group{Title: "Strength"}, design.Group{Title: "Dimensions"}
	passing, informing := 0, 0
	for _, c := range sorted {
		row := e.designCheck(c, governing)
		if c.Group != "detail" {
			strength.Rows = append(strength.Rows, row)
			continue
		}
		switch c.Verdict {
		case calc.Passes:
			passing++
			detail.Folded = append(detail.Folded, row)
		case calc.Informs:
			informing++
			detail.Folded = append(detail.Folded, row)
		default:
			detail.Rows = append(detail.Rows, row)
		}
	}
	detail.Summed = strconv.Itoa(passing) + " checks of dimensions pass"
	if passing == 1 {
		detail.Summed = "1 check of dimensions passes"
	}
	if informing > 0 {
		detail.Summed += ", " + strconv.Itoa(informing) + " for information"
	}
	v.Groups = []design.Group{strength, detail}
	if len(sorted) > 0 && sorted[0].Group == "detail" && len(detail.Rows) > 0 {
		slices.Reverse(v.Groups)
	}
	return v
}

func (e *endReader) designCheck(c calc.Check, governing string) design.Check {
	row := design.Check{Key: c.Key, Name: c.Name, Against: c.Dim.Format(c.Demand, e.sys, -1) + " against " + c.Dim.Format(c.Resistance, e.sys, -1),
		Ratio: ratioText(c.Ratio), Mark: shortVerdict(c.Verdict), Clause: c.Clause.String(), Governs: c.Name == governing && c.Verdict != calc.Informs}
	if c.Verdict == calc.Passes && c.Ratio > 1 {
		row.Ratio = "1.00" // equal on paper: above 1 only by rounding
	}
	for _, l := range c.Limits {
		if !l.Met {
			row.Unmet = append(row.Unmet, l.Text)
		}
	}
	return row
}

// shortVerdict is verdictMark in one word, for a narrow column.
func shortVerdict(v calc.Verdict) ui.Mark {
	m := verdictMark(v)
	switch v {
	case calc.Fails:
		m.Text = "fails"
	case calc.Outside:
		m.Text = "outside"
	case calc.Informs:
		m.Text = "informs"
	}
	return m
}

func gravity(v calc.Verdict) int {
	switch v {
	case calc.Fails:
		return 4
	case calc.Outside:
		return 3
	case calc.Undecided:
		return 2
	case calc.Passes:
		return 1
	}
	return 0
}

func ratioForOrder(r float64) float64 {
	if math.IsNaN(r) {
		return math.Inf(1)
	}
	return r
}

// studFacts say what the group is made of and worth.
func (e *endReader) studFacts(s repair.StudSummary) []design.Fact {
	if s.Designed == 0 {
		return nil
	}
	text := strconv.Itoa(s.Designed) + " drawn, " + strconv.Itoa(s.Counted) + " counted"
	if s.Required > 0 {
		text += ", " + strconv.Itoa(s.Required) + " needed"
	}
	out := []design.Fact{{Label: "Studs", Value: text}}
	if s.PerStud > 0 {
		out = append(out, design.Fact{Label: "One stud carries", Value: s.PerStud.Format(e.sys, -1)})
	}
	return out
}
