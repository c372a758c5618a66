package web

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/settings"
	"endcast/views/ui"
)

const moment = "2006-01-02 15:04"

// windowList shows the access windows of a program by kind.
func (s *Server) windowList(w http.ResponseWriter, r *http.Request) error {
	return s.windowsPage(w, r, http.StatusOK, settings.Form{}, nil)
}

func (s *Server) windowsPage(w http.ResponseWriter, r *http.Request, status int, form settings.Form, typed map[string]string) error {
	head := s.program(r)
	frame, err := s.store.Frame(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	uses, err := s.store.AccessUses(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	zone := zoneOf(frame.Program)
	v := settings.WindowsView{Zone: "Times are of " + zone.String() + ".", Kinds: windowKinds(head, frame, uses, zone)}
	if s.can(r, authz.PlanWindow) {
		form.Action = head.Path("windows")
		v.Plan = &settings.WindowPlan{Typed: typed, Form: form}
		for _, k := range v.Kinds {
			v.Plan.Kinds = append(v.Plan.Kinds, k.Kind)
		}
	}
	if v.Log, err = s.settingsLog(r, zone, "window.set", "window.set_many"); err != nil {
		return err
	}
	return s.render(w, r, status, settings.Windows(s.page(r, "Access windows"), v))
}

// windowKinds groups windows by kind of access: those that ends have or steps
// name, and those of windows on record.
func windowKinds(head ProgramHead, frame *repair.Scope, uses []db.AccessUse, zone *time.Location) []settings.WindowKind {
	need := map[string]string{}
	for _, u := range uses {
		if u.Kind != repair.OpenAccess {
			need[u.Kind] = count(u.Ends, "open end needs it", "open ends need it") + ", " + count(u.Waiting, "waits", "wait") + " for a window."
		}
	}
	for _, st := range frame.Sequence() {
		if k := st.Window; k != "" && k != "own" && !st.Retired && need[k] == "" {
			need[k] = "Step " + st.Name + " is worked in it."
		}
	}
	for _, w := range frame.Windows {
		if _, ok := need[w.Kind]; !ok {
			need[w.Kind] = "No open end needs it."
		}
	}
	names := make([]string, 0, len(need))
	for k := range need {
		names = append(names, k)
	}
	slices.Sort(names)
	windows := slices.Clone(frame.Windows)
	slices.SortFunc(windows, func(a, b repair.Window) int { return cmp.Or(a.StartsAt.Compare(b.StartsAt), cmp.Compare(a.ID, b.ID)) })
	out := make([]settings.WindowKind, len(names))
	for i, name := range names {
		k := settings.WindowKind{Name: sentenceCase(name), Kind: name, Anchor: "kind-" + strconv.Itoa(i+1), Need: need[name]}
		for _, w := range windows {
			if w.Kind != name {
				continue
			}
			row := windowRow(head, w, zone)
			if w.State == repair.WindowUsed || w.State == repair.WindowLost {
				k.Behind = append([]settings.WindowRow{row}, k.Behind...)
			} else {
				k.Ahead = append(k.Ahead, row)
			}
		}
		out[i] = k
	}
	return out
}

func windowRow(head ProgramHead, w repair.Window, zone *time.Location) settings.WindowRow {
	return settings.WindowRow{Href: head.Path("windows", w.ID), Starts: w.StartsAt.In(zone).Format(moment), Ends: w.EndsAt.In(zone).Format(moment),
		Hours: units.Significant(w.Hours(), 3), Productive: units.Significant(w.ProductiveH, 3), Party: w.Party, Reason: w.Reason, State: windowMark(w)}
}

func windowMark(w repair.Window) ui.Mark {
	m := ui.Mark{State: ui.Wait, Text: w.State}
	switch w.State {
	case repair.WindowGranted:
		m.State = ui.Active
	case repair.WindowShortened:
		m.State = ui.Caution
	case repair.WindowLost:
		m.State = ui.Stop
	case repair.WindowUsed:
		m.State = ui.Good
	}
	return m
}

var windowFields = []string{"kind", "starts_at", "ends_at", "productive_h", "party", "reason"}

// windowTyped reads the times of a window into w, notes what cannot be read, and
// takes the whole length as fit for work where nothing is typed.
func windowTyped(w *repair.Window, typed map[string]string, zone *time.Location, bad *fault.Invalid) {
	at := func(field string) time.Time {
		if typed[field] == "" {
			bad.Add(field, "", "a date and a time are needed")
			return time.Time{}
		}
		t, err := momentTyped(field, typed[field], zone)
		if more := invalidOf(err); more != nil {
			bad.Fields = append(bad.Fields, more.Fields...)
		}
		return t
	}
	w.StartsAt, w.EndsAt = at("starts_at"), at("ends_at")
	w.ProductiveH = max(w.Hours(), 0)
	if text := typed["productive_h"]; text != "" {
		h, err := units.Hours.Parse(text, units.US)
		if err != nil {
			bad.Add("productive_h", text, "%s", err.Error())
		}
		w.ProductiveH = h
	}
}

// typedBack puts what was typed beside each reason that a rule gave.
func typedBack(bad *fault.Invalid, typed map[string]string) {
	if bad == nil {
		return
	}
	for i, f := range bad.Fields {
		if t, ok := typed[f.Field]; ok {
			bad.Fields[i].Typed = t
		}
	}
}

// windowPlan plans a window.
func (s *Server) windowPlan(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	p, err := s.store.Program(r.Context(), s.program(r).ID.String())
	if err != nil {
		return err
	}
	typed := typedIn(r, windowFields...)
	win := repair.Window{Kind: typed["kind"], State: repair.WindowPlanned}
	var bad fault.Invalid
	windowTyped(&win, typed, zoneOf(p), &bad)
	if err = bad.Err(); err == nil {
		_, err = s.editSettings(r, time.Time{}, repair.SetWindow{Window: win})
	}
	if form, status, ok := refused(r, err); ok {
		typedBack(form.Bad, typed)
		return s.windowsPage(w, r, status, form, typed)
	}
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, "The window is planned. Ends wait until it is granted.")
	return seeOther(w, r, s.program(r).Path("windows"))
}

// openWindow finds the window of the address.
func (s *Server) openWindow(r *http.Request) (*repair.Scope, repair.Window, error) {
	frame, err := s.store.Frame(r.Context(), s.program(r).ID.String())
	if err != nil {
		return nil, repair.Window{}, err
	}
	for _, w := range frame.Windows {
		if w.ID == chi.URLParam(r, "window") {
			return frame, w, nil
		}
	}
	return nil, repair.Window{}, fault.New(fault.NotFound, "this program has no such window")
}

// windowShow is the page of one window.
func (s *Server) windowShow(w http.ResponseWriter, r *http.Request) error {
	frame, win, err := s.openWindow(r)
	if err != nil {
		return err
	}
	return s.windowPage(w, r, http.StatusOK, frame, win, settings.Form{}, typedWindow(win, zoneOf(frame.Program)))
}

func typedWindow(w repair.Window, zone *time.Location) map[string]string {
	const local = "2006-01-02T15:04"
	return map[string]string{"starts_at": w.StartsAt.In(zone).Format(local), "ends_at": w.EndsAt.In(zone).Format(local),
		"productive_h": units.Hours.Exact(w.ProductiveH, units.US), "party": w.Party, "reason": w.Reason}
}

func (s *Server) windowPage(w http.ResponseWriter, r *http.Request, status int, frame *repair.Scope, win repair.Window, form settings.Form, typed map[string]string) error {
	head := s.program(r)
	zone := zoneOf(frame.Program)
	row := windowRow(head, win, zone)
	form.Action = head.Path("windows", win.ID)
	if form.From == "" {
		form.From = win.Digest()
	}
	v := settings.WindowView{Title: sentenceCase(win.Kind) + ", " + row.Starts, State: row.State, Zone: "Times are of " + zone.String() + ".", Night: head.Path("windows", win.ID, "night"),
		May: s.can(r, authz.PlanWindow), Acts: s.windowActs(r, win), Typed: typed, Form: form,
		Facts: []settings.Fact{{Label: "Kind of access", Value: win.Kind}, {Label: "From", Value: row.Starts}, {Label: "To", Value: row.Ends},
			{Label: "Length", Value: row.Hours + " h"}, {Label: "Fit for work", Value: row.Productive + " h"}}}
	if win.Party != "" || win.Reason != "" {
		v.Facts = append(v.Facts, settings.Fact{Label: "Party", Value: orDash(win.Party)}, settings.Fact{Label: "Reason", Value: orDash(win.Reason)})
	}
	return s.render(w, r, status, settings.Window(s.page(r, v.Title, ui.Crumb{Label: "Access windows", Href: head.Path("windows")}), v))
}

// windowActs lists what this reader may do to a window as it stands, the likeliest
// first.
func (s *Server) windowActs(r *http.Request, w repair.Window) []settings.WindowAct {
	var out []settings.WindowAct
	add := func(value, label, kind string) {
		out = append(out, settings.WindowAct{Value: value, Label: label, Kind: kind})
	}
	grant := s.can(r, authz.GrantWindow)
	switch w.State {
	case repair.WindowPlanned:
		if grant {
			add(repair.WindowGranted, "Grant", "")
		}
		add(repair.WindowPlanned, "Save, still planned", "second")
		add(repair.WindowLost, "Lost", "danger")
	case repair.WindowGranted, repair.WindowShortened:
		add(repair.WindowUsed, "Used", "")
		add(repair.WindowShortened, "Shortened", "second")
		add(repair.WindowLost, "Lost", "danger")
	default:
		if grant {
			add(repair.WindowGranted, "Grant after all", "second")
		}
	}
	return out
}

// windowSubmit records what became of a window.
func (s *Server) windowSubmit(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	frame, win, err := s.openWindow(r)
	if err != nil {
		return err
	}
	do := r.PostFormValue("do")
	if do == repair.WindowGranted && !s.can(r, authz.GrantWindow) {
		return fault.New(fault.Forbidden, "a window is granted by the owner's engineer or an administrator")
	}
	zone := zoneOf(frame.Program)
	typed := typedIn(r, windowFields...)
	next := win
	next.State, next.Party, next.Reason = do, typed["party"], typed["reason"]
	var bad fault.Invalid
	windowTyped(&next, typed, zone, &bad)
	if err = bad.Err(); err == nil {
		_, err = s.editSettings(r, time.Time{}, repair.SetWindow{Window: next, From: r.PostFormValue("from")})
	}
	if fault.KindOf(err) == fault.Conflict {
		form := settings.Form{Clash: windowClash(win, typed, zone)}
		return s.windowPage(w, r, http.StatusConflict, frame, win, form, typed)
	}
	if form, status, ok := refused(r, err); ok {
		form.From = r.PostFormValue("from")
		typedBack(form.Bad, typed)
		return s.windowPage(w, r, status, frame, win, form, typed)
	}
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, fmt.Sprintf("The window of %s is %s.", next.StartsAt.In(zone).Format(moment), do))
	return seeOther(w, r, s.program(r).Path("windows"))
}

func windowClash(now repair.Window, typed map[string]string, zone *time.Location) *settings.Clash {
	c := &settings.Clash{Text: "Nothing of yours was stored yet: the window is " + now.State + " now. The form holds what you typed; send it again if it still holds."}
	stored := typedWindow(now, zone)
	for _, f := range []struct{ field, label string }{{"starts_at", "From"}, {"ends_at", "To"}, {"productive_h", "Fit for work, h"}, {"party", "Party"}, {"reason", "Reason"}} {
		if stored[f.field] != typed[f.field] {
			c.Rows = append(c.Rows, settings.Beside{Label: f.label, Yours: orDash(strings.ReplaceAll(typed[f.field], "T", " ")), Stored: orDash(strings.ReplaceAll(stored[f.field], "T", " "))})
		}
	}
	return c
}
