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
	v := qualityView(found, frame.Basis().Value(basis.RejectRisk), zoneOf(frame.Program))
	return s.render(w, r, http.StatusOK, view.QualityPage(s.page(r, "Stud quality", ui.Crumb{Label: "Bridge", Href: head.Path()}), v))
}

// dayBegins is the hour at which a day of work begins: a night belongs to the day
// before.
const dayBegins = 6 * time.Hour

// weldedStud is one stud with what became of it.
type weldedStud struct {
	shift, welder, place string
	rejected, repaired   bool
}

// weldedStuds turns findings, in their order, into studs. A stud that was welded again
// counts once, as rejected.
func weldedStuds(found []db.StudFinding, zone *time.Location) []weldedStud {
	at := map[[2]string]int{}
	var out []weldedStud
	for _, f := range found {
		key := [2]string{f.DesignID, f.Mark}
		i, ok := at[key]
		if !ok {
			i = len(out)
			at[key] = i
			out = append(out, weldedStud{shift: f.CapturedAt.In(zone).Add(-dayBegins).Format(time.DateOnly), welder: cmp.Or(f.Welder, "not said"),
				place: fmt.Sprintf("%s, row %d", sentenceCase(faceWords[f.Face]), f.Row)})
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

func qualityView(found []db.StudFinding, risk float64, zone *time.Location) view.Quality {
	studs := weldedStuds(found, zone)
	if len(studs) == 0 {
		return view.Quality{}
	}
	v := view.Quality{Risk: fmt.Sprintf("the chance of a false signal is set to %.3g %% of groups.", 100*risk)}
	for _, by := range []struct {
		caption, head string
		key           func(weldedStud) string
	}{{"By shift", "Shift", func(x weldedStud) string { return x.shift }}, {"By welder", "Welder", func(x weldedStud) string { return x.welder }},
		{"By place on the web", "Place", func(x weldedStud) string { return x.place }}} {
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
