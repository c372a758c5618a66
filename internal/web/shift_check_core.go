package web

import (
	"fmt"
	"strconv"
	"time"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/field"
	"endcast/views/ui"
)

var coresAsked = []string{"bars, ducts and cables located before drilling", "no bar cut without leave, by name", "each core open and clean before the pour: it feeds or vents the form"}

// cores fills the page of the cores through the deck.
func (e *endReader) cores(v *field.Check) {
	v.Asked = coresAsked
	v.Columns = []ui.Column{{Label: "Core"}, {Label: "Outcome"}, {Label: "Place"}, {Label: "Size"}, {Label: "Found"}, {Label: "By"}}
	counts := map[string]bool{}
	for _, x := range e.rec.LatestCores() {
		counts[x.ID] = true
	}
	for _, x := range newestFirst(e.rec.DeckCores, func(x repair.DeckCore) time.Time { return x.CapturedAt }) {
		v.Records = append(v.Records, field.CheckRecord{Title: "Core " + strconv.Itoa(x.Number), Mark: inspectionMark(x.Outcome), Latest: counts[x.ID],
			Cells: []string{e.corePlace(x), e.coreSize(x), joined(", ", coreFound(x), x.Note), byLine(x.ByName, x.ByRole, e.when(x.CapturedAt))}})
	}
}

func (e *endReader) corePlace(x repair.DeckCore) string {
	side := "over the web"
	switch {
	case x.Across > 0:
		side = x.Across.Format(e.sys, -1) + " right of the web"
	case x.Across < 0:
		side = (-x.Across).Format(e.sys, -1) + " left of the web"
	}
	return x.Along.Format(e.sys, -1) + " from the girder end, " + side
}

func (e *endReader) coreSize(x repair.DeckCore) string {
	deep := ""
	if x.Depth != nil {
		deep = x.Depth.Format(e.sys, -1) + " deep"
	}
	return joined(", ", x.Diameter.Format(e.sys, -1)+" across", deep)
}

func coreFound(x repair.DeckCore) string {
	bars, cut, open := "bars located before", "no bar cut", "open and clean"
	if !x.BarsLocated {
		bars = "bars not located before"
	}
	if x.BarCut {
		cut = "a bar was cut, leave: " + orDash(x.Leave)
	}
	if !x.OpenClean {
		open = "not open and clean"
	}
	return joined(", ", bars, cut, open)
}

func (e *endReader) coresMark() ui.Mark {
	cores := e.rec.LatestCores()
	if len(cores) == 0 {
		return ui.Mark{State: ui.Open, Text: "no core on record yet"}
	}
	bad := 0
	for _, x := range cores {
		if x.Outcome != repair.CheckAccepted {
			bad++
		}
	}
	if bad > 0 {
		return ui.Mark{State: ui.Stop, Text: fmt.Sprintf("%d of %d not accepted", bad, len(cores))}
	}
	return ui.Mark{State: ui.Good, Text: fmt.Sprintf("%d accepted", len(cores))}
}

func (e *endReader) coresForm(f *typedForm, bad *fault.Invalid) []field.CheckGroup {
	unit := units.Lengths.Label(e.sys)
	if f.values == nil {
		next := 1
		for _, x := range e.rec.LatestCores() {
			next = max(next, x.Number+1)
		}
		f = &typedForm{values: map[string][]string{"number": {strconv.Itoa(next)}}}
	}
	across := e.checkBox(f, bad, "across", "From the web", "", unit, false)
	across.InputMode = "" // a keypad for decimals has no minus everywhere
	return []field.CheckGroup{
		{Title: "Which core", Says: "Looking ahead along the bridge, right of the web is positive and left is negative.", Boxes: []ui.Field{e.checkBox(f, bad, "number", "Number", "", "", false),
			e.checkBox(f, bad, "along", "From the girder end", "", unit, false), across,
			e.checkBox(f, bad, "diameter", "Diameter", "", unit, false), e.checkBox(f, bad, "depth", "Depth", "", unit, true)}},
		{Title: "Bars", Ticks: []field.CheckTick{checkTick(f, bad, "bars_located", "Bars located before drilling"), checkTick(f, bad, "bar_cut", "A bar was cut")},
			Boxes: []ui.Field{e.checkBox(f, bad, "leave", "Who gave leave to cut it, when", "", "text", true)}},
		{Title: "The hole", Ticks: []field.CheckTick{checkTick(f, bad, "open_clean", "Open and clean, through to the form")}},
	}
}

func (e *endReader) coresTyped(f *typedForm) repair.Change {
	return repair.RecordCore{Number: f.whole("number", "the number of the core"), Along: f.lengthNeeded("along", "the distance from the girder end"), Across: f.lengthNeeded("across", "the distance from the web"), Diameter: f.lengthNeeded("diameter", "the diameter"),
		Depth: quantity[units.Length](f, "depth"), BarsLocated: f.text("bars_located") == "on", BarCut: f.text("bar_cut") == "on", Leave: f.text("leave"), OpenClean: f.text("open_clean") == "on",
		Outcome: f.text("outcome"), Note: f.text("note"), Typed: f.typedOf("along_mm", "across_mm", "diameter_mm", "depth_mm")}
}
