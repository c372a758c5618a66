package web

import (
	"fmt"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/field"
	"endcast/views/ui"
)

var formFaces = map[string]string{"L": "Left face", "R": "Right face", "B": "Both faces"}

// formAsked is what a form is held to at this end.
func (e *endReader) formAsked() []string {
	b := e.sc.Basis()
	out := []string{"braced for the full head of UHPC, seals tight, bearing free of the pour, feed and vent holes clear"}
	if least := b.Value(basis.FormWaterTest); least > 0 {
		out = append(out, fmt.Sprintf("a water test of at least %g minutes without a leak (setting of the design basis)", least))
	}
	out = append(out, fmt.Sprintf("cover to the stud heads at least %s", units.Length(b.Value(basis.StudHeadCover)).Format(e.sys, -1)))
	if d := e.rec.DesignInForce(); d != nil {
		out = append(out, fmt.Sprintf("panel of revision %d: %s wide, %s high, %s thick on the left face, %s on the right; the form at most %s smaller", d.Revision, d.PanelWidth.Format(e.sys, -1),
			d.PanelHeight.Format(e.sys, -1), d.PanelLeft.Format(e.sys, -1), d.PanelRight.Format(e.sys, -1), units.Length(b.Value(basis.FormOff)).Format(e.sys, -1)))
	}
	return out
}

// forms fills the page of the form.
func (e *endReader) forms(v *field.Check) {
	v.Asked = e.formAsked()
	v.Columns = []ui.Column{{Label: "Face"}, {Label: "Outcome"}, {Label: "Measured"}, {Label: "Tried"}, {Label: "Note"}, {Label: "By"}}
	counts := map[string]bool{}
	for _, x := range e.rec.LatestForms() {
		counts[x.ID] = true
		for _, short := range x.Short(e.rec.DesignInForce(), e.sc.Basis(), e.sys) {
			v.Against = append(v.Against, lower(formFaces[x.Face])+": "+short)
		}
	}
	for _, x := range newestFirst(e.rec.FormChecks, func(x repair.FormCheck) time.Time { return x.CapturedAt }) {
		v.Records = append(v.Records, field.CheckRecord{Title: formFaces[x.Face], Mark: inspectionMark(x.Outcome), Latest: counts[x.ID],
			Cells: []string{e.formMeasured(x), formTried(x), x.Note, byLine(x.ByName, x.ByRole, e.when(x.CapturedAt))}})
	}
}

func (e *endReader) formMeasured(x repair.FormCheck) string {
	var parts []string
	for _, p := range []struct {
		what string
		v    *units.Length
	}{{"width", x.Width}, {"height", x.Height}, {"thickness", x.Thickness}, {"cover at least", x.Cover}} {
		if p.v != nil {
			parts = append(parts, p.what+" "+p.v.Format(e.sys, -1))
		}
	}
	return joined(", ", parts...)
}

func formTried(x repair.FormCheck) string {
	word := func(ok bool, yes, no string) string {
		if ok {
			return yes
		}
		return no
	}
	water := "no water test"
	if x.WaterTest != nil && x.Leaked != nil {
		water = fmt.Sprintf("water test of %g min: %s", *x.WaterTest, word(!*x.Leaked, "no leak", "leaked"))
	}
	return joined(", ", word(x.Braced, "braced for the full head", "not braced for the full head"), word(x.SealsTight, "seals tight", "seals not tight"), water,
		word(x.BearingFree, "bearing free", "bearing not free"), word(x.HolesClear, "feed and vents clear", "feed and vents not clear"))
}

func (e *endReader) formsMark() ui.Mark {
	forms := e.rec.LatestForms()
	if len(forms) == 0 {
		return ui.Mark{State: ui.Open, Text: "no form checked yet"}
	}
	for _, x := range forms {
		if x.Outcome != repair.CheckAccepted {
			return ui.Mark{State: ui.Stop, Text: lower(formFaces[x.Face]) + " not accepted"}
		}
	}
	if !e.rec.FormAccepted() {
		return ui.Mark{State: ui.Wait, Text: lower(formFaces[forms[0].Face]) + " accepted, the other not looked at"}
	}
	for _, x := range forms {
		if len(x.Short(e.rec.DesignInForce(), e.sc.Basis(), e.sys)) > 0 {
			return ui.Mark{State: ui.Caution, Text: "accepted, but it falls short of what is asked"}
		}
	}
	return ui.Mark{State: ui.Good, Text: "accepted"}
}

var yesNoOptions = []ui.Option{{Value: "no", Label: "No leak"}, {Value: "yes", Label: "It leaked"}}

func (e *endReader) formsForm(f *typedForm, bad *fault.Invalid) []field.CheckGroup {
	unit := units.Lengths.Label(e.sys)
	faces := ui.Field{Name: "face", Label: "Face", Value: f.text("face"), Options: []ui.Option{{Value: "L", Label: "Left"}, {Value: "R", Label: "Right"}, {Value: "B", Label: "Both in one"}}}.With(bad)
	return []field.CheckGroup{
		{Title: "Measured", Tiles: []ui.Field{faces}, Boxes: []ui.Field{e.checkBox(f, bad, "width", "Width", "Along the web.", unit, true), e.checkBox(f, bad, "height", "Height", "", unit, true),
			e.checkBox(f, bad, "thickness", "Thickness", "From the web to the form.", unit, true), e.checkBox(f, bad, "cover", "Cover to the studs, least", "", unit, true)}},
		{Title: "Tried", Ticks: []field.CheckTick{checkTick(f, bad, "braced", "Braced for the full head"), checkTick(f, bad, "seals_tight", "Seals tight, at the flange and along the web"),
			checkTick(f, bad, "bearing_free", "Bearing isolated, free to move"), checkTick(f, bad, "holes_clear", "Feed and vent holes clear")}},
		{Title: "Water test", Boxes: []ui.Field{e.checkBox(f, bad, "water_test_min", "Held for", "", "min", true)},
			Tiles: []ui.Field{ui.Field{Name: "leaked", Label: "Under the water test", Options: yesNoOptions, Value: f.text("leaked"), Optional: true}.With(bad)}},
	}
}

func (e *endReader) formsTyped(f *typedForm) repair.Change {
	l := func(field string) *units.Length { return quantity[units.Length](f, field) }
	return repair.RecordForm{Face: f.text("face"), Width: l("width"), Height: l("height"), Thickness: l("thickness"), Cover: l("cover"), Braced: f.text("braced") == "on",
		SealsTight: f.text("seals_tight") == "on", WaterTest: f.number("water_test_min", units.Numbers), Leaked: f.yesNo("leaked"), BearingFree: f.text("bearing_free") == "on",
		HolesClear: f.text("holes_clear") == "on", Outcome: f.text("outcome"), Note: f.text("note"), Typed: f.typedOf("width_mm", "height_mm", "thickness_mm", "cover_mm")}
}
