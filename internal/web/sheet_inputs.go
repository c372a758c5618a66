package web

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/stud"
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
	rows := []sheet.Input{
		{Name: "Factored reaction", Value: x.Reaction.Format(e.sys, -1), Origin: cmp.Or(x.ReactionOrigin, "no origin given")},
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
	return sheet.Inputs{Title: "End " + x.Name + ", as built, and what it must carry", Origin: "the facts of the end on record", Rows: rows}
}

func noneOr(l units.Length, sys units.System) string {
	if l == 0 {
		return "none"
	}
	return l.Format(sys, -1)
}

func (e *endReader) surveyInputs(sv *repair.Survey) sheet.Inputs {
	from := fmt.Sprintf("survey %d, %s, %s by %s", sv.Number, surveyKinds[sv.Kind], e.when(sv.CapturedAt), sv.TakenBy)
	if how := strings.Trim(sv.Method+", "+sv.Gauge, ", "); how != "" {
		from += ", " + how
	}
	measured := func(name string, l *units.Length) sheet.Input {
		if l == nil {
			return sheet.Input{Name: name, Value: "as new", Origin: fmt.Sprintf("not measured in survey %d: the as-new value is assumed", sv.Number)}
		}
		return sheet.Input{Name: name, Value: e.length(*l)}
	}
	f := e.rec.SurveyFindings(sv)
	blank := 0
	for _, r := range f.Readings {
		if r.NoAccess {
			blank++
		}
	}
	rows := []sheet.Input{
		{Name: "Readings of web thickness", Value: numberOf(len(f.Readings) - blank)},
		{Name: "Places without access", Value: numberOf(blank)},
		{Name: "Holes through the web", Value: numberOf(len(f.Holes))},
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
	return sheet.Inputs{Title: fmt.Sprintf("Survey %d", sv.Number), Origin: from, Rows: rows}
}

func (e *endReader) designInputs(d *repair.Design) sheet.Inputs {
	from := fmt.Sprintf("revision %d, %s", d.Revision, revisionMark(d.State).Text)
	row := func(name, value string) sheet.Input { return sheet.Input{Name: name, Value: value} }
	return sheet.Inputs{Title: fmt.Sprintf("Repair, revision %d", d.Revision), Origin: from, Rows: []sheet.Input{
		row("Studs", numberOf(len(e.rec.StudsOf(d.ID)))), row("Stud diameter", e.length(d.StudDiameter)), row("Stud height after welding", e.length(d.StudHeight)),
		row("Tensile strength of the studs", d.StudFu.Format(e.sys, -1)), row("Strength of the UHPC", d.Fc.Format(e.sys, -1)),
		row("Panel from the girder end", e.length(d.PanelX)), row("Panel above the flange", e.length(d.PanelZ)),
		row("Panel width", e.length(d.PanelWidth)), row("Panel height", e.length(d.PanelHeight)),
		row("Panel thickness, left of the web", e.length(d.PanelLeft)), row("Panel thickness, right of the web", e.length(d.PanelRight)), row("Gap under the panel", e.length(d.PanelGap))}}
}

// sheetReadings lays the readings of the latest survey out by place: the least of
// the faces at each, since that is what counts.
func (e *endReader) sheetReadings() (*sheet.Grid, [][]string) {
	sv := e.rec.LatestSurvey()
	if sv == nil {
		return nil, nil
	}
	f := e.rec.SurveyFindings(sv)
	type place struct{ x, z units.Length }
	at := map[place]string{}
	low := map[place]units.Length{}
	var xs, zs []units.Length
	for _, r := range f.Readings {
		p := place{r.X, r.Z}
		xs, zs = append(xs, r.X), append(zs, r.Z)
		if was, read := low[p]; r.NoAccess {
			if !read {
				at[p] = "NA"
			}
		} else if !read || r.T < was {
			low[p], at[p] = r.T, units.Lengths.Figure(float64(r.T), e.sys, -1)
		}
	}
	xs, zs = distinct(xs), distinct(zs)
	slices.Reverse(zs) // the top of the web on top, as on the drawing
	g := &sheet.Grid{Caption: fmt.Sprintf("Remaining web thickness, survey %d, %s; x from the girder end, z above the bottom flange; the least of the faces read; NA: no access",
		sv.Number, units.Lengths.Label(e.sys))}
	for _, x := range xs {
		g.X = append(g.X, units.Lengths.Figure(float64(x), e.sys, 2))
	}
	for _, z := range zs {
		row := sheet.GridRow{Z: units.Lengths.Figure(float64(z), e.sys, 2)}
		for _, x := range xs {
			row.Cells = append(row.Cells, at[place{x, z}])
		}
		g.Rows = append(g.Rows, row)
	}
	var holes [][]string
	for _, h := range f.Holes {
		rim := "not read"
		if h.Rim > 0 {
			rim = units.Lengths.Figure(float64(h.Rim), e.sys, -1)
		}
		holes = append(holes, []string{units.Lengths.Figure(float64(h.X), e.sys, 2), units.Lengths.Figure(float64(h.Z), e.sys, 2),
			units.Lengths.Figure(float64(h.Width), e.sys, 2), units.Lengths.Figure(float64(h.Height), e.sys, 2), rim})
	}
	return g, holes
}

// distinct sorts and drops repeats.
func distinct(ls []units.Length) []units.Length {
	slices.Sort(ls)
	return slices.Compact(ls)
}

func (e *endReader) sheetStuds() [][]string {
	d := e.rec.DesignInForce()
	if d == nil {
		return nil
	}
	found := e.rec.LatestCollars(d.ID)
	var out [][]string
	for _, st := range e.rec.StudsOf(d.ID) {
		outcome := stud.Unseen
		if c, ok := found[st.Mark]; ok {
			outcome = stud.Outcome(c.Outcome)
		}
		face := "left"
		if st.Face == "R" {
			face = "right"
		}
		out = append(out, []string{st.Mark, face, numberOf(st.Row), numberOf(st.Col), units.Lengths.Figure(float64(st.X), e.sys, 2), units.Lengths.Figure(float64(st.Z), e.sys, 2), outcome.Words()})
	}
	return out
}

// sheetBasis lists the settings of the design basis that bear on the sheet, those
// that the program changed first.
func (e *endReader) sheetBasis() ([]sheet.Setting, string) {
	b := e.sc.Basis()
	changed := b.Changed()
	stored := map[string]repair.BasisSetting{}
	for _, row := range e.sc.Settings {
		stored[row.Key] = row
	}
	var out []sheet.Setting
	for _, d := range basis.Definitions() {
		if strings.HasPrefix(d.Group, "UHPC ") || d.Group == "cleaning" {
			continue // of the laboratory and the site; no check of this sheet reads them
		}
		k, _ := units.KindNamed(string(d.Unit))
		row := sheet.Setting{Name: d.Group + ": " + d.Name, Value: k.Working(b.Value(d.Key), e.sys), Default: k.Working(d.Default, e.sys), Source: d.Source, Tag: string(d.Tag)}
		if _, ok := changed[d.Key]; ok {
			row.Changed, row.Tag = true, "set by the owner"
			row.Source = stored[string(d.Key)].Source
		}
		out = append(out, row)
	}
	slices.SortStableFunc(out, func(a, c sheet.Setting) int { return cmp.Compare(boolInt(c.Changed), boolInt(a.Changed)) })
	n := 0
	for _, row := range out {
		n += boolInt(row.Changed)
	}
	return out, fmt.Sprintf("%d of %d settings were changed by the owner of this program; the others stand at the defaults printed here. An owner's engineer confirms each against the licensed text.", n, len(out))
}
