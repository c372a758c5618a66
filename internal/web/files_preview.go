package web

import (
	"cmp"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/exchange"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/drawing"
	"endcast/views/files"
	"endcast/views/ui"
)

// previewEnds is up to how many ends a preview computes and lists.
const previewEnds = 300

// preview is what a plan would put on record, computed as the record would.
func (s *Server) preview(r *http.Request, d db.ImportDraft, plan *db.ImportPlan) (files.Preview, error) {
	head, sys := s.program(r), s.units(r)
	force := units.Forces.Label(sys)
	v := files.Preview{Files: fileLines(d.Files), SHA256: d.SHA256, Units: systemWords[d.Units], Entry: d.ID,
		Until: d.At.Add(24 * time.Hour).In(zoneOf(plan.After.Program)).Format("2006-01-02 15:04"), Action: head.Path("files", "import", d.ID), Back: head.Path("files"),
		Columns: []ui.Column{{Label: "End"}, {Label: "Condition"}, {Label: "Corroded capacity", Unit: force, Numeric: true}, {Label: "Demand", Unit: force, Numeric: true},
			{Label: "Deepest loss", Numeric: true}, {Label: "Readings", Numeric: true}, {Label: "Surveys"}, {Label: "Place"}, {Label: "Section"}, {Label: "Governed by"}}}
	for _, c := range exchange.Counts(plan.Bridge) {
		v.Counts = append(v.Counts, c.String())
	}
	after := *plan.After
	after.Ends = alongTheBridge(after.Ends)
	if len(after.Ends) > previewEnds {
		v.More = len(after.Ends) - previewEnds
		after.Ends = after.Ends[:previewEnds]
	}
	if err := after.Recompute(); err != nil {
		return v, err
	}
	known := map[string]bool{}
	for _, e := range plan.Before.Ends {
		known[e.End.ID] = true
	}
	surveys := map[string][]exchange.Survey{}
	for _, x := range plan.Bridge.Surveys {
		surveys[x.End.String()] = append(surveys[x.End.String()], x)
	}
	var worst *repair.Record
	for _, e := range after.Ends {
		v.Rows = append(v.Rows, previewRow(head, &after, e, surveys[e.End.Name], known[e.End.ID], sys))
		if e.State[0].Capacity != nil && (worst == nil || ratio(e.State[0]) > ratio(worst.State[0])) {
			worst = e
		}
	}
	if worst != nil {
		sup, _ := after.Support(worst.End.SupportID)
		v.Worst = &drawing.EndData{ID: "worst", Support: sup.Name, System: sys, Geometry: worst.Geometry(&after), Survey: worst.SurveyFindings(worst.LatestSurvey())}
		v.WorstIs = worst.End.Name + ": the highest demand beside its capacity"
	}
	if len(plan.Bridge.Ends) > 0 && v.More == 0 && len(after.Supports) == len(after.Spans)+1 {
		v.Plan = s.previewPlan(r, &after)
	}
	return v, nil
}

func alongTheBridge(in []*repair.Record) []*repair.Record {
	out := slices.Clone(in)
	slices.SortFunc(out, func(a, b *repair.Record) int {
		x, y := a.End, b.End
		return cmp.Or(cmp.Compare(x.SpanNo, y.SpanNo), -cmp.Compare(x.Side, y.Side), cmp.Compare(x.GirderNo, y.GirderNo)) // N before F
	})
	return out
}

func previewRow(head ProgramHead, s *repair.Scope, e *repair.Record, brought []exchange.Survey, known bool, sys units.System) files.Row {
	st := e.State[0]
	sup, _ := s.Support(e.End.SupportID)
	row := files.Row{ID: "end-" + e.End.Name, Name: e.End.Name, Place: sup.Name + ", " + e.End.Face + " face", Section: st.SectionName,
		Demand: figure(units.Forces, sys, float64(st.Demand)), Condition: conditionMark(st), Governing: st.Governing, Loss: "–", Capacity: "–", Readings: "–", Surveys: []string{"none"}}
	if known {
		row.Href = head.Path("ends", e.End.Name)
	}
	if st.LossMax != nil {
		row.Loss = share(*st.LossMax)
	}
	if st.Capacity != nil {
		row.Capacity = figure(units.Forces, sys, float64(*st.Capacity))
	}
	readings := 0
	var words []string
	for _, x := range brought {
		readings += len(x.Findings.Readings)
		words = append(words, strconv.Itoa(x.Number)+" "+strings.ReplaceAll(x.Kind, "_", " ")+", "+x.TakenAt.In(zoneOf(s.Program)).Format("2006-01-02"))
	}
	if len(words) > 0 {
		row.Surveys, row.Readings = words, strconv.Itoa(readings)
	}
	return row
}

// previewPlan draws the bridge as it would be; a mark leads to the row of its end.
func (s *Server) previewPlan(r *http.Request, after *repair.Scope) *drawing.PlanData {
	marks := make([]db.PlanEnd, 0, len(after.Ends))
	code := map[string]string{}
	for _, sup := range after.Supports {
		code[sup.ID] = sup.Code
	}
	for _, e := range after.Ends {
		marks = append(marks, db.PlanEnd{Name: e.End.Name, Span: e.End.SpanNo, Side: e.End.Side, Girder: e.End.GirderNo, Support: code[e.End.SupportID], Skew: e.End.Skew})
	}
	frame := *after
	frame.Supports = slices.SortedFunc(slices.Values(after.Supports), func(a, b repair.Support) int { return cmp.Compare(a.Ord, b.Ord) })
	frame.Spans = slices.SortedFunc(slices.Values(after.Spans), func(a, b repair.Span) int { return cmp.Compare(a.Number, b.Number) })
	d := s.plan(r, &frame, marks)
	d.Title = "The bridge as the files have it"
	for i := range d.Ends {
		e := &d.Ends[i]
		e.Href, e.Phase, e.Step = "#end-"+e.Name.String(), drawing.NotStarted, "would be created"
	}
	return d
}
