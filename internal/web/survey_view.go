package web

import (
	"fmt"
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	view "endcast/views/survey"
	"endcast/views/ui"
)

// surveyMethods are offered for how thickness was read.
var surveyMethods = []ui.Option{{Value: "ultrasonic", Label: "Ultrasonic gauge"}, {Value: "caliper", Label: "Caliper"}, {Value: "pit gauge", Label: "Pit gauge"}, {Value: "scan", Label: "Scan"}, {Value: "other", Label: "Other, see the note"}}

// surveyForm is the form with what was typed, and why some of it was not taken.
func (e *endReader) surveyForm(t *surveyTyped, bad *fault.Invalid) view.Form {
	unit := units.Lengths.Label(e.sys)
	sec, _ := e.sc.Section(e.rec.End.SectionID)
	field := func(f ui.Field) ui.Field {
		f.Value, f.Label = t.text[f.Name], surveyLabels[f.Name]
		if p := bad.Of(f.Name); p != nil {
			f.Reason = p.Reason
		}
		return f
	}
	length := func(name, hint string) ui.Field {
		return field(ui.Field{Name: name, Hint: hint, Unit: unit, Short: true, Optional: true})
	}
	f := view.Form{Reading: e.rec.End.Name + ", " + e.reading(), PreviewHref: e.path("surveys", "preview"), BackHref: e.path() + "#surveys",
		Entry: t.text["entry"], Version: t.text["version"], Unit: unit, Nominal: e.length(sec.WebThickness), Face: t.text["face"], HasStiffeners: e.rec.End.StiffenerPairs > 0,
		Kind:    field(ui.Field{Name: "kind", Options: []ui.Option{{Value: "as_found", Label: "As found"}, {Value: "cleaned", Label: "After cleaning"}}}),
		Method:  field(ui.Field{Name: "method", Options: surveyMethods}),
		Gauge:   field(ui.Field{Name: "gauge", Optional: true, Hint: "Make no difference to the numbers; kept with the record."}),
		TakenBy: field(ui.Field{Name: "taken_by", Optional: true, Hint: "Empty: you."}),
		At:      field(ui.Field{Name: "captured_at", Type: "datetime-local", Optional: true, Hint: "Empty: now. " + e.zoneNote()}),
		Flange:  length("flange_thickness", ""), StiffenerThick: length("stiffener_thickness", ""), StiffenerWidth: length("stiffener_width", ""),
		Deviation: length("web_deviation", "Over the bearing."), Detached: length("web_detached", "Within the zone over the bearing."),
		Thicker: field(ui.Field{Name: "thicker_reason", Optional: true, Hint: "A reading well above the as-new thickness stands only with a reason."}),
		Note:    field(ui.Field{Name: "note", Optional: true, Rows: 2}),
		Points: field(ui.Field{Name: "points", Optional: true, Rows: 6,
			Hint: "A line each: x, z, thickness, with L, R or T before or behind for the face; or a table with x along its first line and z down its first column. These count as they stand here, or can be moved into the grid."}),
		StartX: length("start_x", ""), StepX: length("step_x", ""), StartZ: length("start_z", ""), StepZ: length("step_z", ""),
		CountX: field(ui.Field{Name: "count_x", InputMode: "numeric", Short: true, Optional: true}), CountZ: field(ui.Field{Name: "count_z", InputMode: "numeric", Short: true, Optional: true}),
	}
	f.Gauge.Hint = "Its number or name."
	for _, x := range []*ui.Field{&f.StartX, &f.StepX, &f.CountX, &f.StartZ, &f.StepZ, &f.CountZ} {
		x.Optional = false
	}
	cell := func(name, value, label string) view.Cell {
		c := view.Cell{Name: name, Value: value, Label: label}
		if p := bad.Of(name); p != nil {
			c.Why = p.Reason
		}
		return c
	}
	for c, x := range t.x {
		f.X = append(f.X, cell(headName("x", c), x, fmt.Sprintf("x of column %d", c+1)))
	}
	for r, z := range t.z {
		row := view.Row{Z: cell(headName("z", r), z, fmt.Sprintf("z of row %d", r+1))}
		for c := range t.x {
			place := func(face string) view.Cell {
				return cell(cellName(face, r, c), t.cells[face][r][c], fmt.Sprintf("Row %d, column %d, %s", r+1, c+1, faceWords[face]))
			}
			row.Cells = append(row.Cells, view.Place{Left: place("L"), Right: place("R"), Through: place("T")})
		}
		f.Rows = append(f.Rows, row)
	}
	for i, h := range t.holes {
		hole := view.Hole{Number: numberOf(i + 1)}
		for j, part := range holeParts {
			hole.Cells = append(hole.Cells, cell(holeName(i, part), h[j], fmt.Sprintf("Hole %d, %s", i+1, part)))
		}
		f.Holes = append(f.Holes, hole)
	}
	f.Problems = problemsOf(t, bad)
	return f
}

// problemsOf names every box whose value was not taken.
func problemsOf(t *surveyTyped, bad *fault.Invalid) []view.Problem {
	if bad == nil {
		return nil
	}
	var out []view.Problem
	for _, f := range bad.Fields {
		out = append(out, view.Problem{Field: f.Field, Label: t.label(f.Field), Why: f.Reason})
	}
	return out
}

// surveyStart is an empty form: on the places of the latest survey, so that the
// same places are read again, or on a grid over the bearing.
func (e *endReader) surveyStart() (*surveyTyped, kept) {
	k := kept{}
	t := newTyped(0, 0)
	kind := "as_found"
	last := e.rec.LatestSurvey()
	if last != nil {
		if last.Kind == "cleaned" || len(e.rec.Cleanings) > 0 {
			kind = "cleaned"
		}
		e.fillPlaces(t, last, k)
	}
	step, wide := "3", "1"
	if e.sys == units.SI {
		step, wide = "75", "25"
	}
	for name, v := range map[string]string{"start_x": "0", "step_x": step, "count_x": "6", "start_z": wide, "step_z": step, "count_z": "6"} {
		t.text[name] = v
	}
	if len(t.x) == 0 || len(t.x)*len(t.z) > mostCells {
		_ = t.layOut(e.sys, k)
	}
	t.text["kind"], t.text["method"], t.text["version"] = kind, "ultrasonic", fmt.Sprint(e.rec.End.Version)
	return t, k
}

// fillPlaces lays the grid of a form out on the places of a survey.
func (e *endReader) fillPlaces(t *surveyTyped, sv *repair.Survey, k kept) {
	asTyped := map[units.Length]string{}
	for _, text := range strings.Split(sv.Typed["x"]+"\n"+sv.Typed["z"], "\n") {
		if v, err := units.ParseLength(text, e.sys); err == nil {
			asTyped[v] = text
		}
	}
	var xs, zs []units.Length
	for _, r := range e.rec.Readings {
		if r.SurveyID == sv.ID && r.SupersededBy == nil {
			xs, zs = append(xs, r.X), append(zs, r.Z)
		}
	}
	xs, zs = distinct(xs), distinct(zs)
	if len(xs) > mostLines || len(zs) > mostLines || len(xs)*len(zs) > mostCells {
		return
	}
	t.x, t.z = nil, nil
	for _, x := range xs {
		t.x = append(t.x, k.show(x, asTyped[x], e.sys))
	}
	for i := len(zs) - 1; i >= 0; i-- { // the top of the web on top
		t.z = append(t.z, k.show(zs[i], asTyped[zs[i]], e.sys))
	}
	t.size(len(zs), len(xs))
}

// surveyFrom is a form filled from a survey on record, as it was typed.
func (e *endReader) surveyFrom(sv *repair.Survey) (*surveyTyped, kept) {
	k := kept{}
	t := newTyped(0, 0)
	for name, v := range map[string]string{"kind": sv.Kind, "method": sv.Method, "gauge": sv.Gauge, "taken_by": sv.TakenBy, "thicker_reason": sv.ThickerReason, "note": sv.Note,
		"version": fmt.Sprint(e.rec.End.Version), "start_x": "0", "start_z": "0", "count_x": "6", "count_z": "6"} {
		t.text[name] = v
	}
	show := func(name, column string, l *units.Length) {
		if l != nil {
			t.text[name] = k.show(*l, sv.Typed[column], e.sys)
		}
	}
	show("flange_thickness", "flange_thickness_mm", sv.FlangeThick)
	show("stiffener_thickness", "stiffener_thickness_mm", sv.StiffenerThick)
	show("stiffener_width", "stiffener_width_mm", sv.StiffenerWidth)
	for name, l := range map[string]units.Length{"web_deviation": sv.WebDeviation, "web_detached": sv.WebDetached} {
		if l != 0 || sv.Typed[name+"_mm"] != "" {
			show(name, name+"_mm", &l)
		}
	}
	e.fillPlaces(t, sv, k)
	var entries []pasted
	for _, r := range e.rec.Readings {
		if r.SurveyID != sv.ID || r.SupersededBy != nil {
			continue
		}
		text := "NA"
		if !r.NoAccess {
			text = k.show(r.T, r.Typed, e.sys)
		} else if noAccess(r.Typed) {
			text = r.Typed
		}
		entries = append(entries, pasted{face: r.Face, x: k.show(r.X, "", e.sys), z: k.show(r.Z, "", e.sys), t: text})
	}
	t.put(entries, e.sys, k)
	typedHoles := map[units.Length]string{}
	for _, text := range strings.Split(sv.Typed["holes"], "\n") {
		if v, err := units.ParseLength(text, e.sys); err == nil {
			typedHoles[v] = text
		}
	}
	for _, h := range e.rec.Holes {
		if h.SurveyID != sv.ID || h.Withdrawn {
			continue
		}
		row := [5]string{}
		for j, l := range []units.Length{h.X, h.Z, h.Width, h.Height, h.Rim} {
			if j < 4 || l != 0 {
				row[j] = k.show(l, typedHoles[l], e.sys)
			}
		}
		t.holes = append(t.holes, row)
	}
	return t, k
}
