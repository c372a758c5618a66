package web

import (
	"fmt"
	"slices"
	"strings"

	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
	"endcast/views/sheet"
)

// sheetVisits lists the surveys of the end: who read what, when, and with what.
func (e *endReader) sheetVisits() []sheet.Visit {
	var out []sheet.Visit
	last := e.rec.LatestSurvey()
	for i := range e.rec.Surveys {
		sv := &e.rec.Surveys[i]
		f := e.rec.SurveyFindings(sv)
		blank, corrected := 0, 0
		for _, r := range f.Readings {
			blank += boolInt(r.NoAccess)
		}
		for _, r := range e.rec.Readings {
			corrected += boolInt(r.SurveyID == sv.ID && r.SupersededBy != nil)
		}
		read := counted(len(f.Readings)-blank, "reading", "readings") + ", " + counted(len(f.Holes), "hole", "holes")
		if blank > 0 {
			read += ", " + counted(blank, "place", "places") + " without access"
		}
		if corrected > 0 {
			read += fmt.Sprintf("; %d corrected since", corrected)
		}
		by := sv.TakenBy
		if who := e.name(sv.RecordedBy); who != by {
			by += ", recorded by " + who
		}
		out = append(out, sheet.Visit{Number: numberOf(sv.Number), Kind: surveyKinds[sv.Kind], When: e.when(sv.CapturedAt), By: by,
			How: strings.Trim(sv.Method+", "+sv.Gauge, ", "), Read: read, Counts: last != nil && sv.ID == last.ID})
	}
	return out
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
	low, blind := map[place]units.Length{}, map[place]bool{}
	var xs, zs []units.Length
	var least units.Length
	for _, r := range f.Readings {
		p := place{r.X, r.Z}
		xs, zs = append(xs, r.X), append(zs, r.Z)
		if r.NoAccess {
			blind[p] = true
			continue
		}
		if was, read := low[p]; !read || r.T < was {
			low[p] = r.T
		}
		if least == 0 || r.T < least {
			least = r.T
		}
	}
	xs, zs = distinct(xs), distinct(zs)
	slices.Reverse(zs) // the top of the web on top, as on the drawing
	g := &sheet.Grid{Caption: fmt.Sprintf("Remaining web thickness, survey %d, %s: x from the girder end, z above the bottom flange, the least of the faces read; NA no access",
		sv.Number, units.Lengths.Label(e.sys))}
	for _, x := range xs {
		g.X = append(g.X, e.figure(x, 2))
	}
	for _, z := range zs {
		row := sheet.GridRow{Z: e.figure(z, 2)}
		for _, x := range xs {
			var c sheet.Reading
			if t, ok := low[place{x, z}]; ok {
				c = sheet.Reading{Text: e.figure(t, -1), Least: t == least}
			} else if blind[place{x, z}] {
				c.Text = "NA"
			}
			row.Cells = append(row.Cells, c)
		}
		g.Rows = append(g.Rows, row)
	}
	var holes [][]string
	for _, h := range f.Holes {
		rim := "not read"
		if h.Rim > 0 {
			rim = e.figure(h.Rim, -1)
		}
		holes = append(holes, []string{e.figure(h.X, 2), e.figure(h.Z, 2), e.figure(h.Width, 2), e.figure(h.Height, 2), rim})
	}
	return g, holes
}

// figure is a length without its unit, for a table that names it.
func (e *endReader) figure(l units.Length, decimals int) string {
	return units.Lengths.Figure(float64(l), e.sys, decimals)
}

// distinct sorts and drops repeats.
func distinct(ls []units.Length) []units.Length {
	slices.Sort(ls)
	return slices.Compact(ls)
}

// sheetStuds lists the studs of the design in force, a row of studs in a line;
// rows that are alike on both faces share one.
func (e *endReader) sheetStuds() [][]string {
	d := e.rec.DesignInForce()
	if d == nil {
		return nil
	}
	found := e.rec.LatestCollars(d.ID)
	type studRow struct {
		face               string
		row                int
		z                  units.Length
		xs                 []string
		inspected, counted int
		bad                []string
	}
	var rows []*studRow
	for _, st := range e.rec.StudsOf(d.ID) {
		face := "left"
		if st.Face == "R" {
			face = "right"
		}
		i := slices.IndexFunc(rows, func(r *studRow) bool { return r.face == face && r.row == st.Row && r.z == st.Z })
		if i < 0 {
			i, rows = len(rows), append(rows, &studRow{face: face, row: st.Row, z: st.Z})
		}
		r := rows[i]
		r.xs = append(r.xs, e.figure(st.X, 2))
		if c, ok := found[st.Mark]; ok {
			r.inspected++
			if stud.Counts(stud.Outcome(c.Outcome)) {
				r.counted++
			} else {
				r.bad = append(r.bad, st.Mark+" "+stud.Outcome(c.Outcome).Words())
			}
		}
	}
	var out [][]string
	for i, r := range rows {
		if r == nil {
			continue
		}
		for j := i + 1; j < len(rows); j++ {
			if o := rows[j]; o != nil && o.face != r.face && o.row == r.row && o.z == r.z && slices.Equal(o.xs, r.xs) {
				r.face, rows[j] = "both", nil
				r.inspected, r.counted, r.bad = r.inspected+o.inspected, r.counted+o.counted, append(r.bad, o.bad...)
			}
		}
		welded := fmt.Sprintf("%d accepted", r.counted)
		switch {
		case r.inspected == 0:
			welded = "not yet inspected"
		case len(r.bad) > 0:
			welded += "; " + strings.Join(r.bad, ", ")
		}
		out = append(out, []string{r.face, numberOf(r.row), e.figure(r.z, 2), strings.Join(r.xs, ", "), welded})
	}
	return out
}
