package web

import (
	"github.com/a-h/templ"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
	"endcast/views/drawing"
)

// elevation draws the end with the latest survey and the design in force, each
// stud as its collar was found.
func (e *endReader) elevation() templ.Component { return drawing.End(e.elevationData()) }

func (e *endReader) elevationData() drawing.EndData {
	d := drawing.EndData{ID: "end", Support: e.support(), System: e.sys, Geometry: e.rec.Geometry(e.sc), Survey: e.rec.SurveyFindings(e.rec.LatestSurvey())}
	if row := e.rec.DesignInForce(); row != nil {
		d.Design, d.Revision = e.rec.DesignOf(row), numberOf(row.Revision)
		if found := e.rec.LatestCollars(row.ID); len(found) > 0 {
			d.Status = map[string]drawing.StudStatus{}
			for _, st := range e.rec.StudsOf(row.ID) {
				c, ok := found[st.Mark]
				switch {
				case !ok:
					d.Status[st.Mark] = drawing.NotInspected
				case stud.Counts(stud.Outcome(c.Outcome)):
					d.Status[st.Mark] = drawing.Accepted
				default:
					d.Status[st.Mark] = drawing.Rejected
				}
			}
		}
	}
	return d
}

// bars draws the conditions of the end against the demand; nil where no condition
// has a capacity.
func (e *endReader) bars(results []storedResult) templ.Component {
	d := drawing.CapacityData{ID: "capacity-bars", System: e.sys, Kind: units.Forces}
	for _, res := range results {
		if carries(res.checks) {
			d.Rows = append(d.Rows, drawing.CapacityRow{Label: barLabels[res.Subject], Capacity: float64(res.Capacity), Demand: float64(res.Demand), Verdict: barVerdict(res.verdict)})
		}
	}
	if len(d.Rows) == 0 {
		return nil
	}
	return drawing.CapacityBars(d)
}

// barLabels are short: a bar has little room for its name.
var barLabels = map[string]string{"as_new": "As new", "corroded": "As corroded", "repaired": "As designed", "as_welded": "As welded"}

// barVerdict leaves out the word of a verdict that decides nothing.
func barVerdict(v calc.Verdict) calc.Verdict {
	if v == calc.Informs {
		return calc.Undecided
	}
	return v
}
