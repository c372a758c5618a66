package web

import (
	"fmt"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// quantityView is a casting worked out, in the reader's units.
func (c *castReader) quantityView(m amounts) casting.Quantity {
	v := casting.Quantity{Refused: m.refused, Program: c.head.Name, Zone: c.zoneNote()}
	for _, rec := range m.scope.Ends {
		v.Names = append(v.Names, rec.End.Name)
	}
	if m.refused != "" || len(m.forms) == 0 {
		return v
	}
	a := m.a
	vol := func(x units.Volume) string { return units.Volumes.Format(float64(x), c.sys, -1) }
	v.Ready = true
	v.Facts = []casting.Fact{{Name: "Net volume", Value: vol(a.Net)}, {Name: "Specimens and flow tests", Value: vol(a.Tests)}, {Name: "With the spare", Value: vol(a.Total)},
		{Name: "Batches", Value: numberOf(a.Batches)}, {Name: "Bags in a batch", Value: numberOf(a.BagsPerBatch)}, {Name: "Volume of a batch", Value: vol(a.Batch)},
		{Name: "Bags to mix", Value: numberOf(a.Bags)}, {Name: "Bags on site", Value: numberOf(a.BagsOnSite)}}
	for i, f := range a.Forms {
		v.Forms = append(v.Forms, c.quantityForm(m, i, f))
	}
	v.Masses = c.massRows(a)
	v.Settings = c.quantitySettings()
	v.Times = c.timeFacts(a.Times, m.window)
	if m.window != nil {
		v.Window = c.windowWords(*m.window)
		v.LastBatch = c.day(a.Times.LastBatch)
	}
	v.Findings = c.findingLines("", a.Times.Findings)
	if !a.Times.First.IsZero() && a.Times.First.Before(m.window.StartsAt) {
		v.Findings = append(v.Findings, casting.CheckLine{Mark: ui.Mark{State: ui.Stop, Text: "too long"},
			Text: "The casting does not fit into this window: its first batch would have to begin at " + c.day(a.Times.First) + ", before the window does."})
	}
	v.Specimens, v.PlanFrom = c.planRows(m)
	for n := 1; n <= a.Batches; n++ {
		v.Batches = append(v.Batches, numberOf(n))
	}
	reader := &endReader{sys: c.sys}
	for _, rec := range m.scope.Ends {
		v.Sheets = append(v.Sheets, casting.Working{Title: "Form of " + rec.End.Name, Lines: reader.lines(m.formPad[rec.End.Name].Lines(), calc.Clause{})})
	}
	v.Sheets = append(v.Sheets, casting.Working{Title: "The casting", Lines: reader.lines(m.pad.Lines(), calc.Clause{})})
	return v
}

// quantityForm is one form with what the material does to it.
func (c *castReader) quantityForm(m amounts, i int, f uhpc.FormAmounts) casting.FormRow {
	rec := m.scope.Ends[i]
	d := rec.DesignInForce()
	row := casting.FormRow{Name: rec.End.Name, Href: c.head.Path("ends", rec.End.Name), Reading: endReading(m.scope, rec.End), Revision: numberOf(d.Revision),
		State: revisionMark(d.State), Net: units.Volumes.Format(float64(f.Form.Net), c.sys, -1),
		Size: f.Form.Width.Format(c.sys, 1) + " × " + f.Form.Height.Format(c.sys, 1), Rise: f.Rise.Format(c.sys, 1),
		Head: f.Head.Format(c.sys, 1), Foot: units.Stresses.Format(float64(f.Foot), c.sys, 4), Side: f.Side.Format(c.sys, 2), Third: f.Third.Format(c.sys, 1),
		Uplift: f.Uplift.Format(c.sys, 2), Plan: units.Areas.Format(float64(f.Form.Plan), c.sys, -1)}
	if c.sys == units.US {
		row.Foot = fmt.Sprintf("%.0f psf", float64(f.Foot)/float64(units.Ksi)*144000)
	} else {
		row.Foot = fmt.Sprintf("%.1f kPa", float64(f.Foot)*1000)
	}
	if f.Rise >= f.Form.Height {
		row.RiseNote = "a batch fills it"
	}
	if out, _ := rec.OutOfDate(m.scope); out {
		row.State = ui.Mark{State: ui.Caution, Text: "out of date"}
	}
	if r := rec.LatestForms(); len(r) > 0 {
		mark := ui.Mark{State: ui.Good, Text: "form accepted"}
		if !rec.FormAccepted() {
			mark = ui.Mark{State: ui.Caution, Text: "form not accepted"}
		}
		row.FormCheck = mark
	}
	return row
}

func (c *castReader) massRows(a uhpc.Amounts) []casting.MassRow {
	mass := func(x units.Mass) string { return units.Masses.Format(float64(x), c.sys, 1) }
	out := []casting.MassRow{{Name: "dry premix, " + count(a.BagsPerBatch, "whole bag", "whole bags"), Batch: mass(a.Premix), All: mass(a.Premix * units.Mass(a.Batches)), Href: c.head.Path("basis", string(basis.BagMass))}}
	for _, p := range a.Parts {
		out = append(out, casting.MassRow{Name: p.Part.Name, Batch: mass(p.Batch), All: mass(p.All), Href: c.head.Path("basis", string(p.Part.Key))})
	}
	return out
}

// quantitySettings are the settings that the numbers rest on.
func (c *castReader) quantitySettings() []casting.Setting {
	keys := []basis.Key{basis.MixerVolume, basis.SpareVolume, basis.SpareBags, basis.BagMass, basis.BagYield, basis.FlowTestsABatch, basis.UnitWeightUHPC, basis.Standpipe,
		basis.MixTime, basis.Mixers, basis.PlaceTime, basis.FinishTime, basis.HandBack, basis.BatchInterval}
	for _, p := range uhpc.Parts(c.basis) {
		keys = append(keys, p.Key)
	}
	out := make([]casting.Setting, len(keys))
	for i, k := range keys {
		out[i] = c.setting(k)
	}
	return out
}

func (c *castReader) timeFacts(t uhpc.Times, w *repair.Window) []casting.Fact {
	minutes := func(x float64) string { return units.Minutes.Format(x, c.sys, 0) }
	out := []casting.Fact{{Name: "From one batch to the next", Value: minutes(t.Cycle)}, {Name: "From the first bag to the covered form", Value: minutes(t.Duration)}}
	if w != nil && !t.LastBatch.IsZero() {
		out = append(out, casting.Fact{Name: "First batch begins by", Value: c.day(t.First)}, casting.Fact{Name: "Last batch begins by", Value: c.day(t.LastBatch)})
	}
	return out
}

// planRows are the specimens to be made, each with when it would come due if the
// last batch were placed now or in the window.
func (c *castReader) planRows(m amounts) ([]casting.PlanRow, string) {
	at := c.now
	if m.window != nil {
		at = m.a.Times.LastBatch
	}
	var out []casting.PlanRow
	for _, x := range m.plan {
		n, per := x.Count, "of the last batch"
		if x.PerBatch {
			n, per = n*max(1, m.a.Batches), "of every batch"
		}
		due := at.Add(time.Duration(x.NominalDays * 24 * float64(time.Hour)))
		out = append(out, casting.PlanRow{Count: numberOf(n), Kind: kindName(string(x.Kind)), Curing: cureWords(string(x.Cure)), Age: ageText(24 * x.NominalDays), Per: per,
			Purpose: x.Purpose.Words(), Due: due.In(c.zone).Format("Mon 2006-01-02")})
	}
	from := "The default plan, not from the contract."
	if m.planFor != "" {
		from = ui.Sentence(m.planFor)
	}
	return out, strings.TrimSpace(from)
}
