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

// mostUnfinished bounds how many pours are looked through for what they need.
const mostUnfinished = 2000

var pourOrders = []ui.Option{{Value: "", Label: "Newest first"}, {Value: "oldest", Label: "Oldest first"}, {Value: "pressing", Label: "Most pressing first"}}

// pourList shows the castings of a program, the newest first, or those that need
// something.
func (s *Server) pourList(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	base := c.head.Path("pours")
	v := casting.List{Quantities: c.head.Path("pours", "quantities"), Zone: c.zoneNote(), Curve: c.head.Path("strength-curve"), Action: base, Laboratory: c.head.Path("laboratory"), Limits: c.head.Path("pours", "limits"),
		Show: ui.Field{Name: "show", Label: "Waits for", Value: q.Get("show"), Options: needKinds}, Order: ui.Field{Name: "order", Label: "Order", Value: q.Get("order"), Options: pourOrders}}
	if v.Order.Value == "pressing" && v.Show.Value == "" {
		v.Show.Value = "waiting"
	}
	if s.can(r, authz.RecordPour) {
		v.New, v.Open = c.head.Path("pours", "new"), c.head.Path("pours", "open")
	}
	rows, total, err := s.pourRows(r, c, &v)
	if err != nil {
		return err
	}
	marks, err := s.openReleases(r, c, rows)
	if err != nil {
		return err
	}
	v.Pager, v.Filtered = pager(base, q, pageNumber(q), poursPerPage, total), v.Show.Value != ""
	for _, x := range rows {
		row := c.listRow(x.pour, *x.list, x.needs)
		row.Releases = marks[x.pour.ID]
		v.Rows = append(v.Rows, row)
	}
	return s.render(w, r, http.StatusOK, casting.ListPage(s.page(r, "Pours"), v))
}

// pourRow is one pour with its rows and what it needs.
type pourRow struct {
	pour  repair.Pour
	list  *db.CastingList
	needs []need
}

// pourRows are the pours of the page asked for, and how many there are in all.
func (s *Server) pourRows(r *http.Request, c *castReader, v *casting.List) ([]pourRow, int, error) {
	page, show, order := pageNumber(r.URL.Query()), v.Show.Value, v.Order.Value
	var list db.CastingList
	var total int
	var more bool
	var err error
	if show == "" {
		list, total, err = s.store.CastingPage(r.Context(), c.head.ID.String(), page, poursPerPage, order == "oldest")
	} else {
		list, more, err = s.store.UnfinishedCastings(r.Context(), c.head.ID.String(), mostUnfinished)
	}
	if err != nil {
		return nil, 0, err
	}
	if more {
		v.Bounded = fmt.Sprintf("Only the %d newest pours that may need something were looked through.", mostUnfinished)
	}
	facts, err := s.store.CastingFacts(r.Context(), list)
	if err != nil {
		return nil, 0, err
	}
	parts := byPour(list)
	var rows []pourRow
	for _, p := range newestFirst(list.Pours, func(p repair.Pour) time.Time { return p.StartedAt }) {
		x := pourRow{pour: p, list: parts[p.ID], needs: c.needs(p, *parts[p.ID], facts)}
		switch show {
		case "":
		case "waiting":
			if len(x.needs) == 0 {
				continue
			}
		default:
			if !slices.ContainsFunc(x.needs, func(n need) bool { return n.key == show }) {
				continue
			}
		}
		rows = append(rows, x)
	}
	switch order {
	case "oldest":
		slices.Reverse(rows)
	case "pressing":
		slices.SortStableFunc(rows, func(a, b pourRow) int { return pressing(a.needs, b.needs) })
	}
	if show != "" {
		total = len(rows)
		from := min(max(page-1, 0)*poursPerPage, total)
		rows = rows[from:min(from+poursPerPage, total)]
	}
	return rows, total, nil
}

func (c *castReader) listRow(p repair.Pour, list db.CastingList, needs []need) casting.ListRow {
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
	row.Needs = needViews(needs)
	row.Strengths = c.leastSets(c.sets(p, list))
	return row
}

// leastSets are the sets of a casting for a list: of those of one curing, age and word
// that tell the same, the least stands for all.
func (c *castReader) leastSets(sets []setReading) []casting.Strength {
	type key struct {
		hours      float64
		cure       uhpc.Cure
		duty       uhpc.Duty
		mark, text string
	}
	var order []key
	of := map[key][]setReading{}
	for _, set := range sets {
		if set.stats.Broken == 0 && set.mark.State != ui.Stop {
			continue
		}
		k := key{set.set.NominalHours, set.set.Cure, set.set.Duty, string(set.mark.State) + set.mark.Text, set.against}
		if len(of[k]) == 0 {
			order = append(order, k)
		}
		of[k] = append(of[k], set)
	}
	var out []casting.Strength
	for _, k := range order {
		least := of[k][0]
		for _, x := range of[k] {
			if x.stats.Counted > 0 && (least.stats.Counted == 0 || x.stats.Mean < least.stats.Mean) {
				least = x
			}
		}
		x := casting.Strength{Age: ageText(k.hours), Value: c.strength(least.stats.Mean), Against: least.against, Mark: least.mark}
		switch {
		case least.stats.Broken == 0:
			x.Value = "none broken"
		case least.stats.Counted == 0:
			x.Value = "none counts"
		case len(of[k]) > 1:
			x.Value += fmt.Sprintf(", least of %d sets", len(of[k]))
		}
		out = append(out, x)
	}
	return out
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

// openReleases says of each end of the open castings of a page whether it is released,
// by casting; those ends are loaded together.
func (s *Server) openReleases(r *http.Request, c *castReader, rows []pourRow) (map[string][]casting.ReleaseMark, error) {
	pours := map[string][]string{}
	var ids []string
	for _, x := range rows {
		for _, pe := range x.list.PourEnds {
			if pe.PourID != x.pour.ID || !x.pour.Open {
				continue
			}
			pours[pe.EndID] = append(pours[pe.EndID], x.pour.ID)
			if !slices.Contains(ids, pe.EndID) {
				ids = append(ids, pe.EndID)
			}
		}
	}
	out := map[string][]casting.ReleaseMark{}
	if len(ids) == 0 {
		return out, nil
	}
	sc, err := s.store.Ends(r.Context(), c.head.ID.String(), ids)
	if err != nil {
		return nil, err
	}
	marks, err := c.releaseMarks(sc)
	if err != nil {
		return nil, err
	}
	for i, rec := range sc.Ends {
		for _, id := range pours[rec.End.ID] {
			out[id] = append(out[id], marks[i])
		}
	}
	return out, nil
}
