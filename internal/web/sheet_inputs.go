package web

import (
	"cmp"
	"fmt"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/sheet"
)

// sheetInputs are the values that the calculation starts from, each with its origin.
func (e *endReader) sheetInputs() []sheet.Inputs {
	out := []sheet.Inputs{e.sectionInputs(), e.endInputs()}
	if sv := e.rec.LatestSurvey(); sv != nil {
		out = append(out, e.surveyInputs(sv))
	}
	if d := e.rec.DesignInForce(); d != nil {
		out = append(out, e.designInputs(d))
	}
	return out
}

func (e *endReader) length(l units.Length) string { return l.Format(e.sys, -1) }

func (e *endReader) sectionInputs() sheet.Inputs {
	sec, _ := e.sc.Section(e.rec.End.SectionID)
	from := cmp.Or(sec.Source, "section list of the program, no source given")
	row := func(name string, l units.Length) sheet.Input {
		return sheet.Input{Name: name, Value: e.length(l)}
	}
	return sheet.Inputs{Title: "Section " + sec.Name + ", as new", Origin: from, Rows: []sheet.Input{
		row("Depth", sec.Depth), row("Web thickness", sec.WebThickness), row("Bottom flange width", sec.FlangeWidth), row("Bottom flange thickness", sec.FlangeThickness),
		row("Top flange width", sec.TopFlangeWidth), row("Top flange thickness", sec.TopFlangeThickness), row("Flange face to web toe of the fillet", sec.FilletK)}}
}

func (e *endReader) endInputs() sheet.Inputs {
	x := e.rec.End
	reaction := sheet.Input{Name: "Factored reaction", Value: x.Reaction.Format(e.sys, -1), Origin: cmp.Or(x.ReactionOrigin, "no origin given")}
	if d := e.rec.Factored(e.sc); d.How != repair.ByHandTotal && d.Problem == "" {
		reaction = sheet.Input{Name: "Factored reaction", Value: d.Factored.Format(e.sys, -1), Origin: d.Origin + "; worked out below"}
	}
	rows := []sheet.Input{reaction,
		{Name: "Yield strength", Value: x.Fy.Format(e.sys, -1), Origin: cmp.Or(x.FyOrigin, "no origin given")},
		{Name: "Tensile strength", Value: x.Fu.Format(e.sys, -1), Origin: cmp.Or(x.FyOrigin, "no origin given")},
		{Name: "Bearing length along the girder", Value: e.length(x.BearingLength)},
		{Name: "Bearing width", Value: e.length(x.BearingWidth)},
		{Name: "Girder end to the bearing", Value: e.length(x.BearingStart)},
		{Name: "Skew", Value: x.Skew.Format(e.sys, -1)},
		{Name: "Held against roll by the end diaphragm", Value: yesNo(x.HeldAgainstRoll)},
		{Name: "Diaphragm from the girder end", Value: noneOr(x.DiaphragmX, e.sys)},
		{Name: "Bearing line to the first intermediate stiffener", Value: noneOr(x.EndPanel, e.sys)},
	}
	if x.StiffenerPairs == 0 {
		rows = append(rows, sheet.Input{Name: "Bearing stiffeners", Value: "none"})
	} else {
		rows = append(rows,
			sheet.Input{Name: "Bearing stiffener pairs", Value: numberOf(x.StiffenerPairs)},
			sheet.Input{Name: "Stiffener width", Value: e.length(x.StiffenerWidth)},
			sheet.Input{Name: "Stiffener thickness", Value: e.length(x.StiffenerThick)},
			sheet.Input{Name: "Stiffener clip", Value: e.length(x.StiffenerClip)},
			sheet.Input{Name: "Stiffeners from the girder end", Value: e.length(x.StiffenerX)},
			sheet.Input{Name: "Yield strength of the stiffeners", Value: x.StiffenerFy.Format(e.sys, -1)})
	}
	return sheet.Inputs{Title: "End " + x.Name + ", as built, and what it must carry", Origin: "the facts of the end on record, version " + numberOf(int(x.Version)), Rows: rows}
}

func noneOr(l units.Length, sys units.System) string {
	if l == 0 {
		return "none"
	}
	return l.Format(sys, -1)
}

func (e *endReader) surveyInputs(sv *repair.Survey) sheet.Inputs {
	measured := func(name string, l *units.Length) sheet.Input {
		if l == nil {
			return sheet.Input{Name: name, Value: "as new", Origin: fmt.Sprintf("not measured in survey %d: the as-new value is assumed", sv.Number)}
		}
		return sheet.Input{Name: name, Value: e.length(*l)}
	}
	f := e.rec.SurveyFindings(sv)
	rows := []sheet.Input{
		measured("Bottom flange thickness that is left", f.FlangeThickness),
	}
	if e.rec.End.StiffenerPairs > 0 {
		rows = append(rows, measured("Stiffener thickness that is left", f.StiffenerThickness), measured("Stiffener width that is left", f.StiffenerWidth))
	}
	rows = append(rows,
		sheet.Input{Name: "Web out of plumb over the bearing", Value: e.length(sv.WebDeviation)},
		sheet.Input{Name: "Web-to-flange joint lost over the bearing", Value: e.length(sv.WebDetached)})
	if sv.ThickerReason != "" {
		rows = append(rows, sheet.Input{Name: "Readings above the as-new thickness", Value: "kept", Origin: sv.ThickerReason})
	}
	return sheet.Inputs{Title: fmt.Sprintf("Survey %d, beside the web thickness", sv.Number), Origin: fmt.Sprintf("%s, %s", sv.TakenBy, e.when(sv.CapturedAt)), Rows: rows}
}

func (e *endReader) designInputs(d *repair.Design) sheet.Inputs {
	from := fmt.Sprintf("%s, %s; %s", e.name(d.DesignedBy), e.when(d.CreatedAt), revisionMark(d.State).Text)
	if who := e.approval(d); who != "" {
		from += " by " + who
	}
	row := func(name, value string) sheet.Input { return sheet.Input{Name: name, Value: value} }
	return sheet.Inputs{Title: fmt.Sprintf("Repair, revision %d", d.Revision), Origin: from, Rows: []sheet.Input{
		row("Studs", numberOf(len(e.rec.StudsOf(d.ID)))), row("Stud diameter", e.length(d.StudDiameter)), row("Stud height after welding", e.length(d.StudHeight)),
		row("Tensile strength of the studs", d.StudFu.Format(e.sys, -1)), row("Strength of the UHPC", d.Fc.Format(e.sys, -1)),
		row("Panel from the girder end", e.length(d.PanelX)), row("Panel above the flange", e.length(d.PanelZ)),
		row("Panel width", e.length(d.PanelWidth)), row("Panel height", e.length(d.PanelHeight)),
		row("Panel thickness, left of the web", e.length(d.PanelLeft)), row("Panel thickness, right of the web", e.length(d.PanelRight)), row("Gap under the panel", e.length(d.PanelGap))}}
}

// approval is who approved a revision and when, the latest of them; "" for nobody.
func (e *endReader) approval(d *repair.Design) string {
	for i := len(e.rec.Reviews) - 1; i >= 0; i-- {
		if v := e.rec.Reviews[i]; v.DesignID == d.ID && v.Decision != repair.DesignReturned {
			return v.ReviewerName + ", " + e.when(v.At)
		}
	}
	return ""
}
