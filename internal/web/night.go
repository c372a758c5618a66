package web

import (
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/drawing"
	"endcast/views/planning"
	"endcast/views/settings"
	"endcast/views/ui"
)

// nightEnds bounds how many ends are weighed against each other in one window, the weakest first.
const nightEnds = 300

// nightShow answers what can be worked in a window; ?cut= proposes anew for one that is shorter by so many minutes.
func (s *Server) nightShow(w http.ResponseWriter, r *http.Request) error {
	return s.nightPage(w, r, http.StatusOK, settings.Form{})
}

func (s *Server) nightPage(w http.ResponseWriter, r *http.Request, status int, form settings.Form) error {
	head := s.program(r)
	_, win, err := s.openWindow(r)
	if err != nil {
		return err
	}
	sc, total, err := s.nightScope(r, win)
	if err != nil {
		return err
	}
	zone := zoneOf(sc.Program)
	text := strings.TrimSpace(r.URL.Query().Get("cut"))
	cut := 0
	if text != "" {
		if cut, err = strconv.Atoi(text); err != nil {
			bad := &fault.Invalid{}
			bad.Add("cut", text, "must be whole minutes, as 70")
			form.Bad, status, cut = bad, http.StatusUnprocessableEntity, 0
		}
	}
	n, err := repair.PlanNight(sc, win, cut, zone)
	if bad := invalidOf(err); err != nil && bad != nil && len(bad.Fields) > 0 {
		form.Bad, status = bad, http.StatusUnprocessableEntity
		n, err = repair.PlanNight(sc, win, 0, zone)
	}
	if err != nil {
		return err
	}
	form.Action = head.Path("windows", win.ID, "night")
	v := planning.Night{Form: form, Cut: text, May: s.can(r, authz.PlanShift) && win.State != repair.WindowLost && win.State != repair.WindowUsed,
		Back: head.Path("windows", win.ID), NeedLink: head.Path("planning") + "#stock"}
	v.Lead = fmt.Sprintf("%s, %s to %s, %s. Times are of %s.", sentenceCase(win.Kind), win.StartsAt.In(zone).Format("Mon 2006-01-02 15:04"), win.EndsAt.In(zone).Format("Mon 15:04"), win.State, zone)
	v.Length = fmt.Sprintf("%d minutes are left to a crew: set-up takes %d and hand-back %d.", n.NetMin, n.SetupMin, n.HandbackMin)
	if n.CutMin > 0 {
		v.Length = fmt.Sprintf("Cut by %d minutes, %d are left to a crew: set-up takes %d and hand-back %d.", n.CutMin, n.NetMin, n.SetupMin, n.HandbackMin)
	}
	switch moved := win.ClockMoved(zone); {
	case moved > 0:
		v.Notes = append(v.Notes, fmt.Sprintf("The clock goes forward in this window: it is %.0f min shorter than the clock shows.", moved.Minutes()))
	case moved < 0:
		v.Notes = append(v.Notes, fmt.Sprintf("The clock goes back in this window: it is %.0f min longer than the clock shows.", -moved.Minutes()))
	}
	if over := !win.EndsAt.After(s.now()); over && win.State != repair.WindowLost && win.State != repair.WindowUsed {
		v.May = false
		v.Notes = append(v.Notes, "The time of this window is over, and nobody said what became of it: its own page takes that.")
	} else if win.State == repair.WindowPlanned {
		v.Notes = append(v.Notes, "The window is not granted yet: this is what could be worked if it is.")
	}
	if len(n.Unconfirmed) > 0 {
		v.Notes = append(v.Notes, "Not confirmed: "+strings.Join(n.Unconfirmed, ", ")+". Nobody starts before that.")
	}
	if total > len(sc.Ends) {
		v.Notes = append(v.Notes, fmt.Sprintf("%d open ends need this access; the %d with the least capacity beside their demand are weighed here.", total, len(sc.Ends)))
	}
	v.Bound = "No other plan is worth more: proved."
	if len(n.Lines) == 0 || !n.Lines[0].Go {
		v.Bound = "Nothing is proposed."
	} else if !n.Best {
		v.Bound = fmt.Sprintf("The search stopped at its limit: this plan is at most %s %% below the bound that no plan exceeds.", units.Significant(100*n.Gap, 2))
	}
	for _, k := range sc.Shifts.Kinds {
		if k.Name != win.Kind {
			continue
		}
		for _, item := range k.Confirmations {
			a := planning.Asked{Item: item}
			for _, x := range sc.Shifts.Confirmations {
				if x.WindowID == win.ID && x.Item == item && x.WithdrawnAt == nil {
					a.ID, a.By = x.ID, x.ByName+", "+x.CapturedAt.In(zone).Format(moment)
				}
			}
			v.Asked = append(v.Asked, a)
		}
	}
	for _, c := range sortedCrews(sc.Shifts.Crews) {
		if !c.Retired {
			v.Crews = append(v.Crews, [2]string{c.ID, c.Name})
		}
	}
	for _, l := range n.Lines {
		row := nightRow(head, l, zone)
		if status >= 400 && r.PostFormValue("end") == l.EndID {
			row.Open, row.CrewID, row.LeaveOut = true, r.PostFormValue("crew"), r.PostFormValue("leave_out")
		}
		if l.Go {
			v.Go = append(v.Go, row)
		} else {
			v.Not = append(v.Not, row)
		}
	}
	for _, what := range slices.Sorted(maps.Keys(n.Need)) {
		need := planning.NightNeed{What: what, Count: strconv.Itoa(n.Need[what]), OnHand: "not counted"}
		for _, x := range sc.Shifts.Stock {
			if x.Name == what {
				need.OnHand = strconv.Itoa(x.OnHand)
			}
		}
		v.Need = append(v.Need, need)
	}
	v.Chart = nightChart(n, sc.Shifts, zone)
	return s.render(w, r, status, planning.NightPage(s.page(r, "What can be worked "+win.StartsAt.In(zone).Format("Monday, 2 January"), ui.Crumb{Label: "Access windows", Href: head.Path("windows")}), v))
}

// nightScope brings the open ends that a window can serve, and how many there are.
func (s *Server) nightScope(r *http.Request, win repair.Window) (*repair.Scope, int, error) {
	ctx, id := r.Context(), s.program(r).ID.String()
	frame, err := s.store.Frame(ctx, id)
	if err != nil {
		return nil, 0, err
	}
	codes := []string{}
	for _, st := range frame.Sequence() {
		if st.Window == win.Kind {
			codes = append(codes, st.Code)
		}
	}
	ids, total, err := s.store.NightEnds(ctx, id, win.Kind, codes, nightEnds)
	if err != nil {
		return nil, 0, err
	}
	if len(ids) == 0 {
		frame.Shifts, err = s.store.Shifts(ctx, id)
		return frame, 0, err
	}
	sc, err := s.store.Ends(ctx, id, ids)
	if err != nil {
		return nil, 0, err
	}
	sc.Shifts, err = s.store.Shifts(ctx, id)
	return sc, total, err
}

func nightRow(head ProgramHead, l repair.NightLine, zone *time.Location) planning.NightRow {
	row := planning.NightRow{ID: l.EndID, Name: l.Name, Href: head.Path("ends", l.Name), Step: l.Step, Reason: l.Reason, Broken: l.Broken, Crew: l.Crew, Minutes: strconv.Itoa(l.Minutes()), Count: "1"}
	row.Why = row.Href
	if strings.HasPrefix(l.Reason, "no crew") {
		row.Why = head.Path("planning") + "#crews"
	}
	if x := l.Choice; x != nil {
		row.From, row.LeaveOut, row.Kept = x.ID, x.Reason, "Chosen by "+x.ByName+"."
		if x.CrewID != nil {
			row.CrewID = *x.CrewID
		}
	}
	if !l.Go {
		return row
	}
	row.Count = strconv.Itoa(len(l.Steps))
	row.Times = l.From.In(zone).Format("15:04") + " to " + l.To.In(zone).Format("15:04")
	var steps, uses []string
	for _, st := range l.Steps {
		text := st.Name
		if st.Assumed {
			text += " (minutes assumed)"
		}
		steps = append(steps, text)
		if len(st.Uses) > 0 {
			uses = append(uses, usesText(st.Uses, ", "))
		}
	}
	row.Steps, row.Uses = strings.Join(steps, ", "), strings.Join(uses, ", ")
	if l.Casting != nil {
		parts := []string{"cast at " + l.Casting.In(zone).Format("15:04")}
		for _, b := range l.Breaks {
			text := units.Significant(b.Days, 3) + " d on " + b.At.Format("Mon 2006-01-02")
			if b.Shut {
				text += ", laboratory shut"
			}
			parts = append(parts, text)
		}
		row.Casting = strings.Join(parts, "; ")
	}
	return row
}

// nightChart is the drawing of a proposal: every crew that may work in the window, those with nothing to do too.
func nightChart(n repair.Night, shifts repair.Shifts, zone *time.Location) drawing.NightData {
	d := drawing.NightData{Starts: n.Window.StartsAt.In(zone), Ends: n.Window.EndsAt.In(zone), SetupMin: n.SetupMin, HandoverMin: n.HandbackMin, CutMin: n.CutMin}
	for _, c := range sortedCrews(shifts.Crews) {
		if c.Retired || len(c.Kinds) > 0 && !slices.Contains(c.Kinds, n.Window.Kind) {
			continue
		}
		crew := drawing.NightCrew{Name: c.Name}
		for _, l := range n.Lines {
			if l.Go && l.Crew == c.Name {
				var steps []string
				for _, st := range l.Steps {
					steps = append(steps, st.Name)
				}
				crew.Bars = append(crew.Bars, drawing.NightBar{End: l.Name, Steps: strings.Join(steps, ", "), From: l.From.In(zone), To: l.To.In(zone)})
			}
		}
		d.Crews = append(d.Crews, crew)
	}
	return d
}

// nightSubmit stores one choice or one confirmation.
func (s *Server) nightSubmit(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	_, win, err := s.openWindow(r)
	if err != nil {
		return err
	}
	var change repair.Change
	switch r.PostFormValue("do") {
	case "choose":
		steps, _ := strconv.Atoi(r.PostFormValue("steps"))
		change = repair.ChooseForWindow{WindowID: win.ID, EndID: r.PostFormValue("end"), CrewID: r.PostFormValue("crew"), Steps: steps, LeaveOut: r.PostFormValue("leave_out"), From: r.PostFormValue("from")}
	case "confirm":
		change = repair.ConfirmWindow{WindowID: win.ID, Item: r.PostFormValue("item")}
	case "unconfirm":
		id := r.PostFormValue("id")
		shifts, err := s.store.Shifts(r.Context(), s.program(r).ID.String())
		if err != nil {
			return err
		}
		if !slices.ContainsFunc(shifts.Confirmations, func(x repair.WindowConfirmation) bool { return x.ID == id && x.WindowID == win.ID }) {
			return fault.New(fault.NotFound, "this window has no such confirmation")
		}
		change = repair.WithdrawConfirmation{ID: id, Why: r.PostFormValue("why")}
	default:
		return fault.New(fault.NotFound, "there is nothing of this kind to store")
	}
	_, err = s.editAlone(r, change)
	if fault.KindOf(err) == fault.Conflict {
		return s.nightPage(w, r, http.StatusConflict, settings.Form{Notice: err.Error() + ": nothing of yours was stored; the page shows what stands now"})
	}
	if form, status, ok := refused(r, err); ok {
		return s.nightPage(w, r, status, form)
	}
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, "Stored.")
	return seeOther(w, r, s.program(r).Path("windows", win.ID, "night"))
}
