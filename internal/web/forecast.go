package web

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/forecast"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/planning"
	"endcast/views/settings"
	"endcast/views/ui"
)

// forecastShow says when the program will be done.
func (s *Server) forecastShow(w http.ResponseWriter, r *http.Request) error {
	return s.forecastPage(w, r, http.StatusOK, settings.Form{}, nil)
}

// forecastSeed makes the same record give the same dates to everyone.
const forecastSeed = 20270308

// foretold is the record that a forecast stands on.
type foretold struct {
	frame   *repair.Scope
	shifts  repair.Shifts
	yields  []repair.WindowYield
	outside map[string]int
	ends    map[string]int
	today   time.Time
	zone    *time.Location
	input   forecast.Input
}

func (s *Server) foretell(r *http.Request) (*foretold, error) {
	ctx, id := r.Context(), s.program(r).ID.String()
	frame, err := s.store.Frame(ctx, id)
	if err != nil {
		return nil, err
	}
	shifts, err := s.store.Shifts(ctx, id)
	if err != nil {
		return nil, err
	}
	marks, err := s.store.Marks(ctx, id)
	if err != nil {
		return nil, err
	}
	now := s.store.Today(frame.Program)
	return foretellFrom(frame, shifts, repair.ReadBoard(marks, frame.Steps, frame.Supports, frame.Program.Day(now)), now), nil
}

// foretellFrom stands a forecast on the counts of a program, so that it costs the same
// with many ends and tells every page the same.
func foretellFrom(frame *repair.Scope, shifts repair.Shifts, b repair.Board, now time.Time) *foretold {
	f := &foretold{frame: frame, shifts: shifts, ends: b.ToGoEnds, zone: zoneOf(frame.Program)}
	f.yields, f.outside = b.WindowYields(frame.Windows)
	f.today = now.In(f.zone)
	f.input = frame.ForecastInput(f.today, shifts, f.yields, b.ToGo, forecastSeed)
	return f
}

func (s *Server) forecastPage(w http.ResponseWriter, r *http.Request, status int, form settings.Form, typed map[string]string) error {
	f, err := s.foretell(r)
	if err != nil {
		return err
	}
	head := s.program(r)
	base, err := forecast.Run(f.input)
	if err != nil {
		return err
	}
	ifs, fields, bad := whatIfs(r, f.input.Kinds)
	asked := base
	if len(ifs) > 0 && bad.Err() == nil {
		in := f.input
		in.Ifs = ifs
		if asked, err = forecast.Run(in); err != nil {
			return err
		}
	}
	if bad.Err() != nil {
		status, form.Bad = http.StatusUnprocessableEntity, bad
	}
	form.Action = head.Path("forecast")
	v := planning.Forecast{Action: head.Path("forecast"), Form: form, Ifs: fields, Assumptions: forecast.Assumptions(), May: s.can(r, authz.ForecastSample), Basis: head.Path("basis") + "#planning",
		Method: fmt.Sprintf("%d runs, each drawing past windows again with replacement; the same record gives the same dates. The sequence and the settings of planning give the tail of %s from the last step to a closed end.",
			base.Runs, units.Significant(f.frame.ForecastTail().Hours()/24, 3)+" days")}
	f.verdict(base, &v)
	asks := len(ifs) > 0 && bad.Err() == nil
	f.dates(base, asked, asks, &v)
	for i, k := range base.Kinds {
		v.Kinds = append(v.Kinds, f.kind(head, k, i))
	}
	if n := sum(f.outside); n > 0 {
		v.Outside = count(n, "step was finished outside every window and is", "steps were finished outside every window and are") + " not in it."
	}
	if v.May {
		v.Window = ui.Field{Name: "window", Label: "Past window", Options: f.pastOptions(), Value: typed["window"]}
		v.Reason = ui.Field{Name: "reason", Label: "Reason", Optional: true, Value: typed["reason"]}
	}
	return s.render(w, r, status, planning.ForecastPage(s.page(r, "Forecast of the finish", ui.Crumb{Label: "Bridge", Href: head.Path()}), v))
}

func sum(m map[string]int) int {
	n := 0
	for _, x := range m {
		n += x
	}
	return n
}

func (f *foretold) day(t time.Time) string {
	if t.IsZero() {
		return "–"
	}
	return t.In(f.zone).Format(time.DateOnly)
}

func (f *foretold) verdict(base forecast.Result, v *planning.Forecast) {
	due := f.input.Due
	left := 0
	for _, k := range base.Kinds {
		left += k.Remaining
	}
	v.Lead = fmt.Sprintf("%s are left to be worked in windows.", count(left, "step", "steps"))
	switch {
	case base.Endless != "":
		v.Mark = ui.Mark{State: ui.Stop, Text: "no date"}
		for _, k := range base.Kinds {
			if k.Endless != "" {
				v.Verdict = sentenceCase(k.Name) + ": " + k.Endless + "."
				return
			}
		}
	case due.IsZero():
		v.Mark, v.Verdict = ui.Mark{State: ui.Wait, Text: "no contract date"}, "The program has no date of completion to compare with."
	default:
		pct := chancePercent(base.Chance)
		v.Verdict = fmt.Sprintf("Done on or before the contract date %s in %s of 100 runs.", f.day(f.frame.Program.CompletionDue.UTC()), pct)
		v.Mark = ui.Mark{State: chanceState(base.Chance), Text: chanceWords[chanceState(base.Chance)]}
	}
}

// chanceWords say a chance of the contract date by its mark.
var chanceWords = map[ui.State]string{ui.Good: "likely in time", ui.Caution: "in doubt", ui.Stop: "likely late"}

// chancePercent never says 0 or 100 of what is only likely.
func chancePercent(c float64) string {
	switch p := math.Round(100 * c); {
	case c > 0 && p < 1:
		return "less than 1"
	case c < 1 && p > 99:
		return "more than 99"
	default:
		return strconv.Itoa(int(p))
	}
}

func (f *foretold) dates(base, asked forecast.Result, asks bool, v *planning.Forecast) {
	line := func(label, plain, then string) {
		if !asks {
			then = "–"
		}
		v.Dates = append(v.Dates, planning.FinishDate{Label: label, Plain: plain, If: then})
	}
	line("50 of 100 runs by", f.day(base.P50), f.day(asked.P50))
	line("85 of 100 runs by", f.day(base.P85), f.day(asked.P85))
	line("95 of 100 runs by", f.day(base.P95), f.day(asked.P95))
	if !f.input.Due.IsZero() && base.Endless == "" {
		line("Runs done by the contract date, of 100", chancePercent(base.Chance), chancePercent(asked.Chance))
	}
	most, by := 0, 0
	for _, m := range asked.Months {
		most = max(most, m.Runs)
	}
	for _, m := range asked.Months {
		by += m.Runs
		row := planning.FinishMonth{Name: m.First.Format("2006-01"), Share: units.Significant(100*float64(m.Runs)/float64(asked.Runs), 2), Bar: 100 * m.Runs / max(most, 1),
			By: units.Significant(100*float64(by)/float64(asked.Runs), 3)}
		if due := f.frame.Program.CompletionDue; due != nil && due.Year() == m.First.Year() && due.Month() == m.First.Month() {
			row.Due = "contract date " + due.Format(time.DateOnly)
		}
		v.Months = append(v.Months, row)
	}
}

func (f *foretold) kind(head ProgramHead, k forecast.KindResult, i int) planning.ForecastKind {
	out := planning.ForecastKind{Name: sentenceCase(k.Name), Anchor: "kind-" + strconv.Itoa(i+1), Left: strconv.Itoa(k.Remaining), Windows: strconv.Itoa(len(k.Sample)), Lost: strconv.Itoa(k.Lost), Ends: strconv.Itoa(f.ends[k.Name]),
		Mean: units.Significant(k.Mean, 3), Every: "–", Naive: f.day(k.Naive), P50: f.day(k.P50), P85: f.day(k.P85), Latest: units.Significant(100*k.Latest, 2),
		EndsHref: head.Path("ends") + "?show=open", Said: k.Caution()}
	out.Href = "#" + out.Anchor
	if k.Every > 0 {
		out.Every = units.Significant(k.Every.Hours()/24, 2)
	}
	if k.Endless != "" {
		out.Said = ui.Sentence(k.Endless)
	}
	var texts []string
	for _, n := range k.Sample {
		texts = append(texts, strconv.Itoa(n))
	}
	out.Sample = strings.Join(texts, " ")
	left := map[string]string{}
	for _, x := range f.shifts.Exclusions {
		left[x.WindowID] = x.Reason + " (" + x.ByName + ", " + f.day(x.At) + ")"
	}
	for _, w := range f.past(k.Name) {
		row := planning.PastWindow{Starts: w.StartsAt.In(f.zone).Format(moment), Href: head.Path("windows", w.ID), Steps: strconv.Itoa(w.Steps), State: windowMark(w.Window), Out: left[w.ID]}
		if w.Reason != "" {
			row.Why = w.Party + ": " + w.Reason
		}
		out.Past = append(out.Past, row)
	}
	return out
}

// past are the windows of a kind that are behind, the latest first.
func (f *foretold) past(kind string) []repair.WindowYield {
	var out []repair.WindowYield
	for _, w := range f.yields {
		if w.Kind == kind && w.StartsAt.Before(f.today) {
			out = append(out, w)
		}
	}
	slices.SortFunc(out, func(a, b repair.WindowYield) int { return b.StartsAt.Compare(a.StartsAt) })
	return out
}

func (f *foretold) pastOptions() []ui.Option {
	out := []ui.Option{{Value: "", Label: "Choose"}}
	for _, k := range f.input.Kinds {
		for _, w := range f.past(k.Name) {
			out = append(out, ui.Option{Value: w.ID, Label: fmt.Sprintf("%s, %s, %s", sentenceCase(k.Name), w.StartsAt.In(f.zone).Format(moment), count(w.Steps, "step", "steps"))})
		}
	}
	return out
}

// whatIfs reads the question from the address, with its fields as they were typed.
func whatIfs(r *http.Request, kinds []forecast.Kind) ([]forecast.WhatIf, []planning.WhatIf, *fault.Invalid) {
	var ifs []forecast.WhatIf
	var fields []planning.WhatIf
	bad := &fault.Invalid{}
	q := r.URL.Query()
	for i, k := range kinds {
		read := func(name, label string) (float64, ui.Field) {
			name += strconv.Itoa(i + 1)
			fl := ui.Field{Name: name, Label: label, InputMode: "decimal", Value: strings.TrimSpace(q.Get(name)), Optional: true, Short: true}
			if fl.Value == "" {
				return 1, fl
			}
			x, err := strconv.ParseFloat(fl.Value, 64)
			if err != nil || !(x >= 0.1 && x <= 10) {
				bad.Add(name, fl.Value, "must be a number from 0.1 to 10, got %s", fl.Value)
				return 1, fl.With(bad)
			}
			return x, fl
		}
		windows, wf := read("windows", "Windows, times as many")
		yield, yf := read("yield", "Steps in each, times as many")
		fields = append(fields, planning.WhatIf{Kind: sentenceCase(k.Name), Windows: wf, Yield: yf})
		if windows != 1 || yield != 1 {
			ifs = append(ifs, forecast.WhatIf{Kind: k.Name, Windows: windows, Yield: yield})
		}
	}
	return ifs, fields, bad
}

// forecastLeaveOut leaves a past window out of the sample, or takes it back in.
func (s *Server) forecastLeaveOut(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	typed := typedIn(r, "window", "reason")
	var err error
	if typed["window"] == "" {
		bad := &fault.Invalid{}
		bad.Add("window", "", "choose the window")
		err = bad
	} else {
		_, err = s.editAlone(r, repair.LeaveOutWindow{WindowID: typed["window"], Reason: typed["reason"]})
	}
	if form, status, ok := refused(r, err); ok {
		typedBack(form.Bad, typed)
		return s.forecastPage(w, r, status, form, typed)
	}
	if err != nil {
		return err
	}
	if typed["reason"] == "" {
		s.flash(r, ui.Done, "The window is in the sample again.")
	} else {
		s.flash(r, ui.Done, "The window is left out of the sample; the reason is on record.")
	}
	return seeOther(w, r, s.program(r).Path("forecast"))
}

// editAlone makes a change that concerns no end.
func (s *Server) editAlone(r *http.Request, change repair.Change) (db.Receipt, error) {
	id, err := entry(r)
	if err != nil {
		return db.Receipt{}, err
	}
	return s.store.Edit(r.Context(), db.Entry{ID: id.String(), ProgramID: s.program(r).ID.String(), Actor: s.actor(r), Change: change})
}
