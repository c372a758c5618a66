package web

import (
	"cmp"
	"net/http"
	"net/url"
	"strings"

	"endcast/internal/db"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/views/field"
)

const nonconformancesPerPage = 50

// nonconformanceList shows the nonconformances of a program.
func (s *Server) nonconformanceList(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	frame, err := s.store.Frame(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	q := r.URL.Query()
	show := q.Get("show")
	f := db.NonconformanceFilter{Open: show == "" || show == "critical", Closed: show == "closed", Critical: show == "critical", End: strings.TrimSpace(q.Get("end"))}
	if q.Has("cause") {
		cause := repair.CauseOf(q.Get("cause"))
		f.Cause = &cause
	}
	page := pageNumber(q)
	list, err := s.store.ListNonconformances(r.Context(), head.ID.String(), f, page, nonconformancesPerPage)
	if err != nil {
		return err
	}
	base := head.Path("nonconformances")
	v := field.Nonconformances{End: f.End, Action: base, Pager: pager(base, q, page, nonconformancesPerPage, list.Total)}
	for _, t := range []struct{ key, label string }{{"", "Open"}, {"critical", "Critical and open"}, {"closed", "Closed"}, {"all", "All"}} {
		c := url.Values{}
		if t.key != "" {
			c.Set("show", t.key)
		}
		if f.End != "" {
			c.Set("end", f.End)
		}
		if f.Cause != nil {
			c.Set("cause", *f.Cause)
		}
		v.Show = append(v.Show, field.Tab{Label: t.label, Href: base + "?" + c.Encode(), Current: show == t.key})
	}
	e := &endReader{s: s, r: r, sc: frame, zone: zoneOf(frame.Program)}
	for _, x := range list.Rows {
		v.Rows = append(v.Rows, e.nonconformanceRow(head, x))
	}
	title := "Nonconformances"
	if f.Cause != nil {
		title += " by cause: " + cmp.Or(*f.Cause, "not said yet")
	}
	if f.End != "" {
		title += " of " + strings.ToUpper(f.End)
	}
	return s.render(w, r, http.StatusOK, field.NonconformancesPage(s.page(r, title), v))
}

func (e *endReader) nonconformanceRow(head ProgramHead, x db.NonconformanceLine) field.NonconformanceRow {
	row := field.NonconformanceRow{Number: numberOf(x.Number), Href: head.Path("nonconformances", numberOf(x.Number)), End: x.EndName, EndHref: head.Path("ends", x.EndName),
		Reading: x.SupportName + ", " + x.Face + " face", Requirement: x.Requirement, Found: x.Found, State: nonconformanceMark(x.Nonconformance), Critical: x.Critical,
		Raised: x.RaisedName + ", " + e.when(x.RaisedAt), Stop: e.stopsWords(x.Stops), Acts: "nobody"}
	if who := x.Waits(); who != "" {
		row.Acts = sequence.RoleWords(who)
	}
	row.Days = days(x.RaisedAt, e.now())
	if x.ClosedAt != nil {
		row.Days = days(x.RaisedAt, *x.ClosedAt)
	}
	return row
}
