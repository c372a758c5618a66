package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

const poursPerPage = 40

// pourList shows the castings of a program, the newest first.
func (s *Server) pourList(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	page := pageNumber(q)
	list, total, err := s.store.CastingPage(r.Context(), c.head.ID.String(), page, poursPerPage)
	if err != nil {
		return err
	}
	v := casting.List{Quantities: c.head.Path("pours", "quantities"), Pager: pager(c.head.Path("pours"), q, page, poursPerPage, total), Zone: c.zoneNote(), Curve: c.head.Path("strength-curve")}
	if s.can(r, authz.RecordPour) {
		v.New, v.Open = c.head.Path("pours", "new"), c.head.Path("pours", "open")
	}
	for _, p := range newestFirst(list.Pours, func(p repair.Pour) time.Time { return p.StartedAt }) {
		v.Rows = append(v.Rows, c.listRow(p, list))
	}
	return s.render(w, r, http.StatusOK, casting.ListPage(s.page(r, "Pours"), v))
}

func (c *castReader) listRow(p repair.Pour, list db.CastingList) casting.ListRow {
	row := casting.ListRow{Number: strconv.Itoa(p.Number), Href: c.head.Path("pours", strconv.Itoa(p.Number)), When: p.StartedAt.In(c.zone).Format("Mon 2006-01-02"),
		Span: p.StartedAt.In(c.zone).Format("15:04"), Night: c.night(p.StartedAt), Ends: c.endLinks(list, p.ID), Flow: "–", Volume: "–",
		Unit: units.Lengths.Label(c.sys)}
	if p.EndedAt != nil {
		row.Span += " to " + c.clock(*p.EndedAt, p.StartedAt)
	}
	batches, refused, outside := 0, 0, 0
	least, most := 0.0, 0.0
	for _, b := range list.Batches {
		if b.PourID != p.ID {
			continue
		}
		batches++
		if b.Refused {
			refused++
		} else if uhpc.Stopped(c.frame.BatchFindings(p, b)) {
			outside++
		}
		if b.Flow != nil {
			f := float64(*b.Flow)
			if least == 0 || f < least {
				least = f
			}
			most = max(most, f)
		}
	}
	row.Batches = strconv.Itoa(batches)
	if refused > 0 {
		row.Refused = fmt.Sprintf("%d refused", refused)
	}
	if outside > 0 {
		row.Outside = fmt.Sprintf("%d outside a limit", outside)
	}
	if most > 0 {
		row.Flow = units.Lengths.Figure(least, c.sys, flowDecimals(c.sys))
		if most != least {
			row.Flow += "–" + units.Lengths.Figure(most, c.sys, flowDecimals(c.sys))
		}
	}
	liters := 0.0
	for _, pe := range list.PourEnds {
		if pe.PourID == p.ID && pe.VolumeL != nil {
			liters += *pe.VolumeL
		}
	}
	if liters > 0 {
		row.Volume = volumeText(liters, c.sys)
	}
	broken, all := 0, 0
	for _, sp := range list.Specimens {
		if sp.PourID == p.ID {
			all++
			if sp.BrokenAt != nil {
				broken++
			}
		}
	}
	row.SpecimensBroke = fmt.Sprintf("%d of %d", broken, all)
	row.Needs = c.needs(p, list)
	for _, set := range c.sets(p, list) {
		if set.stats.Broken == 0 && set.mark.State != ui.Stop {
			continue
		}
		x := casting.Strength{Age: ageText(set.set.NominalHours), Value: c.strength(set.stats.Mean), Against: set.against, Mark: set.mark}
		switch {
		case set.stats.Broken == 0:
			x.Value = "none broken"
		case set.stats.Counted == 0:
			x.Value = "none counts"
		}
		row.Strengths = append(row.Strengths, x)
	}
	return row
}

// flowDecimals is how finely a flow is read: to a tenth of an inch, to a
// millimeter.
func flowDecimals(sys units.System) int {
	if sys == units.SI {
		return 0
	}
	return 1
}

// volumeText prints liters in the reader's unit; a liter is 1e6 mm3.
func volumeText(liters float64, sys units.System) string {
	return units.Volumes.Format(liters*1e6, sys, -1)
}

// needs are what a casting still waits for: its end, its curing, its breaks.
func (c *castReader) needs(p repair.Pour, list db.CastingList) []ui.Mark {
	var out []ui.Mark
	if p.Open {
		out = append(out, ui.Mark{State: ui.Active, Text: "open: batches come in"})
	}
	logged := slices.ContainsFunc(list.CuringLogs, func(l repair.CuringLog) bool { return l.PourID == p.ID && l.WithdrawnAt == nil })
	if !logged && c.now.Sub(p.StartedAt) < 10*24*time.Hour {
		out = append(out, ui.Mark{State: ui.Wait, Text: "a curing log"})
	}
	late, coming := 0, 0
	for _, sp := range list.Specimens {
		if sp.PourID != p.ID || sp.BrokenAt != nil || sp.LostAt != nil || sp.Purpose == string(uhpc.Spare) {
			continue
		}
		due := sp.CastAt.Add(time.Duration((24*sp.NominalDays + uhpc.ToleranceHours(24*sp.NominalDays, c.basis)) * float64(time.Hour)))
		if c.now.After(due) {
			late++
		} else {
			coming++
		}
	}
	if late > 0 {
		out = append(out, ui.Mark{State: ui.Stop, Text: counted(late, "late break", "late breaks")})
	}
	if coming > 0 {
		out = append(out, ui.Mark{State: ui.Wait, Text: counted(coming, "break to come", "breaks to come")})
	}
	undecided := 0
	for _, b := range list.Batches {
		if b.PourID == p.ID && !b.Refused && b.DecidedAt == nil && uhpc.Stopped(c.frame.BatchFindings(p, b)) {
			undecided++
		}
	}
	if undecided > 0 {
		out = append(out, ui.Mark{State: ui.Caution, Text: counted(undecided, "decision on a batch", "decisions on batches")})
	}
	if len(out) == 0 {
		out = append(out, ui.Mark{State: ui.Good, Text: "nothing"})
	}
	return out
}
