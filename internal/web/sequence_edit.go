package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/views/settings"
	"endcast/views/ui"
)

// sequenceEdit is the form of the whole sequence.
func (s *Server) sequenceEdit(w http.ResponseWriter, r *http.Request) error {
	frame, err := s.store.Frame(r.Context(), s.program(r).ID.String())
	if err != nil {
		return err
	}
	var drafts []draftStep
	for _, st := range frame.Sequence() {
		if !st.Retired {
			drafts = append(drafts, draftOf(st, s.units(r)))
		}
	}
	return s.sequenceForm(w, r, http.StatusOK, frame, drafts, settings.SequenceForm{})
}

// sequenceSubmit takes the whole form. Buttons of a step only rearrange the form;
// nothing is stored until what it does to the ends was shown and is sent unchanged.
func (s *Server) sequenceSubmit(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	frame, err := s.store.Frame(r.Context(), s.program(r).ID.String())
	if err != nil {
		return err
	}
	drafts, err := readDraft(r.PostForm)
	if err != nil {
		return err
	}
	v := settings.SequenceForm{Form: settings.Form{Entry: r.PostFormValue("entry"), From: r.PostFormValue("from")}}
	do, key, _ := strings.Cut(r.PostFormValue("do"), ".")
	if do != "save" && do != "preview" {
		return s.sequenceForm(w, r, http.StatusOK, frame, s.rearrange(r, frame, drafts, do, key), v)
	}
	var bad fault.Invalid
	steps := stepsTyped(drafts, frame.Sequence(), s.units(r), &bad)
	if len(bad.Fields) > 0 {
		v.Bad = &bad
		return s.sequenceForm(w, r, http.StatusUnprocessableEntity, frame, drafts, v)
	}
	change := repair.EditSequence{Steps: steps, From: v.From}
	shown := calc.Digest(steps)
	if do == "save" && r.PostFormValue("previewed") == shown {
		if _, err := s.editSettings(r, time.Time{}, change); err != nil {
			return s.sequenceRefused(w, r, drafts, steps, v, err)
		}
		s.flash(r, ui.Done, "The sequence is saved. Every end was recomputed with it.")
		return seeOther(w, r, s.program(r).Path("sequence"))
	}
	p, err := s.store.Preview(r.Context(), s.program(r).ID.String(), s.actor(r), change)
	if err != nil {
		return s.sequenceRefused(w, r, drafts, steps, v, err)
	}
	if do == "save" {
		v.Notice = "The form changed since you saw what it does. Nothing is stored yet: look again, then save."
	}
	e := effectsOf(p, s.program(r), "No end changes its next step or what stops it.")
	v.Effects, v.Previewed, v.Differences = &e, shown, differences(frame, steps)
	return s.sequenceForm(w, r, http.StatusOK, frame, drafts, v)
}

// rearrange does what a button of a step says to the form alone.
func (s *Server) rearrange(r *http.Request, frame *repair.Scope, drafts []draftStep, do, key string) []draftStep {
	at := slices.IndexFunc(drafts, func(d draftStep) bool { return d.key == key })
	switch {
	case do == "up" && at > 0:
		drafts[at-1], drafts[at] = drafts[at], drafts[at-1]
	case do == "down" && at >= 0 && at < len(drafts)-1:
		drafts[at+1], drafts[at] = drafts[at], drafts[at+1]
	case do == "retire" && at >= 0:
		drafts = slices.Delete(drafts, at, at+1)
	case do == "restore" && at < 0 && len(drafts) <= sequence.MaxSteps:
		for _, st := range frame.Sequence() {
			if st.ID == key {
				drafts = insertByOrder(drafts, frame, draftOf(st, s.units(r)))
			}
		}
	case do == "add" && len(drafts) <= sequence.MaxSteps:
		drafts = append(drafts, draftStep{key: newKey(drafts), all: true, opened: true, asks: []draftAsk{{condition: string(sequence.PreviousSteps)}}})
	}
	return drafts
}

// newKey is a key that no step of the form has.
func newKey(drafts []draftStep) string {
	for n := 1; ; n++ {
		key := "new-" + strconv.Itoa(n)
		if !slices.ContainsFunc(drafts, func(d draftStep) bool { return d.key == key }) {
			return key
		}
	}
}

// insertByOrder puts a step that is brought back before the first step that came
// after it in the stored sequence.
func insertByOrder(drafts []draftStep, frame *repair.Scope, back draftStep) []draftStep {
	order := map[string]int{}
	for _, st := range frame.Sequence() {
		order[st.ID] = st.Order
	}
	at := slices.IndexFunc(drafts, func(d draftStep) bool { return d.id != "" && order[d.id] > order[back.id] })
	if at < 0 {
		at = len(drafts)
	}
	back.opened = true
	return slices.Insert(drafts, at, back)
}

func differences(frame *repair.Scope, steps []sequence.Step) []string {
	var out []string
	for _, d := range sequence.Differences(frame.Sequence(), steps) {
		name := d.Step
		if name == "" {
			name = "A step without a name"
		}
		out = append(out, name+" "+d.Text+".")
	}
	return out
}

// sequenceRefused shows the form again with the reasons at their fields, or beside
// the sequence that somebody else stored meanwhile.
func (s *Server) sequenceRefused(w http.ResponseWriter, r *http.Request, drafts []draftStep, steps []sequence.Step, v settings.SequenceForm, err error) error {
	frame, lerr := s.store.Frame(r.Context(), s.program(r).ID.String())
	if lerr != nil {
		return lerr
	}
	if fault.KindOf(err) == fault.Conflict {
		v.From, v.Entry = "", ""
		v.Clash = &settings.Clash{Text: "Nothing of yours was stored yet. The form holds your sequence; a step that somebody added meanwhile stands under Out of use and can be brought back. Against what is stored now, saving your sequence would do this:"}
		for _, d := range sequence.Differences(frame.Sequence(), steps) {
			v.Clash.Rows = append(v.Clash.Rows, settings.Beside{Label: d.Step, Yours: d.Text, Stored: storedStep(frame, d.StepID)})
		}
		return s.sequenceForm(w, r, http.StatusConflict, frame, drafts, v)
	}
	form, status, ok := refused(r, err)
	if !ok {
		return err
	}
	for i := range fieldsOf(form.Bad) {
		form.Bad.Fields[i].Typed = typedAt(drafts, form.Bad.Fields[i].Field)
	}
	v.Bad, v.Notice = form.Bad, form.Notice
	return s.sequenceForm(w, r, status, frame, drafts, v)
}

func storedStep(frame *repair.Scope, id string) string {
	for _, st := range frame.Sequence() {
		if st.ID == id {
			if st.Retired {
				return st.Name + ", retired"
			}
			return st.Name + ", place " + strconv.Itoa(st.Order)
		}
	}
	return "no such step"
}

// typedAt is what the form holds at a field that a rule refused.
func typedAt(drafts []draftStep, field string) string {
	name, part, _ := strings.Cut(field, ".")
	i, err := strconv.Atoi(strings.TrimPrefix(name, "s"))
	if err != nil || i < 0 || i >= len(drafts) {
		return ""
	}
	switch part {
	case "code":
		return drafts[i].code
	case "name":
		return drafts[i].name
	case "window":
		return drafts[i].window
	}
	return ""
}
