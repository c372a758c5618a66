package web

import (
	"cmp"
	"net/http"
	"slices"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/forecast"
	"endcast/internal/domain/repair"
	"endcast/views/board"
	"endcast/views/ui"
)

// portfolioShow sets the programs that a person has a role in beside each other. Who
// keeps the installation and has no role in a program does not see it here.
func (s *Server) portfolioShow(w http.ResponseWriter, r *http.Request) error {
	var ids []string
	for id := range visitOf(r.Context()).person.Roles {
		ids = append(ids, id.String())
	}
	list, err := s.store.Outlines(r.Context(), ids)
	if err != nil {
		return err
	}
	slices.SortFunc(list, func(a, b db.Outline) int {
		return cmp.Or(cmp.Compare(a.Frame.Program.Name, b.Frame.Program.Name), cmp.Compare(a.Frame.Program.ID, b.Frame.Program.ID))
	})
	var v board.Bridges
	var all bridgeCounts
	for _, x := range list {
		row, n, err := s.bridgeRow(x)
		if err != nil {
			return err
		}
		v.Rows = append(v.Rows, row)
		all.add(n)
	}
	if len(list) > 1 {
		v.Total = all.cells(nil)
	}
	return s.render(w, r, http.StatusOK, board.BridgesPage(s.page(r, "All bridges", ui.Crumb{Label: "Programs", Href: "/"}), v))
}

// bridgeCounts are the counts of ends that may be added up over bridges.
type bridgeCounts struct{ ends, open, closed, short, review, old, nc int64 }

func (n *bridgeCounts) add(x bridgeCounts) {
	n.ends, n.open, n.closed = n.ends+x.ends, n.open+x.open, n.closed+x.closed
	n.short, n.review, n.old, n.nc = n.short+x.short, n.review+x.review, n.old+x.old, n.nc+x.nc
}

// cells are the counts as cells; at gives the list behind each, nil for none.
func (n bridgeCounts) cells(at func(show string) string) []board.Cell {
	var out []board.Cell
	for _, x := range []struct {
		n          int64
		show, said string
	}{{n.ends, "", "ends"}, {n.open, "open", "open"}, {n.closed, "closed", "closed"}, {n.short, "short", "below demand"},
		{n.review, "review", "waiting for review"}, {n.old, "outofdate", "out of date"}, {n.nc, "nc", "open nonconformances"}} {
		c := board.Cell{Text: tellOf(x.n), Num: true}
		if at != nil {
			c.Href, c.Said = at(x.show), x.said
		}
		out = append(out, c)
	}
	return out
}

func (s *Server) bridgeRow(x db.Outline) (board.BridgeRow, bridgeCounts, error) {
	p := x.Frame.Program
	head, now := headOf(p), s.store.Today(p)
	b := repair.ReadBoard(x.Marks, x.Frame.Steps, nil, p.Day(now))
	n := bridgeCounts{ends: b.Ends, open: b.Ends - b.Closed, closed: b.Closed, short: b.Short, review: b.Review, old: b.OldBasis}
	for _, c := range b.NC {
		n.nc += c.Open
	}
	row := board.BridgeRow{Name: p.Name, Bridge: p.Carries, Href: head.Path("board"), Demo: p.IsDemo, Due: "none", Forecast: head.Path("forecast"), Windows: head.Path("windows"), History: head.Path("history")}
	row.Counts = n.cells(func(show string) string {
		switch show {
		case "":
			return head.Path("ends")
		case "nc":
			return head.Path("nonconformances")
		}
		return head.Path("ends") + "?show=" + show
	})
	if p.CompletionDue != nil {
		row.Due = p.CompletionDue.Format(time.DateOnly)
	}
	f := foretellFrom(x.Frame, x.Shifts, b, now)
	got, err := forecast.Run(f.input)
	if err != nil {
		return row, n, err
	}
	row.P50, row.P85, row.Chance = f.summary(got, n.open)
	row.Next = nextWindow(x.Frame.Windows, now, f.zone)
	if !x.LastAt.IsZero() {
		row.Last, row.LastBy = x.LastAt.In(f.zone).Format(moment), entryKinds[x.Last]+", "+x.LastBy
	}
	return row, n, nil
}

// summary is the forecast in three words: the day by which half of the runs are done,
// that of 85 of 100, and the chance of the contract date. open are the ends not closed.
func (f *foretold) summary(got forecast.Result, open int64) (p50, p85 string, chance ui.Mark) {
	switch {
	case open == 0:
		return "–", "–", ui.Mark{State: ui.Good, Text: "nothing is open"}
	case got.Endless != "":
		return "no date", "no date", ui.Mark{State: ui.Stop, Text: "nothing to go by yet: " + got.Endless}
	case len(got.Kinds) == 0:
		return "no date", "no date", ui.Mark{State: ui.Wait, Text: "nothing left in windows"}
	case f.input.Due.IsZero():
		return f.day(got.P50), f.day(got.P85), ui.Mark{State: ui.Wait, Text: "no contract date"}
	}
	chance = ui.Mark{State: chanceState(got.Chance), Text: chancePercent(got.Chance) + " of 100"}
	return f.day(got.P50), f.day(got.P85), chance
}

// chanceState is how a chance of the contract date is marked.
func chanceState(c float64) ui.State {
	switch {
	case c >= 0.85:
		return ui.Good
	case c >= 0.5:
		return ui.Caution
	}
	return ui.Stop
}

// nextWindow is the window that is on or comes next, in words.
func nextWindow(list []repair.Window, now time.Time, zone *time.Location) string {
	var next *repair.Window
	for i, w := range list {
		if w.State == repair.WindowLost || w.State == repair.WindowUsed || !w.EndsAt.After(now) {
			continue
		}
		if next == nil || w.StartsAt.Before(next.StartsAt) {
			next = &list[i]
		}
	}
	if next == nil {
		return "none planned"
	}
	return next.StartsAt.In(zone).Format(moment) + ", " + next.Kind + ", " + next.State
}
