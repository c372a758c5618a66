package web

import (
	"fmt"
	"strconv"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
	"endcast/views/field"
	"endcast/views/ui"
)

// welded compares the end as welded with its demand, from the stored results. It
// is nil while there is no repaired result.
func (e *endReader) welded(m studMap) (*field.Capacity, error) {
	results, err := e.results()
	if err != nil {
		return nil, err
	}
	by := map[string]storedResult{}
	for _, res := range results {
		by[res.Subject] = res
	}
	designed, ok := by["repaired"]
	if !ok {
		return nil, nil
	}
	demand := float64(designed.Demand)
	most := max(demand, float64(designed.Capacity), float64(by["as_welded"].Capacity), float64(by["corroded"].Capacity))
	share := func(f units.Force) string { return strconv.FormatFloat(100*float64(f)/(1.05*most), 'f', 2, 64) }
	out := &field.Capacity{Demand: designed.Demand.Format(e.sys, -1), At: share(designed.Demand)}
	add := func(subject, label string, strong bool) {
		res, ok := by[subject]
		if !ok {
			return
		}
		bar := field.Bar{Label: label, Value: "–", Length: "0", Strong: strong}
		if carries(res.checks) {
			bar.Value, bar.Length = res.Capacity.Format(e.sys, -1), share(res.Capacity)
		}
		out.Rows = append(out.Rows, bar)
	}
	add("corroded", "As corroded", false)
	add("repaired", "As designed", false)
	add("as_welded", "As welded", true)
	unseen := 0
	for _, st := range m.studs {
		if m.outcome(st.Mark) == stud.Unseen {
			unseen++
		}
	}
	res, found := by["as_welded"]
	if !found {
		out.Verdict = ui.Mark{State: ui.Open, Text: "no stud inspected yet"}
		return out, nil
	}
	out.Verdict = weldedMark(res)
	if unseen > 0 {
		out.Note = fmt.Sprintf("The %d not inspected are counted as if they were sound.", unseen)
	}
	if res.Governing != "" {
		out.Note = "Decided by: " + res.Governing + ". " + out.Note
	}
	return out, nil
}

// weldedMark says whether what is welded carries the demand.
func weldedMark(res storedResult) ui.Mark {
	mark := verdictMark(res.verdict)
	ratio := ", demand over capacity " + ratioText(overResistance(res.Demand, res.Capacity))
	switch {
	case !carries(res.checks):
		mark.Text = "no capacity: a check fails first"
	case res.Capacity < res.Demand:
		mark = ui.Mark{State: ui.Stop, Text: "does not carry the demand" + ratio}
	case res.verdict == calc.Passes:
		mark.Text = "carries the demand" + ratio
	case res.verdict == calc.Fails:
		mark.Text = "a check fails"
	case res.verdict == calc.Outside:
		mark.Text = "outside the limits of the method"
	}
	return mark
}
