package web

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// laboratoryWeek is the list of breaks from today on, by day, for the wall beside
// the machine. A set stands at the time that suits the laboratory's hours.
func (s *Server) laboratoryWeek(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	list, err := s.store.Laboratory(r.Context(), c.head.ID.String(), c.now.Add(24*time.Hour))
	if err != nil {
		return err
	}
	l := labReader{castReader: c, list: list}
	v := casting.Week{Zone: c.zoneNote(), Load: units.Forces.Label(c.sys), Length: units.Lengths.Label(c.sys),
		From: c.now.In(c.zone).Format("Monday 2006-01-02") + " to " + c.now.In(c.zone).AddDate(0, 0, 7).Format("Monday 2006-01-02")}
	type line struct {
		at   time.Time
		late bool
		row  casting.WeekRow
	}
	var lines []line
	hours := uhpc.HoursOf(c.zone, nil, c.basis)
	for _, set := range l.sets() {
		d := set.due
		late := d.State == uhpc.Overdue
		if !late && d.From.After(c.now.Add(7*24*time.Hour)) {
			continue
		}
		x := line{at: d.At, late: late, row: casting.WeekRow{What: fmt.Sprintf("%s, %s, batch %d, %s", ageText(d.Specimen.NominalHours), cureWords(string(d.Specimen.Cure)), set.batch, kindName(string(d.Specimen.Kind))),
			Window: c.day(d.From) + " to " + c.day(d.To), Pour: strconv.Itoa(set.pour.Number)}}
		sg := d.Suggest(hours, c.now)
		switch {
		case late:
			x.row.Note = "the window is past"
		case sg.At.IsZero():
			x.row.Note = "no hour of the laboratory lies in the window"
		default:
			x.at = sg.At
			if sg.Why != "" {
				x.row.Note = sg.Why
			}
		}
		x.row.When = x.at.In(c.zone).Format("15:04")
		for _, sp := range set.rows {
			x.row.Each = append(x.row.Each, sp.Mark)
		}
		lines = append(lines, x)
	}
	slices.SortStableFunc(lines, func(a, b line) int {
		if a.late != b.late {
			if a.late {
				return -1
			}
			return 1
		}
		return cmp.Compare(a.at.Unix(), b.at.Unix())
	})
	for _, x := range lines {
		title, mark := x.at.In(c.zone).Format("Monday 2006-01-02"), ui.Mark{}
		if x.late {
			title, mark = "Late", ui.Mark{State: ui.Stop, Text: "late"}
			x.row.When = c.day(x.at)
		} else if !hours.WorksOn(x.at) {
			mark = ui.Mark{State: ui.Caution, Text: "laboratory shut"}
		}
		if n := len(v.Days); n == 0 || v.Days[n-1].Title != title {
			v.Days = append(v.Days, casting.WeekDay{Title: title, Mark: mark})
		}
		day := &v.Days[len(v.Days)-1]
		day.Rows = append(day.Rows, x.row)
	}
	p := s.page(r, "Breaks of the week", ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Laboratory", Href: c.head.Path("laboratory")})
	return s.render(w, r, http.StatusOK, casting.WeekPage(p, v))
}
