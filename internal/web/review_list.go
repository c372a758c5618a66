package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/review"
	"endcast/views/ui"
)

const reviewsPerPage = 100

// reviewList is what waits for the owner's engineer, most urgent first.
func (s *Server) reviewList(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	p, err := s.store.Program(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	frame, err := s.store.Frame(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	today := s.store.Today(p)
	page := pageNumber(r.URL.Query())
	list, err := s.store.Reviews(r.Context(), head.ID.String(), today, repair.ReviewLimitsFrom(frame.Basis()), page, reviewsPerPage)
	if err != nil {
		return err
	}
	v := review.List{Pager: pager(head.Path("reviews"), r.URL.Query(), page, reviewsPerPage, list.Total),
		Order: "Work that is stopped comes first, then what would miss a window, what waits long, and ends that carry less than their demand, largest shortfall first."}
	zone := zoneOf(p)
	for _, x := range list.Rows {
		row := s.reviewRow(r, head, x, today, zone)
		if x.Submitted != nil {
			v.Asked = append(v.Asked, row)
		} else {
			v.Stale = append(v.Stale, row)
		}
	}
	sheet := s.page(r, "Designs to review")
	sheet.Scripts = []string{"keys.js"}
	return s.render(w, r, http.StatusOK, review.ListPage(sheet, v))
}

func (s *Server) reviewRow(r *http.Request, head ProgramHead, x db.ReviewRow, today time.Time, zone *time.Location) review.Row {
	sys := s.units(r)
	row := review.Row{End: x.Name, EndHref: head.Path("ends", x.Name), Support: x.SupportCode, Revision: numberOf(x.Revision), Next: x.StepName,
		Href: head.Path("ends", x.Name, "designs", numberOf(x.Revision), "review"), Link: "Revision " + numberOf(x.Revision), By: x.Designer,
		Capacity: conditionMark(x.State), Repaired: repairedMark(x, sys), Own: x.DesignerID == s.user(r).ID.String(), Window: "–"}
	row.Urgent = urgencyMark(x.Urgency)
	if x.Alike > 1 && x.Submitted != nil {
		row.Alike, row.AlikeHref = numberOf(x.Alike)+" alike, in one sitting", head.Path("reviews", "together")+"?like="+x.Name
	}
	if x.Questions > 0 {
		row.Questions = counted(x.Questions, "open question", "open questions")
	}
	since := x.Submitted
	if since == nil {
		since, row.By, row.Moved = x.Approved, x.Approver, movedWords(x)
	}
	if since != nil {
		row.Days, row.Since = days(*since, today), since.In(zone).Format("2006-01-02 15:04")
	}
	if x.Window != nil {
		row.Window = x.Window.In(zone).Format("2006-01-02 15:04")
	}
	return row
}

// waitingBeside are the revisions before and after that of an end among those that wait,
// the most urgent first; for one that does not wait, the first that does.
func (e *endReader) waitingBeside() (prev, next *ui.Crumb, err error) {
	p := e.sc.Program
	list, err := e.s.store.Reviews(e.r.Context(), p.ID, e.s.store.Today(p), repair.ReviewLimitsFrom(e.sc.Basis()), 1, reviewsPerPage)
	if err != nil {
		return nil, nil, err
	}
	head := e.s.program(e.r)
	at := func(i int) *ui.Crumb {
		if i < 0 || i >= len(list.Rows) {
			return nil
		}
		x := list.Rows[i]
		return &ui.Crumb{Label: x.Name + ", revision " + numberOf(x.Revision), Href: head.Path("ends", x.Name, "designs", numberOf(x.Revision), "review")}
	}
	i := slices.IndexFunc(list.Rows, func(x db.ReviewRow) bool { return x.EndID == e.rec.End.ID })
	if i < 0 {
		return nil, at(0), nil
	}
	return at(i - 1), at(i + 1), nil
}

// urgencyMark shows why a revision stands where it stands in the list.
func urgencyMark(u repair.Urgency) ui.Mark {
	switch u {
	case repair.WorkStopped:
		return ui.Mark{State: ui.Stop, Text: "work stopped"}
	case repair.MissesWindow:
		return ui.Mark{State: ui.Caution, Text: "window soon"}
	case repair.WaitsLong:
		return ui.Mark{State: ui.Wait, Text: "waits long"}
	case repair.FallsShort:
		return ui.Mark{State: ui.Caution, Text: "carries too little"}
	}
	return ui.Mark{State: ui.Open, Text: "in turn"}
}

// movedWords says in short what an approval no longer agrees with.
func movedWords(x db.ReviewRow) string {
	var parts []string
	switch {
	case x.NewSurvey != nil:
		parts = append(parts, fmt.Sprintf("survey %d came after it", *x.NewSurvey))
	case x.Corrected == 1:
		parts = append(parts, "1 reading was corrected")
	case x.Corrected > 1:
		parts = append(parts, fmt.Sprintf("%d readings were corrected", x.Corrected))
	default:
		parts = append(parts, "facts of the end or the design basis changed")
	}
	if x.DesignRevision != nil && *x.DesignRevision > x.Revision {
		parts = append(parts, fmt.Sprintf("revision %d is a %s", *x.DesignRevision, strings.ReplaceAll(x.DesignState, "_", " ")))
	}
	return ui.Sentence(strings.Join(parts, "; "))
}

// repairedMark compares the repair in force with the demand.
func repairedMark(x db.ReviewRow, sys units.System) ui.Mark {
	switch {
	case x.Repaired == nil:
		return ui.Mark{State: ui.Open, Text: "not computed"}
	case *x.Repaired < x.Demand:
		return ui.Mark{State: ui.Stop, Text: "short, " + x.Repaired.Format(sys, -1)}
	}
	return ui.Mark{State: ui.Good, Text: "carries " + x.Repaired.Format(sys, -1)}
}

// countReviews notes on the index of sheets how many designs wait, for those who
// decide on them. The page is shown without it when the count fails.
func (s *Server) countReviews(r *http.Request, nav []ui.NavItem) {
	if !s.can(r, authz.ReviewDesign) {
		return
	}
	head := s.program(r)
	for i := range nav {
		if nav[i].Href == head.Path("reviews") {
			n, err := s.store.ReviewCount(r.Context(), head.ID.String())
			if err == nil {
				nav[i].Count = n
			}
		}
	}
}
