package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"sort"
	"strconv"
	"strings"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/views/settings"
	"endcast/views/ui"
)

// A draftStep is one step of the sequence as a form holds it: what was typed, and
// not yet read.
type draftStep struct {
	id, key     string // a step that is new has a key but no id
	code, name  string
	place       string
	performers  []string
	releasers   []string
	hold, all   bool
	window      string
	asks        []draftAsk
	opened      bool
	typedAtRank int // where it stood on the form, counted from 1
}

type draftAsk struct {
	condition, strength, count, age, text string
}

// asksPerStep bounds the requirements that are read of one step of a form.
const asksPerStep = 40

// draftOf is the form of a stored step.
func draftOf(st sequence.Step, sys units.System) draftStep {
	d := draftStep{id: st.ID, key: st.ID, code: st.Code, name: st.Name, hold: st.Hold, all: st.AppliesToAll, window: st.Window}
	for _, r := range st.Performer {
		d.performers = append(d.performers, string(r))
	}
	for _, r := range st.Releaser {
		d.releasers = append(d.releasers, string(r))
	}
	for _, q := range st.Requires {
		a := draftAsk{condition: string(q.Condition), text: q.Text}
		switch q.Condition {
		case sequence.StrengthReached:
			a.strength = units.Stresses.Exact(q.Value, sys)
		case sequence.Photo:
			a.count = units.Numbers.Exact(q.Value, sys)
		}
		if q.AgeDays != 0 {
			a.age = units.Days.Exact(q.AgeDays, sys)
		}
		d.asks = append(d.asks, a)
	}
	return d
}

// readDraft reads the steps of a form, in the order of the places typed.
func readDraft(form url.Values) ([]draftStep, error) {
	n, err := strconv.Atoi(form.Get("n"))
	if err != nil || n < 0 || n > sequence.MaxSteps+1 {
		return nil, fault.New(fault.Malformed, "the form does not say how many steps it holds, or more than %d: load the page again", sequence.MaxSteps)
	}
	out := make([]draftStep, n)
	for i := range out {
		name := "s" + strconv.Itoa(i)
		get := func(field string) string { return strings.TrimSpace(form.Get(name + "." + field)) }
		d := draftStep{id: get("id"), code: get("code"), name: get("name"), place: get("order"), performers: form[name+".performer"], releasers: form[name+".releaser"],
			hold: get("hold") == "on", all: get("scope") != "chosen", window: get("window"), typedAtRank: i + 1}
		d.key = d.id
		if d.id == "" {
			d.key = get("key")
		}
		for k := range asksPerStep {
			q := fmt.Sprintf("%s.q%d", name, k)
			if _, ok := form[q+".condition"]; !ok {
				break
			}
			a := draftAsk{condition: form.Get(q + ".condition"), strength: strings.TrimSpace(form.Get(q + ".strength")), count: strings.TrimSpace(form.Get(q + ".count")),
				age: strings.TrimSpace(form.Get(q + ".age")), text: strings.TrimSpace(strings.ReplaceAll(form.Get(q+".text"), "\r\n", "\n"))}
			if a.condition != "" {
				d.asks = append(d.asks, a)
			}
		}
		out[i] = d
	}
	byPlace(out)
	return out, nil
}

// byPlace orders the steps by the places typed. Where two claim one place, the one
// that was moved there wins it; what cannot be read stays where it stood.
func byPlace(steps []draftStep) {
	type claim struct {
		place int
		rank  int // -1 moved up to it, 0 was there, 1 moved down to it
	}
	claims := make(map[string]claim, len(steps))
	for _, d := range steps {
		c := claim{place: d.typedAtRank}
		if p, err := strconv.Atoi(d.place); err == nil && p != d.typedAtRank {
			c = claim{p, -1}
			if p > d.typedAtRank {
				c.rank = 1
			}
		}
		claims[d.key] = c
	}
	sort.SliceStable(steps, func(i, j int) bool {
		a, b := claims[steps[i].key], claims[steps[j].key]
		if a.place != b.place {
			return a.place < b.place
		}
		return a.rank < b.rank
	})
}

// stepsTyped reads the drafts as steps of the sequence and notes at which field
// something cannot be read. stored is the sequence on record: a number that reads
// as there is the number there to the last bit.
func stepsTyped(drafts []draftStep, stored []sequence.Step, sys units.System, bad *fault.Invalid) []sequence.Step {
	known := map[string]sequence.Step{}
	for _, st := range stored {
		known[st.ID] = st
	}
	out := make([]sequence.Step, len(drafts))
	for i, d := range drafts {
		old := known[d.id]
		st := sequence.Step{ID: d.id, Code: d.code, Name: d.name, Order: i + 1, Hold: d.hold, AppliesToAll: d.all, Window: d.window, Performer: rolesTyped(d.performers, old.Performer)}
		if d.hold {
			st.Releaser = rolesTyped(d.releasers, old.Releaser)
		}
		for k, a := range d.asks {
			q := a.read(fmt.Sprintf("s%d.q%d", i, k), sys, bad)
			for _, was := range old.Requires {
				if was.Condition == q.Condition && units.Stresses.Exact(was.Value, sys) == units.Stresses.Exact(q.Value, sys) {
					q.Value = was.Value
				}
			}
			st.Requires = append(st.Requires, q)
		}
		out[i] = st
	}
	return out
}

// rolesTyped reads ticked roles, those of before in their order of before: the
// first is the one whom an end waits for.
func rolesTyped(words []string, before []sequence.Role) []sequence.Role {
	var out []sequence.Role
	for _, r := range append(slices.Clone(before), authz.Roles()...) {
		if slices.Contains(words, string(r)) && !slices.Contains(out, r) {
			out = append(out, r)
		}
	}
	return out
}

func (a draftAsk) read(name string, sys units.System, bad *fault.Invalid) sequence.Requirement {
	q := sequence.Requirement{Condition: sequence.Condition(a.condition)}
	info, _ := q.Condition.Info()
	number := func(field, text string, k units.Kind) float64 {
		v, err := k.Parse(text, sys)
		if err != nil {
			bad.Add(name+"."+field, text, "%s", err.Error())
		}
		return v
	}
	switch q.Condition {
	case sequence.StrengthReached:
		q.Value = number("strength", a.strength, units.Stresses)
	case sequence.Photo:
		q.Value = number("count", a.count, units.Numbers)
	}
	if info.UsesAge && a.age != "" {
		q.AgeDays = number("age", a.age, units.Days)
	}
	if info.UsesText {
		q.Text = a.text
	}
	return q
}

// sequenceForm shows the drafts as a form. opened is the key of the step to show
// unfolded.
func (s *Server) sequenceForm(w http.ResponseWriter, r *http.Request, status int, frame *repair.Scope, drafts []draftStep, v settings.SequenceForm) error {
	head := s.program(r)
	sys := s.units(r)
	v.Action, v.StressUnit = head.Path("sequence", "edit"), units.Stresses.Label(sys)
	if v.From == "" {
		v.From = frame.SequenceDigest()
	}
	v.Conditions = []ui.Option{{Label: "nothing"}}
	for _, c := range sequence.Conditions() {
		v.Conditions = append(v.Conditions, ui.Option{Value: string(c.Condition), Label: c.Name})
	}
	v.Windows = windowOptions(frame, drafts)
	used := map[string]bool{}
	for i, d := range drafts {
		used[d.id] = true
		f := d.form(i, sys)
		f.First, f.Last = i == 0, i == len(drafts)-1
		for _, b := range fieldsOf(v.Bad) {
			f.Open = f.Open || strings.HasPrefix(b.Field, f.Name+".")
		}
		v.Steps = append(v.Steps, f)
	}
	for _, st := range frame.Sequence() {
		if used[st.ID] {
			continue
		}
		u := settings.UnusedStep{ID: st.ID, Code: st.Code, Title: st.Name, Note: "retired"}
		if !st.Retired {
			u.Note = "retired by this edit"
		}
		v.Unused = append(v.Unused, u)
	}
	return s.render(w, r, status, settings.SequenceEdit(s.page(r, "Edit the sequence", ui.Crumb{Label: "Sequence of steps", Href: head.Path("sequence")}), v))
}

func fieldsOf(v *fault.Invalid) []fault.Field {
	if v == nil {
		return nil
	}
	return v.Fields
}

// form shows a draft at its place, with one empty requirement to fill in.
func (d draftStep) form(i int, sys units.System) settings.StepForm {
	name := "s" + strconv.Itoa(i)
	f := settings.StepForm{Name: name, Key: d.key, ID: d.id, Code: d.code, Title: d.name, Place: i + 1, Fixed: d.id != "", Open: d.opened, Hold: d.hold, All: d.all, Window: d.window}
	for _, r := range authz.Roles() {
		if r == sequence.Manager {
			continue // reads everything, changes nothing
		}
		label := sentenceCase(sequence.RoleWords(r))
		f.Performers = append(f.Performers, settings.RoleTick{Value: string(r), Label: label, On: slices.Contains(d.performers, string(r))})
		f.Releasers = append(f.Releasers, settings.RoleTick{Value: string(r), Label: label, On: slices.Contains(d.releasers, string(r))})
	}
	for k, a := range append(slices.Clone(d.asks), draftAsk{}) {
		q := settings.AskForm{Name: fmt.Sprintf("%s.q%d", name, k), Number: fmt.Sprintf("Requirement %d", k+1), Condition: a.condition, Strength: a.strength, Count: a.count, Age: a.age, Text: a.text}
		if k == len(d.asks) {
			q.Number = "One more"
		}
		if info, ok := sequence.Condition(a.condition).Info(); ok {
			q.Explains = info.Explains
		}
		f.Asks = append(f.Asks, q)
	}
	f.Summary = d.summary()
	return f
}

func (d draftStep) summary() string {
	parts := []string{sequence.RolesInWords(rolesTyped(d.performers, nil))}
	if d.hold {
		parts = append(parts, "hold released by "+sequence.RolesInWords(rolesTyped(d.releasers, nil)))
	}
	if n := len(d.asks); n > 0 {
		parts = append(parts, count(n, "requirement", "requirements"))
	}
	if !d.all {
		parts = append(parts, "chosen ends")
	}
	return strings.Join(parts, " · ")
}

// windowOptions are the kinds of window that a step may ask for: those of the
// windows on record and those that a step names already.
func windowOptions(frame *repair.Scope, drafts []draftStep) []ui.Option {
	out := []ui.Option{{Value: "", Label: "None"}, {Value: sequence.OwnWindow, Label: "Of the end's own access"}}
	var kinds []string
	add := func(k string) {
		if k != "" && k != sequence.OwnWindow && k != repair.OpenAccess && !slices.Contains(kinds, k) {
			kinds = append(kinds, k)
		}
	}
	for _, w := range frame.Windows {
		add(w.Kind)
	}
	for _, d := range drafts {
		add(d.window)
	}
	slices.Sort(kinds)
	for _, k := range kinds {
		out = append(out, ui.Option{Value: k, Label: "Of " + k})
	}
	return out
}
