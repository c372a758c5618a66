package web

import (
	"fmt"
	"strconv"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/quality"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/field"
	"endcast/views/ui"
)

var studPositionWords = map[string]string{"vertical": "upright web", "flat": "flat", "overhead": "overhead"}

// testStudsAsked is what the design basis asks of the test studs of a shift.
func testStudsAsked(b basis.Basis) []string {
	return []string{
		fmt.Sprintf("at least %.0f test studs at the start of the shift and after any change of current, time, lift or plunge, by each welder, on metal of like thickness and in like position",
			b.Value(basis.CollarTestStuds)),
		fmt.Sprintf("collar full all round, then bent %.0f degrees without a crack", b.Value(basis.CollarTestBend)),
		"the number of test studs is from memory of AWS D1.1 and D1.5: the licensed text and the contract govern",
	}
}

// testStuds fills the page of the test studs.
func (e *endReader) testStuds(v *field.Check) {
	v.Asked = testStudsAsked(e.sc.Basis())
	v.Columns = []ui.Column{{Label: "Shift, welder"}, {Label: "Outcome"}, {Label: "Studs"}, {Label: "Setting"}, {Label: "Found"}, {Label: "By"}}
	seen := map[string]bool{}
	for _, x := range newestFirst(e.rec.TestStuds, func(x repair.TestStud) time.Time { return x.CapturedAt }) {
		v.Records = append(v.Records, field.CheckRecord{Title: "Shift of " + x.ShiftOn + ", " + x.Welder, Mark: inspectionMark(x.Outcome), Latest: !seen[x.Welder],
			Cells: []string{e.testStudsSays(x), e.testStudsSetting(x), e.testStudsFound(x), byLine(x.ByName, x.ByRole, e.when(x.CapturedAt))}})
		seen[x.Welder] = true
	}
	d := e.rec.DesignInForce()
	if last := e.rec.LatestTestStud(); last != nil && d != nil && d.StudDiameter != last.Diameter {
		v.Against = append(v.Against, fmt.Sprintf("the last test was made with studs of %s, and revision %d has studs of %s", last.Diameter.Format(e.sys, -1), d.Revision, d.StudDiameter.Format(e.sys, -1)))
	}
}

func (e *endReader) testStudsSays(x repair.TestStud) string {
	return joined(", ", fmt.Sprintf("%d of %s", x.Tested, x.Diameter.Format(e.sys, -1)), studPositionWords[x.Position], x.SetUp)
}

func (e *endReader) testStudsSetting(x repair.TestStud) string {
	parts := []string{x.Equipment}
	if x.CurrentA != nil {
		parts = append(parts, fmt.Sprintf("%g A", *x.CurrentA))
	}
	if x.TimeS != nil {
		parts = append(parts, fmt.Sprintf("%g s", *x.TimeS))
	}
	if x.Lift != nil {
		parts = append(parts, "lift "+x.Lift.Format(e.sys, -1))
	}
	if x.Plunge != nil {
		parts = append(parts, "plunge "+x.Plunge.Format(e.sys, -1))
	}
	return joined(", ", parts...)
}

func (e *endReader) testStudsFound(x repair.TestStud) string {
	collar, crack := "collar all round", "no crack"
	if !x.CollarFull {
		collar = "collar open"
	}
	if x.Cracked {
		crack = "cracked"
	}
	bend := fmt.Sprintf("bent %s", units.Angles.Format(x.BendDeg, e.sys, 0))
	if x.BendClock != nil {
		bend += fmt.Sprintf(" toward %d o'clock", *x.BendClock)
	}
	again := ""
	if x.AfterChange {
		again = "after a change of the setting"
	}
	return joined(", ", collar, bend, crack, again, x.Note)
}

func (e *endReader) testStudsMark() ui.Mark {
	x := e.rec.LatestTestStud()
	if x == nil {
		return ui.Mark{State: ui.Open, Text: "no test studs yet"}
	}
	mark := inspectionMark(x.Outcome)
	if mark.State == ui.Good && !e.rec.TestStudsAccepted() {
		return ui.Mark{State: ui.Stop, Text: "another welder's are not accepted"}
	}
	mark.Text += ", shift of " + x.ShiftOn
	return mark
}

func (e *endReader) testStudsForm(f *typedForm, bad *fault.Invalid) []field.CheckGroup {
	unit := units.Lengths.Label(e.sys)
	f = e.begun(f)
	clock := ui.Field{Name: "bend_clock", Label: "Bent toward", Hint: "As you face the metal, 12 is up.", Value: f.text("bend_clock")}.With(bad)
	positions := ui.Field{Name: "position", Label: "Position", Value: f.text("position")}.With(bad)
	for _, p := range repair.StudPositions() {
		positions.Options = append(positions.Options, ui.Option{Value: p, Label: sentenceCase(studPositionWords[p])})
	}
	return []field.CheckGroup{
		{Title: "Which studs", Tiles: []ui.Field{positions}, Boxes: []ui.Field{
			{Name: "shift_on", Label: "Shift", Type: "date", Hint: "The day on which it began.", Value: f.text("shift_on"), Short: true},
			e.checkBox(f, bad, "welder", "Welder", "", "text", false), e.checkBox(f, bad, "diameter", "Stud diameter", "", unit, false), e.checkBox(f, bad, "set_up", "Welded on", "Like thickness, like position.", "text", true)}},
		{Title: "Setting", Boxes: []ui.Field{e.checkBox(f, bad, "equipment", "Equipment", "", "text", true), e.checkBox(f, bad, "current_a", "Current", "", "A", true),
			e.checkBox(f, bad, "time_s", "Time", "", "s", true), e.checkBox(f, bad, "lift", "Lift", "", unit, true), e.checkBox(f, bad, "plunge", "Plunge", "", unit, true)},
			Ticks: []field.CheckTick{checkTick(f, bad, "after_change", "Repeated after a change of the setting")}},
		{Title: "What you saw", Boxes: []ui.Field{e.checkBox(f, bad, "tested", "Studs tested", "", "", false), e.checkBox(f, bad, "bend_deg", "Bent by", "", "°", false)}, Clock: &clock,
			Ticks: []field.CheckTick{checkTick(f, bad, "collar_full", "Collar full all round, each of them"), checkTick(f, bad, "cracked", "One of them cracked or tore")}},
	}
}

// begun fills a form of test studs that was not sent yet with what is known.
func (e *endReader) begun(f *typedForm) *typedForm {
	if f.values != nil {
		return f
	}
	out := &typedForm{values: map[string][]string{"shift_on": {quality.ShiftDay(e.now().In(e.zone))}, "position": {"vertical"}}}
	if d := e.rec.DesignInForce(); d != nil {
		out.values.Set("diameter", d.StudDiameter.Exact(e.sys))
	}
	b := e.sc.Basis()
	out.values.Set("tested", strconv.Itoa(int(b.Value(basis.CollarTestStuds)+0.5)))
	out.values.Set("bend_deg", fmt.Sprintf("%g", b.Value(basis.CollarTestBend)))
	if last := e.rec.LatestTestStud(); last != nil {
		out.values.Set("welder", last.Welder)
		out.values.Set("equipment", last.Equipment)
	}
	return out
}

func (e *endReader) testStudsTyped(f *typedForm) repair.Change {
	ch := repair.RecordTestStuds{ShiftOn: f.text("shift_on"), Position: f.text("position"), SetUp: f.text("set_up"), Diameter: f.lengthNeeded("diameter", "the stud diameter"), Welder: f.text("welder"),
		Equipment: f.text("equipment"), CurrentA: f.number("current_a", units.Numbers), TimeS: f.number("time_s", units.Numbers), Lift: quantity[units.Length](f, "lift"),
		Plunge: quantity[units.Length](f, "plunge"), Tested: f.whole("tested", "the number of studs tested"), BendClock: f.hour("bend_clock"), CollarFull: f.text("collar_full") == "on", Cracked: f.text("cracked") == "on",
		AfterChange: f.text("after_change") == "on", Outcome: f.text("outcome"), Note: f.text("note"), Typed: f.typedOf("lift_mm", "plunge_mm")}
	if text := f.text("diameter"); text != "" {
		ch.Typed["stud_diameter_mm"] = text
	}
	if v := f.number("bend_deg", units.Angles); v != nil {
		ch.BendDeg = *v
	} else if f.text("bend_deg") == "" {
		f.bad.Add("bend_deg", "", "the angle of the bend is needed")
	}
	return ch
}
