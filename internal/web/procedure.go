package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/units"
	"endcast/views/settings"
	"endcast/views/ui"
)

// shippedProcedure is the part of the address that names the procedure that ships.
const shippedProcedure = "shipped"

var procedureKinds = []string{"procedure.enter", "procedure.check", "procedure.force", "procedure.retire"}

// procedureList shows the procedures for corroded ends, the one that ships first.
func (s *Server) procedureList(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	frame, err := s.store.Frame(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	zone := zoneOf(frame.Program)
	ships := resistance.Default(frame.Basis())
	v := settings.ProceduresView{Rows: []settings.ProcedureRow{{Href: head.Path("procedures", shippedProcedure), Name: ships.Name, Body: ships.Body, Edition: ships.Edition,
		Averaging: averagingWords(string(ships.Averaging)), Entered: "ships with the program", Checked: "no published text", State: forceMark(frame.InForce() == nil, false, true)}}}
	rows := slices.Clone(frame.Procedures)
	slices.SortStableFunc(rows, func(a, b repair.Procedure) int { return b.TranscribedAt.Compare(a.TranscribedAt) })
	for _, p := range rows {
		row := settings.ProcedureRow{Href: head.Path("procedures", p.ID), Name: p.Name, Body: p.Body, Edition: p.Rules().Edition, Averaging: averagingWords(p.Averaging),
			Entered: p.TranscribedName + ", " + p.TranscribedAt.In(zone).Format(time.DateOnly), Checked: "by nobody yet", State: forceMark(p.InForce, p.Retired(), p.Checked())}
		if p.Checked() {
			row.Checked = p.CheckedName + ", " + p.CheckedAt.In(zone).Format(time.DateOnly)
		}
		v.Rows = append(v.Rows, row)
	}
	if s.can(r, authz.EnterProcedure) {
		v.New = head.Path("procedures", "new")
	}
	if v.Log, err = s.settingsLog(r, zone, procedureKinds...); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, settings.Procedures(s.page(r, "Procedures"), v))
}

func forceMark(inForce, retired, checked bool) ui.Mark {
	switch {
	case inForce:
		return ui.Mark{State: ui.Good, Text: "in force"}
	case retired:
		return ui.Mark{State: ui.Void, Text: "retired"}
	case checked:
		return ui.Mark{State: ui.Active, Text: "may be put in force"}
	}
	return ui.Mark{State: ui.Wait, Text: "waits for a second person"}
}

func averagingWords(a string) string {
	switch resistance.Averaging(a) {
	case resistance.ZoneMean:
		return "mean of the zone above the bearing"
	case resistance.Thinnest:
		return "thinnest place of the map"
	}
	return "mean of the thinnest row"
}

// openProcedure finds the procedure of the address; nil is the one that ships.
func (s *Server) openProcedure(r *http.Request, sc *repair.Scope) (*repair.Procedure, error) {
	id := chi.URLParam(r, "procedure")
	if id == shippedProcedure {
		return nil, nil
	}
	if p := sc.Procedure(id); p != nil {
		return p, nil
	}
	return nil, fault.New(fault.NotFound, "this program has no such procedure")
}

// procedureShow is the page of one procedure.
func (s *Server) procedureShow(w http.ResponseWriter, r *http.Request) error {
	return s.procedurePage(w, r, http.StatusOK, procedureForms{})
}

// procedureForms is what the page of a procedure shows again after a refusal.
type procedureForms struct {
	check, force, retire settings.Form
	effects              *settings.Effects
	previewed            string
	typed                map[string]string
}

func (s *Server) procedurePage(w http.ResponseWriter, r *http.Request, status int, f procedureForms) error {
	head := s.program(r)
	sc, whole, err := s.surveyedEnds(r)
	if err != nil {
		return err
	}
	row, err := s.openProcedure(r, sc)
	if err != nil {
		return err
	}
	zone, sys := zoneOf(sc.Program), s.units(r)
	rules := resistance.Default(sc.Basis())
	inForce, force, id := rules, sc.InForce(), ""
	if force != nil {
		inForce = force.Rules()
	}
	v := settings.ProcedureView{Title: rules.Name, State: forceMark(force == nil, false, true), Typed: f.typed,
		Facts: []settings.Fact{{Label: "Issued by", Value: rules.Body}, {Label: "Edition", Value: rules.Edition}, {Label: "How its values came", Value: string(rules.Tag)}}}
	may := s.can(r, authz.DecideProcedure)
	action, running := head.Path("procedures", shippedProcedure), force == nil
	if row == nil {
		v.Caution = "This procedure is a proposal of this program's makers and of no issuing body. It has not been compared with load tests. It reports the lower bound and shows the mean of the zone beside it; the two can differ more than twofold."
	} else {
		rules, id, running = row.Rules(), row.ID, row.InForce
		action = head.Path("procedures", row.ID)
		v.Title, v.State = row.Title(), forceMark(row.InForce, row.Retired(), row.Checked())
		v.Facts = procedureFacts(*row, zone)
		switch {
		case row.Retired():
		case !row.Checked():
			v.Caution = "Nobody but " + row.TranscribedName + ", who entered it, has seen these values beside the text. Capacities by it are shown for comparison and decide nothing."
			if may && row.TranscribedBy != s.actor(r).ID {
				f.check.Action, f.check.From = action, row.Digest()
				v.Check = &f.check
			}
		}
		if may && !row.InForce && !row.Retired() {
			f.retire.Action, f.retire.From = action, row.Digest()
			v.Retire = &f.retire
		}
	}
	if may && !running && (row == nil || row.Checked() && !row.Retired()) {
		f.force.Action, f.force.From = action, sc.InForceDigest()
		v.Force = &settings.ProcedureForce{Effects: f.effects, Previewed: f.previewed, Form: f.force}
	}
	for _, form := range []struct {
		settings.Form
		shown bool
	}{{f.check, v.Check != nil}, {f.force, v.Force != nil}, {f.retire, v.Retire != nil}} {
		if !form.shown && form.Notice != "" {
			v.Notice = form.Notice // the form is not offered, but somebody sent it
		}
	}
	v.Values = procedureValues(rules, inForce, sys)
	if v.Beside, v.BesideSay, err = procedureBeside(sc, whole, head, id, running, sys); err != nil {
		return err
	}
	list, err := s.store.SettingChanges(r.Context(), head.ID.String(), procedureKinds, 1000)
	if err != nil {
		return err
	}
	v.Log = logOf(slices.DeleteFunc(list, func(c db.SettingChange) bool { return !concernsProcedure(c, id) }), sys, zone)
	return s.render(w, r, status, settings.Procedure(s.page(r, v.Title, ui.Crumb{Label: "Procedures", Href: head.Path("procedures")}), v))
}

// surveyedEnds is the program with every end, or the program alone where it has
// too many to compare on one page.
func (s *Server) surveyedEnds(r *http.Request) (sc *repair.Scope, whole bool, err error) {
	id := s.program(r).ID.String()
	n, err := s.store.EndCount(r.Context(), id)
	if err != nil {
		return nil, false, err
	}
	if n > db.PreviewLimit {
		sc, err = s.store.Frame(r.Context(), id)
		return sc, false, err
	}
	sc, err = s.store.Everything(r.Context(), id)
	return sc, true, err
}

func procedureFacts(p repair.Procedure, zone *time.Location) []settings.Fact {
	out := []settings.Fact{{Label: "Issued by", Value: p.Body}, {Label: "Edition", Value: p.Edition}, {Label: "How its values came", Value: p.Tag},
		{Label: "Entered", Value: p.TranscribedName + ", " + p.TranscribedAt.In(zone).Format(moment)}}
	if p.Checked() {
		out = append(out, settings.Fact{Label: "Compared with the text", Value: p.CheckedName + ", " + p.CheckedAt.In(zone).Format(moment) + ": " + p.CheckNote, Wide: true})
	}
	if p.ForceSince != nil {
		word := "Out of force since"
		if p.InForce {
			word = "In force since"
		}
		out = append(out, settings.Fact{Label: word, Value: p.ForceSince.In(zone).Format(moment) + ": " + p.ForceReason, Wide: true})
	}
	if p.Retired() {
		out = append(out, settings.Fact{Label: "Retired", Value: p.RetiredAt.In(zone).Format(moment) + ": " + p.RetiredReason, Wide: true})
	}
	if p.Note != "" {
		out = append(out, settings.Fact{Label: "Remark", Value: p.Note, Wide: true})
	}
	return out
}

func procedureValues(p, inForce resistance.Procedure, sys units.System) []settings.ProcedureValue {
	plain := func(v float64) string { return units.Numbers.Format(v, sys, -1) }
	factor := func(v float64) string {
		if v == 0 {
			v = 1
		}
		return plain(v)
	}
	length := func(v units.Length) string { return v.Format(sys, -1) }
	out := []settings.ProcedureValue{
		{Name: "Thickness that counts for crippling", Value: averagingWords(string(p.Averaging)), InForce: averagingWords(string(inForce.Averaging))},
		{Name: "Least height of the zone above the bearing", Value: length(p.ZoneHeight), InForce: length(inForce.ZoneHeight)},
		{Name: "Part of the web depth searched for the thinnest row", Value: plain(p.ZoneSearch), InForce: plain(inForce.ZoneSearch)},
		{Name: "Height of the lowest row, above the fillet", Value: length(p.LowestRow), InForce: length(inForce.LowestRow)},
		{Name: "Factor on yielding, no hole", Value: factor(p.Yielding.Sound), InForce: factor(inForce.Yielding.Sound)},
		{Name: "Factor on yielding, hole in the lowest row", Value: factor(p.Yielding.Holed), InForce: factor(inForce.Yielding.Holed)},
		{Name: "Factor on crippling, no hole", Value: factor(p.Crippling.Sound), InForce: factor(inForce.Crippling.Sound)},
		{Name: "Factor on crippling, hole in the lowest row", Value: factor(p.Crippling.Holed), InForce: factor(inForce.Crippling.Holed)},
		{Name: "Web out of plane that is pointed out, over the mean thickness", Value: plain(p.DeviationFlag), InForce: plain(inForce.DeviationFlag)},
		{Name: "Web out of plane that ends the validity, over the mean thickness", Value: plain(p.DeviationLimit), InForce: plain(inForce.DeviationLimit)},
		{Name: "Longest hole, over the bearing length", Value: plain(p.HoleLimit), InForce: plain(inForce.HoleLimit)},
		{Name: "Fewest readings in the zone", Value: fmt.Sprint(p.FewestReadings), InForce: fmt.Sprint(inForce.FewestReadings)},
	}
	for i := range out {
		out[i].Differs = out[i].Value != out[i].InForce
	}
	return out
}

// procedureBeside compares the corroded capacity of every surveyed end by the two
// procedures, the greatest difference first.
func procedureBeside(sc *repair.Scope, whole bool, head ProgramHead, id string, running bool, sys units.System) ([]settings.BesideEnd, string, error) {
	switch {
	case !whole:
		return nil, fmt.Sprintf("The program has more than %d ends: too many to compare on a page.", db.PreviewLimit), nil
	case running:
		return nil, "This procedure is in force: the capacities on every page are by it.", nil
	}
	type line struct {
		row   settings.BesideEnd
		apart float64
	}
	var lines []line
	short := 0
	for _, rec := range sc.Ends {
		if rec.LatestSurvey() == nil || len(rec.State) == 0 || rec.State[0].Capacity == nil {
			continue
		}
		ev, err := rec.EvaluateBeside(sc, id, nil)
		if err != nil {
			return nil, "", err
		}
		now := *rec.State[0].Capacity
		ratio := float64(ev.Capacity / now)
		if ev.Capacity < ev.Demand && now >= ev.Demand {
			short++
		}
		lines = append(lines, line{settings.BesideEnd{Href: head.Path("ends", rec.End.Name), Name: rec.End.Name, Demand: ev.Demand.Format(sys, -1), InForce: now.Format(sys, -1),
			This: ev.Capacity.Format(sys, -1), Ratio: ratioText(ratio), Verdict: verdictMark(ev.Verdict)}, max(ratio, 1/ratio)})
	}
	if len(lines) == 0 {
		return nil, "No end is surveyed yet.", nil
	}
	slices.SortStableFunc(lines, func(a, b line) int {
		if a.apart != b.apart {
			if a.apart > b.apart {
				return -1
			}
			return 1
		}
		return strings.Compare(a.row.Name, b.row.Name)
	})
	out := make([]settings.BesideEnd, len(lines))
	for i, l := range lines {
		out[i] = l.row
	}
	return out, count(len(lines), "end is", "ends are") + " surveyed; those that differ most come first. " + count(short, "end", "ends") + " that the procedure in force passes would fall short by this one.", nil
}

func tagOptions() []ui.Option {
	return []ui.Option{{Value: string(basis.Read), Label: "read in the text"}, {Value: string(basis.SecondHand), Label: "read where somebody restates the text"},
		{Value: string(basis.Memory), Label: "from memory"}, {Value: string(basis.Proposal), Label: "a proposal of this program's engineers"}, {Value: string(basis.Common), Label: "common practice, no source"}}
}
