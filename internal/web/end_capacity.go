package web

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/end"
)

// storedResult is a stored evaluation with its checks read.
type storedResult struct {
	repair.Result
	subject string // in words
	on      string // what it follows from
	verdict calc.Verdict
	checks  []calc.Check
}

// subjects are the conditions of an end in the order in which they are read.
var subjects = []struct{ key, words string }{
	{"as_new", "As new"}, {"corroded", "As corroded"}, {"repaired", "Repaired as designed"}, {"as_welded", "Repaired as welded"},
}

// results reads the stored evaluations of the end.
func (e *endReader) results() ([]storedResult, error) {
	var out []storedResult
	for _, sub := range subjects {
		for _, row := range e.rec.Results {
			if row.Subject != sub.key {
				continue
			}
			res := storedResult{Result: row, subject: sub.words, on: e.standsOn(sub.key), verdict: storedVerdict(row.Verdict)}
			if len(row.Checks) > 0 {
				if err := json.Unmarshal(row.Checks, &res.checks); err != nil {
					return nil, fmt.Errorf("stored checks of %s, %s: %w", e.rec.End.Name, row.Subject, err)
				}
			}
			out = append(out, res)
		}
	}
	return out, nil
}

// standsOn says which survey or revision a condition follows from.
func (e *endReader) standsOn(subject string) string {
	switch subject {
	case "corroded":
		if sv := e.rec.LatestSurvey(); sv != nil {
			return fmt.Sprintf("survey %d", sv.Number)
		}
	case "repaired", "as_welded":
		if d := e.rec.DesignInForce(); d != nil {
			on := fmt.Sprintf("revision %d, %s", d.Revision, revisionMark(d.State).Text)
			if sv := e.rec.LatestSurvey(); sv != nil {
				on += fmt.Sprintf(", survey %d", sv.Number)
			}
			return on
		}
	}
	return ""
}

// capacity is the table of conditions against the demand.
func (e *endReader) capacity(results []storedResult) []end.Capacity {
	var out []end.Capacity
	for _, res := range results {
		row := end.Capacity{Subject: res.subject, On: res.on, Capacity: "–", Ratio: "–", Demand: res.Demand.Format(e.sys, -1),
			Verdict: verdictMark(res.verdict), Governing: res.Governing, Sheet: e.path("sheet") + "#" + res.Subject}
		if carries(res.checks) {
			row.Capacity = res.Capacity.Format(e.sys, -1)
			row.Ratio = ratioText(overResistance(res.Demand, res.Capacity))
		}
		out = append(out, row)
	}
	return out
}

// carries reports whether any check gives a capacity for the reaction.
func carries(checks []calc.Check) bool {
	for _, c := range checks {
		if c.Dim == calc.Force && c.Verdict != calc.Informs && c.Group != "detail" {
			return true
		}
	}
	return false
}

func overResistance(demand, capacity units.Force) float64 {
	return calc.Finish(calc.Check{Demand: float64(demand), Resistance: float64(capacity)}).Ratio
}

// checks groups the stored checks by condition. What decides now stands open.
func (e *endReader) checks(results []storedResult) []end.CheckGroup {
	var out []end.CheckGroup
	for i, res := range results {
		if len(res.checks) == 0 {
			continue
		}
		g := end.CheckGroup{ID: res.Subject, Subject: res.subject, Mark: verdictMark(res.verdict), Open: i == len(results)-1 || res.Subject == "corroded"}
		if res.on != "" {
			g.Subject += ", " + res.on
		}
		governs := calc.Governing(res.checks)
		for n, c := range res.checks {
			row := end.Check{Name: c.Name, Demand: c.Dim.Format(c.Demand, e.sys, -1), Resistance: c.Dim.Format(c.Resistance, e.sys, -1),
				Ratio: ratioText(c.Ratio), Verdict: verdictMark(c.Verdict), Clause: c.Clause.String(), Tag: tagText(c.Clause.Tag),
				Governs: n == governs && c.Verdict != calc.Informs, Sheet: e.path("sheet") + "#" + checkID(res.Subject, c.Key)}
			for _, l := range c.Limits {
				if !l.Met {
					row.Limits = append(row.Limits, e.say(l.Text))
				}
			}
			g.Rows = append(g.Rows, row)
		}
		out = append(out, g)
	}
	return out
}

// checkID is where a check stands on the sheet.
func checkID(subject, key string) string {
	return subject + "-" + strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
			return r
		}
		return '-'
	}, key)
}

// tagText is how well a source is confirmed; what was read needs no remark.
func tagText(t basis.Tag) string {
	if t == basis.Read {
		return ""
	}
	return string(t)
}

// share prints a part of a whole as a percentage.
func share(v float64) string {
	if math.IsNaN(v) {
		return "–"
	}
	return units.Percents.Format(v, units.US, 0)
}
