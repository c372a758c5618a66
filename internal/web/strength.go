package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"endcast/internal/db"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// strengthShow holds the strength tests to the owner's rule of acceptance.
func (s *Server) strengthShow(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	list, err := s.store.Strengths(r.Context(), c.head.ID.String())
	if err != nil {
		return err
	}
	v := casting.Acceptance{Zone: c.zoneNote(), Unit: units.Stresses.Label(c.sys), RuleHref: c.head.Path("basis", string(basis.AcceptanceRule)), Rule: uhpc.Acceptable(nil, 1, c.basis).Name}
	classes, left := testClasses(list.Tests)
	for i, class := range classes {
		v.Classes = append(v.Classes, c.acceptClass(i, class, list))
	}
	for _, t := range left {
		row := c.testRow(t, list)
		row.Mark, row.Moving, row.Running = ui.Mark{State: ui.Caution, Text: "does not count"}, "–", "–"
		row.Why = map[string]string{string(uhpc.TooFew): "too few count", string(uhpc.Review): "its spread waits for a review", string(uhpc.Invalid): "its spread is too wide, or it was set aside"}[t.State]
		v.Left = append(v.Left, row)
	}
	p := s.page(r, "Acceptance of the strength", ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Laboratory", Href: c.head.Path("laboratory")})
	return s.render(w, r, http.StatusOK, casting.AcceptancePage(p, v))
}

// testClass is the tests that the rule reads together.
type testClass struct {
	specified units.Stress
	duty      string
	tests     []repair.StrengthTest
}

// testClasses parts the tests that count by the strength specified and the duty of
// the laboratory, in the order of casting; the rest is left over.
func testClasses(tests []repair.StrengthTest) (classes []testClass, left []repair.StrengthTest) {
	for _, t := range tests {
		if t.State != string(uhpc.Sound) {
			left = append(left, t)
			continue
		}
		i := slices.IndexFunc(classes, func(c testClass) bool { return c.specified == t.Specified && c.duty == t.Duty })
		if i < 0 {
			i = len(classes)
			classes = append(classes, testClass{specified: t.Specified, duty: t.Duty})
		}
		classes[i].tests = append(classes[i].tests, t)
	}
	return classes, left
}

func testLabel(t repair.StrengthTest, list db.StrengthList) string {
	return fmt.Sprintf("P%03d-%d", list.Pours[t.PourID], t.BatchNo)
}

func (c *castReader) testRow(t repair.StrengthTest, list db.StrengthList) casting.TestRow {
	return casting.TestRow{Label: testLabel(t, list), Href: c.head.Path("laboratory", "pours", strconv.Itoa(list.Pours[t.PourID])), Cast: t.CastAt.In(c.zone).Format("2006-01-02"), N: strconv.Itoa(t.N),
		Mean: c.strengthFigure(t.Mean), Range: c.strengthFigure(units.Stress(t.RangeShare) * t.Mean), Share: fmt.Sprintf("%.2f %%", 100*t.RangeShare)}
}

// acceptClass judges one class and draws its charts.
func (c *castReader) acceptClass(i int, class testClass, list db.StrengthList) casting.AcceptClass {
	tests := make([]uhpc.Test, len(class.tests))
	for j, t := range class.tests {
		tests[j] = uhpc.Test{Label: testLabel(t, list), Cast: t.CastAt, Mean: t.Mean, Range: units.Stress(t.RangeShare) * t.Mean, N: t.N}
	}
	a := uhpc.Acceptable(tests, class.specified, c.basis)
	series := uhpc.SeriesOf(nil, tests, class.specified, c.basis)
	out := casting.AcceptClass{ID: "class-" + strconv.Itoa(i+1), Title: "Specified " + c.strength(class.specified) + ", " + plainWord(class.duty), Outside: a.Outside, Notes: series.Notes,
		Verdict: ui.Mark{State: ui.Good, Text: "accepted so far"}}
	if !a.Accepted {
		out.Verdict = ui.Mark{State: ui.Stop, Text: "not accepted"}
	}
	for _, e := range a.Evidence {
		m := ui.Mark{State: ui.Good, Text: "met"}
		if !e.Met {
			m = ui.Mark{State: ui.Stop, Text: "not met"}
		}
		out.Evidence = append(out.Evidence, casting.CheckLine{Mark: m, Text: ui.Sentence(e.Line(c.sys))})
	}
	out.Numbers = c.seriesNumbers(series)
	out.Charts = c.controlCharts(out.ID, series, class.specified, a)
	low := map[int]bool{}
	for _, j := range a.Low {
		low[j] = true
	}
	ch := series.Charts
	for j, t := range class.tests {
		row := c.testRow(t, list)
		row.Moving, row.Running, row.Mark = "–", "–", ui.Mark{State: ui.Good, Text: "counts"}
		if j >= 1 {
			row.Moving = c.strengthFigure(ch.Moving.Points[j-1].Value)
		}
		if j >= 2 {
			row.Running = c.strengthFigure(ch.Running.Points[j-2].Value)
		}
		switch {
		case low[j]:
			row.Mark = ui.Mark{State: ui.Stop, Text: "low"}
			row.Why = map[string]string{"single": "by itself", "mean": "closes a low mean", "both": "by itself, and closes a low mean"}[t.Low]
			if t.RaisedAt != nil {
				row.Why = joinWords(row.Why, "a nonconformance was raised")
			}
		case ch.Means.Points[j].Beyond || j >= 1 && ch.Moving.Points[j-1].Beyond:
			row.Mark, row.Why = ui.Mark{State: ui.Caution, Text: "look"}, "beyond a limit of a control chart"
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}

// seriesNumbers are the numbers of a production in words.
func (c *castReader) seriesNumbers(s uhpc.Series) []casting.Pair {
	out := []casting.Pair{{Name: "Tests", Value: strconv.Itoa(len(s.Tests))}, {Name: "Mean of the tests", Value: c.strength(s.Mean)}}
	if len(s.Tests) > 1 {
		out = append(out, casting.Pair{Name: "Standard deviation of the tests", Value: fmt.Sprintf("%s (%.2f %%)", c.strength(s.Deviation), 100*s.V)},
			casting.Pair{Name: "Required average with it", Value: c.strength(s.Required)})
	}
	if s.Pairs > 0 {
		out = append(out, casting.Pair{Name: "Mean range within a test", Value: c.strength(s.MeanR)},
			casting.Pair{Name: "Standard deviation within a test, s₁", Value: fmt.Sprintf("%s (V₁ %.2f %%)", c.strength(s.Within), 100*s.V1)})
	}
	return out
}
