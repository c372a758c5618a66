package web

import (
	"slices"
	"strings"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/end"
)

// bearingWords are the kinds of bearing in words.
var bearingWords = map[string]string{"rocker": "rocker", "bolster": "bolster", "sliding_plate": "sliding plate", "elastomeric": "elastomeric pad", "other": "other"}

// asBuilt lists the facts of the end that the calculation starts from.
func (e *endReader) asBuilt() []end.Fact {
	x, load := e.rec.End, e.rec.Factored(e.sc)
	length := func(l units.Length) string { return l.Format(e.sys, -1) }
	sec, _ := e.sc.Section(x.SectionID)
	out := []end.Fact{
		{Label: "Section", Value: sec.Name, Note: sec.Source},
		{Label: "Depth", Value: length(sec.Depth)},
		{Label: "Web", Value: length(sec.WebThickness), Note: "as new"},
		{Label: "Bottom flange", Value: length(sec.FlangeWidth) + " × " + length(sec.FlangeThickness), Note: "as new"},
	}
	fixity := "movable"
	if x.BearingFixed {
		fixity = "fixed"
	}
	out = append(out, end.Fact{Label: "Bearing", Value: bearingWords[x.BearingKind] + ", " + fixity,
		Note: length(x.BearingLength) + " along the girder, " + length(x.BearingWidth) + " wide, " + length(x.BearingStart) + " from the girder end"})
	if x.StiffenerPairs > 0 {
		out = append(out, end.Fact{Label: "Bearing stiffeners", Value: units.Significant(float64(x.StiffenerPairs), 3) + " pair, " + length(x.StiffenerWidth) + " × " + length(x.StiffenerThick),
			Note: "clip " + length(x.StiffenerClip) + ", at " + length(x.StiffenerX) + ", yield " + x.StiffenerFy.Format(e.sys, -1)})
	} else {
		out = append(out, end.Fact{Label: "Bearing stiffeners", Value: "none"})
	}
	out = append(out,
		end.Fact{Label: "Yield strength", Value: x.Fy.Format(e.sys, -1), Note: x.FyOrigin},
		end.Fact{Label: "Tensile strength", Value: x.Fu.Format(e.sys, -1)},
		end.Fact{Label: "Factored reaction", Value: load.Factored.Format(e.sys, -1), Note: load.Origin},
		end.Fact{Label: "Skew", Value: x.Skew.Format(e.sys, -1)},
		end.Fact{Label: "Held against roll", Value: yesNo(x.HeldAgainstRoll)})
	if x.DiaphragmX > 0 {
		out = append(out, end.Fact{Label: "End diaphragm at", Value: length(x.DiaphragmX)})
	}
	if x.EndPanel > 0 {
		out = append(out, end.Fact{Label: "End panel", Value: length(x.EndPanel)})
	}
	if st := e.state(); st.LossMax != nil {
		out = append(out, end.Fact{Label: "Deepest loss of web", Value: share(*st.LossMax)})
	}
	return append(out, end.Fact{Label: "Access", Value: x.Access})
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// surveyKinds are the kinds of survey in words.
var surveyKinds = map[string]string{"as_found": "as found", "cleaned": "after cleaning"}

// surveys lists the visits, newest first. The latest may be corrected.
func (e *endReader) surveys() []end.Survey {
	rows := slices.Clone(e.rec.Surveys)
	slices.SortFunc(rows, func(a, b repair.Survey) int { return b.Number - a.Number })
	var out []end.Survey
	for i, sv := range rows {
		readings, holes, blank := 0, 0, 0
		for _, x := range e.rec.Readings {
			if x.SurveyID == sv.ID && x.SupersededBy == nil {
				readings++
				if x.NoAccess {
					blank++
				}
			}
		}
		for _, h := range e.rec.Holes {
			if h.SurveyID == sv.ID && !h.Withdrawn {
				holes++
			}
		}
		row := end.Survey{Number: numberOf(sv.Number), Kind: surveyKinds[sv.Kind], When: e.when(sv.CapturedAt), By: sv.TakenBy,
			Method: strings.Trim(sv.Method+", "+sv.Gauge, ", "), Readings: numberOf(readings), Holes: numberOf(holes)}
		if blank > 0 {
			row.Readings += " (" + numberOf(blank) + " no access)"
		}
		if i == 0 && e.s.can(e.r, authz.RecordSurvey) {
			row.EditHref = e.path("surveys", numberOf(sv.Number), "edit")
		}
		out = append(out, row)
	}
	return out
}
