package web

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/quality"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
	view "endcast/views/tablet"
	"endcast/views/ui"
)

// studQuality is how many studs are rejected, by shift, welder and place.
func (s *Server) studQuality(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	frame, err := s.store.Frame(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	found, err := s.store.StudFindings(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	v := qualityView(found, frame.Basis(), s.units(r), zoneOf(frame.Program))
	return s.render(w, r, http.StatusOK, view.QualityPage(s.page(r, "Stud quality", ui.Crumb{Label: "Bridge", Href: head.Path()}), v))
}

// weldedStud is one stud with what became of it.
type weldedStud struct {
	shift, welder          string
	face, row, col, flange string
	rejected, repaired     bool
}

// weldedStuds turns findings, in their order, into studs. A stud that was welded again
// counts once, as rejected.
func weldedStuds(found []db.StudFinding, near float64, nearText string, zone *time.Location) []weldedStud {
	at := map[[2]string]int{}
	var out []weldedStud
	for _, f := range found {
		key := [2]string{f.DesignID, f.Mark}
		i, ok := at[key]
		if !ok {
			i = len(out)
			at[key] = i
			flange := "Beside a flange, within " + nearText
			if f.Flange > near {
				flange = "Away from the flanges"
			}
			out = append(out, weldedStud{shift: quality.ShiftDay(f.CapturedAt.In(zone)), welder: cmp.Or(f.Welder, "not said"), face: sentenceCase(faceWords[f.Face]),
				row: fmt.Sprintf("Row %02d", f.Row), col: fmt.Sprintf("Column %02d", f.Col), flange: flange})
		}
		switch stud.Outcome(f.Outcome) {
		case stud.Rejected, stud.Removed, stud.BentFail, stud.Replaced:
			out[i].rejected = true
		case stud.RepairedFillet, stud.BentPass:
			out[i].repaired = true
		}
	}
	return out
}

func qualityView(found []db.StudFinding, b basis.Basis, sys units.System, zone *time.Location) view.Quality {
	risk, near := b.Value(basis.RejectRisk), units.Length(b.Value(basis.NearFlange))
	studs := weldedStuds(found, float64(near), near.Format(sys, -1), zone)
	if len(studs) == 0 {
		return view.Quality{}
	}
	v := view.Quality{Risk: fmt.Sprintf("the chance of a false signal is set to %.3g %% of groups.", 100*risk)}
	for _, by := range []struct {
		caption, head string
		key           func(weldedStud) string
	}{{"By shift", "Shift", func(x weldedStud) string { return x.shift }}, {"By welder", "Welder", func(x weldedStud) string { return x.welder }},
		{"By face of the web", "Face", func(x weldedStud) string { return x.face }}, {"By row, from the bottom flange", "Row", func(x weldedStud) string { return x.row }},
		{"By column, from the girder end", "Column", func(x weldedStud) string { return x.col }}, {"By nearness to a flange", "Place", func(x weldedStud) string { return x.flange }}} {
		groups := map[string]quality.Rejects{}
		for _, x := range studs {
			g := groups[by.key(x)]
			g.Group = by.key(x)
			g.Welded++
			if x.rejected {
				g.Rejected++
			} else if x.repaired {
				g.Repaired++
			}
			groups[g.Group] = g
		}
		list := make([]quality.Rejects, 0, len(groups))
		for _, g := range groups {
			list = append(list, g)
		}
		slices.SortFunc(list, func(a, b quality.Rejects) int { return cmp.Compare(a.Group, b.Group) })
		rate, points := quality.RejectChart(list, risk)
		total := 0
		for _, g := range list {
			total += g.Rejected
		}
		v.Total = fmt.Sprintf("%d studs have a finding; %d were rejected, %s.", len(studs), total, share(rate))
		if by.head == "Shift" && len(points) > 1 {
			v.Chart = shiftChart(rate, points)
		}
		t := view.QualityTable{Caption: by.caption, By: by.head}
		for _, p := range points {
			t.Rows = append(t.Rows, qualityRow(p))
		}
		v.Tables = append(v.Tables, t)
	}
	return v
}

func qualityRow(p quality.RejectPoint) view.QualityRow {
	row := view.QualityRow{Group: p.Group, Welded: numberOf(p.Welded), Rejected: numberOf(p.Rejected), Repaired: numberOf(p.Repaired), Rate: fmt.Sprintf("%.1f %%", 100*p.Rate),
		Limits: fmt.Sprintf("%d to %d", p.Fewest, p.Most), Tail: fmt.Sprintf("%.2g", p.Tail), Mark: ui.Mark{State: ui.Good, Text: "within chance"}}
	switch p.Signal {
	case quality.RejectsHigh:
		row.Mark = ui.Mark{State: ui.Stop, Text: "more than chance: look for the cause"}
	case quality.RejectsLow:
		row.Mark = ui.Mark{State: ui.Caution, Text: "fewer than chance: look why"}
	}
	return row
}

// mostShifts is how many shifts the chart draws, the latest.
const mostShifts = 60

// shiftChart is the chart of the shifts, which come in the order of their days.
func shiftChart(rate float64, points []quality.RejectPoint) *view.ShiftChart {
	c := &view.ShiftChart{Common: rate}
	if len(points) > mostShifts {
		c.Left = len(points) - mostShifts
		points = points[c.Left:]
	}
	high, low := 0, 0
	for _, p := range points {
		one := view.ShiftPoint{Label: p.Group, Rate: p.Rate, Least: float64(p.Fewest) / float64(p.Welded), Most: float64(p.Most) / float64(p.Welded),
			Says: fmt.Sprintf("%s: %d of %d rejected, chance leaves %d to %d", p.Group, p.Rejected, p.Welded, p.Fewest, p.Most)}
		switch p.Signal {
		case quality.RejectsHigh:
			one.Signal = 1
			high++
		case quality.RejectsLow:
			one.Signal = -1
			low++
		}
		c.Points = append(c.Points, one)
	}
	c.Says = fmt.Sprintf("%d shifts from %s to %s, %s rejected of all; %d above what chance leaves, %d below.", len(points), points[0].Group, points[len(points)-1].Group, share(rate), high, low)
	if c.Left > 0 {
		c.Says += fmt.Sprintf(" %d earlier ones stand in the table only.", c.Left)
	}
	return c
}
