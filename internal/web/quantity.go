package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// mostForms bounds the ends that one casting may serve.
const mostForms = 24

// amounts is a casting worked out: what its forms take and the sheet behind it.
type amounts struct {
	scope   *repair.Scope
	forms   []uhpc.Form
	formPad map[string]*calc.Pad // by end
	pad     *calc.Pad
	a       uhpc.Amounts
	window  *repair.Window
	plan    []uhpc.PlannedSet
	planFor string // who set the plan; empty: the default
	refused string // why there are no numbers
}

// quantityShow works out what a casting of the chosen ends takes.
func (s *Server) quantityShow(w http.ResponseWriter, r *http.Request) error {
	c, v, err := s.quantities(r)
	if err != nil {
		return err
	}
	p := s.page(r, "Quantities of a casting", ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Pours", Href: c.head.Path("pours")})
	return s.render(w, r, http.StatusOK, casting.QuantityPage(p, v))
}

// quantitySheet is the batch sheet on paper: the targets, and room for what is measured.
func (s *Server) quantitySheet(w http.ResponseWriter, r *http.Request) error {
	c, v, err := s.quantities(r)
	if err != nil {
		return err
	}
	p := s.page(r, "Batch sheet", ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Pours", Href: c.head.Path("pours")},
		ui.Crumb{Label: "Quantities", Href: v.Self})
	p.Block = &ui.TitleBlock{Cells: []ui.Cell{{Label: "Program", Value: c.head.Name, Wide: true}, {Label: "Ends", Value: strings.Join(v.Names, ", ")},
		{Label: "Worked out", Value: c.day(c.now)}, {Label: "Method", Value: string(calc.MethodVersion)}, {Label: "Release", Value: s.cfg.Release}}}
	return s.render(w, r, http.StatusOK, casting.BatchSheetPage(p, v))
}

// quantities reads the choice in the address and works it out.
func (s *Server) quantities(r *http.Request) (*castReader, casting.Quantity, error) {
	c, err := s.openCastings(r)
	if err != nil {
		return nil, casting.Quantity{}, err
	}
	q := r.URL.Query()
	names := q["end"]
	if also := strings.Fields(strings.ReplaceAll(q.Get("also"), ",", " ")); len(also) > 0 {
		names = append(slices.Clone(names), also...)
	}
	m, unknown, err := s.workOut(r, c, names, q.Get("window"))
	if err != nil {
		return nil, casting.Quantity{}, err
	}
	v := c.quantityView(m)
	v.Standings = c.standings(m.scope)
	if len(unknown) > 0 {
		v.Unknown = "There is no girder end " + strings.Join(unknown, ", ") + " in this program."
	}
	if v.Choices, err = s.quantityChoices(r, c, m); err != nil {
		return nil, v, err
	}
	v.Windows = c.windowOptions(q.Get("window"))
	link := func(parts ...string) string {
		to := c.head.Path(append([]string{"pours"}, parts...)...) + "?"
		for i, rec := range m.scope.Ends {
			if i > 0 {
				to += "&"
			}
			to += "end=" + rec.End.Name
		}
		if m.window != nil {
			to += "&window=" + m.window.ID
		}
		return to
	}
	v.Action, v.Self, v.Sheet = c.head.Path("pours", "quantities"), link("quantities"), link("quantities", "sheet")
	if s.can(r, authz.RecordPour) {
		v.Open = link("open")
	}
	return c, v, nil
}

// workOut loads the ends and evaluates their casting. What cannot be worked out is
// said in words; the page is shown all the same.
func (s *Server) workOut(r *http.Request, c *castReader, names []string, window string) (amounts, []string, error) {
	m := amounts{scope: c.frame, formPad: map[string]*calc.Pad{}, pad: calc.NewPad()}
	var ids, unknown []string
	for _, name := range names {
		name = strings.ToUpper(strings.TrimSpace(name))
		if name == "" || len(ids) >= mostForms {
			continue
		}
		one, err := s.store.End(r.Context(), c.head.ID.String(), name)
		if fault.KindOf(err) == fault.NotFound {
			unknown = append(unknown, name)
			continue
		}
		if err != nil {
			return m, nil, err
		}
		if id := one.Ends[0].End.ID; !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	if len(ids) > 0 {
		var err error
		if m.scope, err = s.store.Ends(r.Context(), c.head.ID.String(), ids); err != nil {
			return m, nil, err
		}
		slices.SortFunc(m.scope.Ends, func(a, b *repair.Record) int { return compareNames(a.End.Name, b.End.Name) })
	}
	for i, w := range c.frame.Windows {
		if w.ID == window {
			m.window = &c.frame.Windows[i]
		}
	}
	m.evaluate(c)
	return m, unknown, nil
}

// evaluate works the casting out.
func (m *amounts) evaluate(c *castReader) {
	m.plan, m.planFor = c.frame.SpecimensToMake()
	if len(m.scope.Ends) == 0 {
		return
	}
	for _, rec := range m.scope.Ends {
		pad := calc.NewPad()
		f, err := rec.CastingForm(pad, m.scope)
		if err != nil {
			m.refused = ui.Sentence(fieldReasons(err))
			return
		}
		m.forms, m.formPad[rec.End.Name] = append(m.forms, f), pad
	}
	var end time.Time
	if m.window != nil {
		end = m.window.EndsAt
	}
	a, pad, err := repair.WorkOut(m.forms, m.plan, end, c.basis)
	m.pad = pad
	if err != nil {
		m.refused = ui.Sentence(fieldReasons(err))
		return
	}
	m.a = a
}

// quantityChoices offers the ends that are ready or nearly ready to be cast.
func (s *Server) quantityChoices(r *http.Request, c *castReader, m amounts) ([]casting.EndChoice, error) {
	on := map[string]bool{}
	for _, rec := range m.scope.Ends {
		on[rec.End.ID] = true
	}
	var out []casting.EndChoice
	add := func(st repair.State) {
		out = append(out, casting.EndChoice{ID: st.Name, Name: st.Name, Reading: st.SupportCode + ", " + st.SectionName, Step: stepOrClosed(st), On: on[st.EndID], Release: c.choiceMark(st), ReleaseHref: c.head.Path("ends", st.Name, "release")})
		on[st.EndID] = false
	}
	for _, code := range stepsToCasting(c.frame, 3) {
		list, err := s.store.ListEnds(r.Context(), c.head.ID.String(), db.ListFilter{Step: code, Open: true}, "", 1, mostChoices)
		if err != nil {
			return nil, err
		}
		for _, st := range list.Rows {
			add(st)
		}
	}
	for _, rec := range m.scope.Ends {
		if on[rec.End.ID] && len(rec.State) > 0 {
			add(rec.State[0])
			out[len(out)-1].On = true
		}
	}
	return out, nil
}

// stepsToCasting are the codes of the step that a pour completes and of some before
// it, the nearest first.
func stepsToCasting(frame *repair.Scope, before int) []string {
	var order []string
	for _, st := range frame.Sequence() {
		if st.Retired {
			continue
		}
		order = append(order, st.Code)
		if slices.ContainsFunc(st.Requires, func(q sequence.Requirement) bool { return q.Condition == sequence.PourRecorded }) {
			slices.Reverse(order)
			return order[:min(len(order), before+1)]
		}
	}
	return nil
}

// windowOptions are the windows to come that may be chosen.
func (c *castReader) windowOptions(chosen string) ui.Field {
	f := ui.Field{Name: "window", Label: "Access window", Optional: true, Value: chosen, Options: []ui.Option{{Value: "", Label: "none chosen"}}}
	for _, w := range oldestFirst(c.frame.Windows) {
		if w.State == "lost" || w.EndsAt.Before(c.now.Add(-12*time.Hour)) && w.ID != chosen {
			continue
		}
		if len(f.Options) > mostChoices {
			break
		}
		f.Options = append(f.Options, ui.Option{Value: w.ID, Label: c.windowWords(w)})
	}
	return f
}

func oldestFirst(list []repair.Window) []repair.Window {
	out := slices.Clone(list)
	slices.SortFunc(out, func(a, b repair.Window) int { return a.StartsAt.Compare(b.StartsAt) })
	return out
}

// windowWords names a window by its kind and times.
func (c *castReader) windowWords(w repair.Window) string {
	return fmt.Sprintf("%s, %s to %s, %s", sentenceCase(plainWord(w.Kind)), c.day(w.StartsAt), c.clock(w.EndsAt, w.StartsAt), w.State)
}

// setting is a value of the design basis with whose it is.
func (c *castReader) setting(key basis.Key) casting.Setting {
	d, _ := basis.Lookup(key)
	k, _ := units.KindNamed(string(d.Unit))
	out := casting.Setting{Name: sentenceCase(d.Name), Value: k.Format(c.basis.Value(key), c.sys, -1), Href: c.head.Path("basis", string(key)),
		Mark: ui.Mark{State: ui.Caution, Text: "default"}, From: clauseText(calc.Clause{Document: d.Source, Tag: d.Tag})}
	for _, x := range c.frame.Settings {
		if x.Key == string(key) {
			out.Mark, out.From = ui.Mark{State: ui.Good, Text: "set"}, x.Source
		}
	}
	return out
}
