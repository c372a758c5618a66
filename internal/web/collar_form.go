package web

import (
	"cmp"
	"net/http"
	"slices"
	"strings"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
	"endcast/views/field"
	"endcast/views/ui"
)

// studForm is the form of one stud with what was sent in it, if it came back.
func (e *endReader) studForm(f *typedForm, sent field.Sent, m studMap, mark string) *field.StudForm {
	inch, degree := units.Lengths.Label(e.sys), units.Angles.Label(e.sys)
	box := func(name, label, hint, unit string) ui.Field {
		return ui.Field{Name: name, Label: label, Hint: hint, Unit: unit, InputMode: "decimal", Value: f.text(name), Optional: true, Short: true}.With(sent.Bad)
	}
	words := func(name, label, value string) ui.Field {
		if f.values.Has(name) {
			value = f.text(name)
		}
		return ui.Field{Name: name, Label: label, Value: value, Optional: true}.With(sent.Bad)
	}
	needed := func(x ui.Field) ui.Field { x.Optional = false; return x }
	path := e.path("collars", mark)
	out := &field.StudForm{Sent: sent, Action: path, Show: path + "#repairs", DesignID: m.design.ID,
		Outcome:    ui.Field{Name: "outcome", Value: f.text("outcome")}.With(sent.Bad),
		GapClock:   ui.Field{Name: "gap_clock", Label: "Middle of the gap", Value: f.text("gap_clock"), Hint: "The hour as you face the web, 12 up."}.With(sent.Bad),
		GapLength:  needed(box("gap_length", "Length of the gap, round the collar", "", inch)),
		Fissure:    f.text("fissure") == "on",
		FilletSize: needed(box("fillet_size", "Size", "", inch)), FilletLen: needed(box("fillet_length", "Length", "The gap and past each end of it.", inch)),
		BendClock: ui.Field{Name: "bend_clock", Label: "Bent toward", Value: f.text("bend_clock"), Hint: "Away from the gap."}.With(sent.Bad),
		BendDeg:   needed(box("bend_deg", "Bend", "From square to the web.", degree)),
		Height:    box("height", "Height as welded", "", inch),
		Repair:    words("repair", "What was done, in words", ""),
		Welder:    words("welder", "Welder", e.lastCollar(func(c repair.Collar) string { return c.Welder })),
		Ferrule:   words("ferrule_lot", "Ferrule lot", e.lastCollar(func(c repair.Collar) string { return c.FerruleLot })),
		Note:      ui.Field{Name: "note", Label: "Note", Value: f.text("note"), Rows: 2, Optional: true}.With(sent.Bad),
		Photo:     ui.Field{Name: "photo"}.With(sent.Bad),
		PhotoHint: "Of the collar with the stud's mark beside it. JPEG, PNG or WebP, up to 20 MB.",
		At:        field.Moment{Typed: f.text("captured_at"), Now: e.clock(), Bad: sent.Bad}}
	for _, o := range stud.Outcomes() {
		out.Outcomes = append(out.Outcomes, field.OutcomeTile{Value: string(o), Status: collarStatus(o), Counts: stud.Counts(o)})
	}
	if e.r.Method == http.MethodPost && f.text("design") != "" {
		out.DesignID = f.text("design")
	}
	if next := m.nextOpen(mark); next != nil {
		out.Next = next.Mark
	}
	return out
}

// newestCollars orders the findings at a mark by when they were seen, the last
// first, and those of one moment by when they arrived.
func newestCollars(all []repair.Collar, mark string) []repair.Collar {
	var out []repair.Collar
	for _, c := range all {
		if c.Mark == mark {
			out = append(out, c)
		}
	}
	slices.SortStableFunc(out, func(a, b repair.Collar) int {
		return cmp.Or(b.CapturedAt.Compare(a.CapturedAt), b.ArrivedAt.Compare(a.ArrivedAt), cmp.Compare(b.ID, a.ID))
	})
	return out
}

func lower(s string) string { return strings.ToLower(s[:1]) + s[1:] }
