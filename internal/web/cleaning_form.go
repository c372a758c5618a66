package web

import (
	"endcast/internal/domain/quality"
	"endcast/internal/domain/units"
	"endcast/views/field"
	"endcast/views/ui"
)

var rusts = []ui.Option{{Value: string(quality.NoRust), Label: "None"}, {Value: string(quality.LightRust), Label: "Light"}, {Value: string(quality.HeavyRust), Label: "Heavy"}}

// cleaningForm is the form with what was sent in it, if it came back.
func (e *endReader) cleaningForm(f *typedForm, sent field.Sent) *field.CleaningForm {
	unit := units.Lengths.Label(e.sys)
	degree := units.Temperatures.Label(e.sys)
	box := func(name, label, hint, unit string) ui.Field {
		return ui.Field{Name: name, Label: label, Hint: hint, Unit: unit, InputMode: "decimal", Value: f.text(name), Optional: true, Short: true}.With(sent.Bad)
	}
	out := &field.CleaningForm{Sent: sent, Action: e.path("cleaning"),
		Method:  ui.Field{Name: "method", Label: "Method", Value: f.text("method")}.With(sent.Bad),
		From:    ui.Field{Name: "from", Label: "Cleaning began", Type: "datetime-local", Value: f.text("from"), Hint: "Clock time here: " + e.zone.String() + "."}.With(sent.Bad),
		To:      ui.Field{Name: "to", Label: "Cleaning ended", Type: "datetime-local", Value: f.text("to"), Hint: "The steel rusts from then on."}.With(sent.Bad),
		Solvent: f.text("solvent") == "on",
		Steel:   box("steel", "Steel", "", degree), Air: box("air", "Air", "", degree), Dew: box("dew_point", "Dew point", "", degree), Humidity: box("humidity", "Humidity", "", "%"),
		Note:      ui.Field{Name: "note", Label: "Note", Value: f.text("note"), Rows: 3, Optional: true}.With(sent.Bad),
		Photo:     ui.Field{Name: "photo"}.With(sent.Bad),
		PhotoHint: "Of the cleaned steel, with the end's name in it. JPEG, PNG or WebP, up to 20 MB.",
		At:        field.Moment{Typed: f.text("captured_at"), Now: e.clock(), Bad: sent.Bad}}
	if sent.Bad != nil || sent.Problem != "" {
		out.PhotoHint = "Choose it again: it was not stored with the rest."
	}
	for _, m := range quality.Methods() {
		out.Method.Options = append(out.Method.Options, ui.Option{Value: string(m), Label: sentenceCase(plainWord(string(m)))})
	}
	for _, z := range quality.Zones() {
		key := string(z)
		zone := field.ZoneForm{Title: sentenceCase(z.Words()), Asked: "Asked: " + e.leastGrade(z) + ".",
			Grade:   ui.Field{Name: key, Label: "Grade reached", Value: f.text(key), Options: gradeOptions, Optional: true}.With(sent.Bad),
			Rust:    ui.Field{Name: key + "_rust", Label: "Flash rust", Value: f.text(key + "_rust"), Options: rusts}.With(sent.Bad),
			Profile: box(key+"_profile", "Profile", "", unit),
			Note:    ui.Field{Name: key + "_note", Label: "Where, what", Value: f.text(key + "_note"), Optional: true}.With(sent.Bad)}
		if zone.Rust.Value == "" {
			zone.Rust.Value = string(quality.NoRust)
		}
		out.Zones = append(out.Zones, zone)
	}
	return out
}

var gradeOptions = func() []ui.Option {
	out := []ui.Option{{Value: "", Label: "Not cleaned this time"}}
	for _, g := range quality.Grades() {
		out = append(out, ui.Option{Value: string(g.Grade), Label: gradeCode(string(g.Grade)) + ", " + g.Name + " – may remain: " + g.Remains})
	}
	return out
}()
