package web

import (
	"fmt"
	"strconv"
	"strings"

	"endcast/internal/domain/quality"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/views/field"
	"endcast/views/ui"
)

func nonconformanceCaption(number int) string { return fmt.Sprintf("Nonconformance %d: ", number) }

// decideForm is the decision, with what was sent or else with what is on record.
func (e *endReader) decideForm(n repair.Nonconformance, sent nonconformanceSent) *field.DecideForm {
	out := &field.DecideForm{Action: e.s.program(e.r).Path("nonconformances", numberOf(n.Number), "decide"), Version: strconv.FormatInt(e.rec.End.Version, 10), Again: n.Disposition != ""}
	disposition, instructions, cause := n.Disposition, n.Instructions, n.Cause
	if disposition == "" {
		disposition = n.Proposed
	}
	if sent.decide != nil {
		out.Sent = *sent.decide
		disposition, instructions, cause = sent.form.text("disposition"), sent.form.text("instructions"), sent.form.text("cause")
	}
	out.Disposition = ui.Field{Name: "disposition", Label: "What becomes of it", Value: disposition, Options: dispositionOptions()}.With(out.Bad)
	for _, d := range quality.Dispositions() {
		out.Means = append(out.Means, field.Fact{Label: sentenceCase(d.Name), Text: sentenceCase(d.Means)})
	}
	out.Instructions = ui.Field{Name: "instructions", Label: "What is to be done, or why it may stay as it is", Value: instructions, Rows: 4}.With(out.Bad)
	out.Cause = ui.Field{Name: "cause", Label: "Cause", Value: cause, Rows: 2, Optional: true}.With(out.Bad)
	return out
}

func dispositionOptions() []ui.Option {
	var out []ui.Option
	for _, d := range quality.Dispositions() {
		out = append(out, ui.Option{Value: string(d.Disposition), Label: sentenceCase(d.Name)})
	}
	return out
}

// closeForm ends one that was decided.
func (e *endReader) closeForm(n repair.Nonconformance, sent nonconformanceSent) *field.CloseForm {
	out := &field.CloseForm{Action: e.s.program(e.r).Path("nonconformances", numberOf(n.Number), "close"), Version: strconv.FormatInt(e.rec.End.Version, 10)}
	seen, cause := "", ""
	if sent.close != nil {
		out.Sent, seen, cause = *sent.close, sent.form.text("reinspection"), sent.form.text("cause")
	}
	if n.Cause == "" {
		out.Cause = ui.Field{Name: "cause", Label: "Cause", Hint: "So that it does not come again.", Value: cause, Rows: 2}.With(out.Bad)
	}
	out.Reinspection = ui.Field{Name: "reinspection", Label: "What you saw when you looked again", Value: seen, Rows: 4}.With(out.Bad)
	return out
}

// raiseForm is the form that raises one at this end.
func (e *endReader) raiseForm(f *typedForm, sent field.Sent) field.Raise {
	area := func(name, label, hint string, optional bool) ui.Field {
		return ui.Field{Name: name, Label: label, Hint: hint, Value: f.text(name), Rows: 3, Optional: optional}.With(sent.Bad)
	}
	v := field.Raise{Head: e.head(), Sent: sent, Action: e.path("nonconformances"), Critical: f.text("critical") == "on",
		Requirement: area("requirement", "Requirement", "Document, clause and value.", false),
		Found:       area("found", "What you found", "With its value and its place.", false),
		Containment: area("containment", "What was done at once", "Marked, stopped, closed off, shored.", true),
		Proposed:    ui.Field{Name: "proposed", Label: "What you propose", Value: f.text("proposed"), Options: append(dispositionOptions(), ui.Option{Value: "", Label: "Nothing yet"}), Optional: true}.With(sent.Bad),
		Photo:       ui.Field{Name: "photo"}.With(sent.Bad),
		PhotoHint:   "JPEG, PNG or WebP, up to 20 MB.",
		At:          field.Moment{Typed: f.text("captured_at"), Now: e.clock(), Bad: sent.Bad}}
	for _, st := range e.sc.Sequence() {
		if !st.Retired && stopsWork(st) {
			on := false
			for _, code := range f.values["stops"] {
				on = on || code == st.Code
			}
			v.Stops = append(v.Stops, field.Stop{Code: st.Code, Name: st.Name, On: on})
		}
	}
	return v
}

// stopsWork reports whether a step can be stopped by a nonconformance.
func stopsWork(st sequence.Step) bool {
	for _, req := range st.Requires {
		if req.Condition == sequence.NoOpenNonconformance {
			return true
		}
	}
	return false
}

// raised reads the form.
func (f *typedForm) raised() repair.RaiseNonconformance {
	ch := repair.RaiseNonconformance{Requirement: f.text("requirement"), Found: f.text("found"), Containment: f.text("containment"), Proposed: f.text("proposed"), Critical: f.text("critical") == "on"}
	for _, code := range f.values["stops"] {
		ch.Stops = append(ch.Stops, strings.TrimSpace(code))
	}
	return ch
}
