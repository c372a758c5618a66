package web

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// setRow prints a set with its statistics.
func (c *castReader) setRow(r setReading) casting.Set {
	st := r.stats
	row := casting.Set{Batch: strconv.Itoa(r.number), Kind: kindName(string(r.set.Kind)), Curing: cureWords(string(r.set.Cure)), Duty: plainWord(string(r.set.Duty)),
		Age: ageText(r.set.NominalHours), Counted: fmt.Sprintf("%d of %d", st.Counted, st.Cast), Mean: "–", Range: "–", MeanBroken: "–", Mark: r.mark, Against: r.against, Why: r.why}
	if st.Counted > 0 {
		row.Mean, row.Least = c.strengthFigure(st.Mean), c.strengthFigure(st.Least)
		row.Range = strconv.FormatFloat(100*st.RangeShare, 'f', 1, 64)
	}
	if st.Broken > 0 {
		row.MeanBroken = c.strengthFigure(st.MeanBroken)
	}
	return row
}

// specimen prints a specimen with its stored result, and tells whether the design
// basis of today would give another.
func (c *castReader) specimen(sp repair.Specimen, p repair.Pour, refused bool) (casting.Specimen, bool) {
	x := repair.SpecimenOf(sp, p)
	at := sp.CastAt.Add(time.Duration(x.NominalHours * float64(time.Hour)))
	row := casting.Specimen{Mark: sp.Mark, Batch: strconv.Itoa(sp.BatchNo), Kind: kindName(sp.Kind), Curing: cureWords(sp.Curing), Nominal: ageText(x.NominalHours), Due: c.day(at),
		Broken: "–", Age: "–", Load: "–", Raw: "–", Factor: "–", Value: "–", State: ui.Mark{State: ui.Wait, Text: "waits"}, TestedBy: sp.TestedBy}
	tolerance := time.Duration(uhpc.ToleranceHours(x.NominalHours, c.basis) * float64(time.Hour))
	if sp.BrokenAt == nil {
		switch {
		case sp.LostAt != nil:
			row.State = ui.Mark{State: ui.Void, Text: "lost"}
			row.Why = append(row.Why, sp.LostWhy+" ("+sp.LostBy+")")
		case !awaited(sp):
			row.State = ui.Mark{State: ui.Open, Text: "to spare"}
		case c.now.After(at.Add(tolerance)):
			row.State = ui.Mark{State: ui.Stop, Text: "late"}
		}
		if refused {
			row.Why = append(row.Why, "its batch was refused")
		}
		return row, false
	}
	br := x.Break(nil, c.basis)
	row.Broken, row.Age = c.day(*sp.BrokenAt), ageText(br.AgeHours)
	if sp.Load != nil {
		row.Load = c.figureAs(sp.Typed, "load_n", units.Forces, float64(*sp.Load))
	}
	differs := false
	if sp.Raw != nil && sp.Strength != nil && *sp.Raw > 0 {
		row.Raw, row.Value = c.strengthFigure(*sp.Raw), c.strengthFigure(*sp.Strength)
		row.Factor = strconv.FormatFloat(float64(*sp.Strength / *sp.Raw), 'f', 2, 64)
		differs = *sp.Strength != br.Converted
		if !differs {
			info, _ := x.Kind.Info()
			_, source, tag := info.FactorIn(c.basis)
			row.FactorFrom, row.Tag = source, string(tag)
		}
	}
	row.State = timingMark(br.Timing)
	switch {
	case sp.Held != "":
		row.State, row.Why = ui.Mark{State: ui.Caution, Text: "held"}, []string{sp.Held}
	case refused:
		row.State, row.Why = ui.Mark{State: ui.Void, Text: "batch refused"}, []string{"its batch was refused, so it proves nothing of the panel"}
	default:
		row.State = ui.Mark{State: ui.Good, Text: "counts"}
	}
	row.Why = append(row.Why, br.Notes...)
	if sp.TestedBy != "" {
		row.Why = append(row.Why, "tested by "+sp.TestedBy)
	}
	return row, differs
}

// timingMark says how a break lies to its window.
func timingMark(t uhpc.Timing) ui.Mark {
	switch t {
	case uhpc.Early:
		return ui.Mark{State: ui.Caution, Text: "early"}
	case uhpc.Late:
		return ui.Mark{State: ui.Caution, Text: "late"}
	case uhpc.OnTime:
		return ui.Mark{State: ui.Good, Text: "in its window"}
	}
	return ui.Mark{State: ui.Wait, Text: "waits"}
}

// awaited reports whether a specimen is to be broken at its age: one to spare is so
// only where another set does not decide, and a lost one never.
func awaited(sp repair.Specimen) bool {
	return sp.BrokenAt == nil && sp.LostAt == nil && sp.Purpose != string(uhpc.Spare)
}

// dueLines says when specimens that wait come due, one line an age.
func (c *castReader) dueLines(specimens []repair.Specimen) []casting.DueLine {
	type key struct {
		at    int64
		hours float64
		cure  uhpc.Cure
	}
	counts := map[key]int{}
	var order []uhpc.Due
	var waiting []uhpc.Specimen
	for _, sp := range specimens {
		if awaited(sp) {
			waiting = append(waiting, repair.SpecimenOf(sp, repair.Pour{}))
		}
	}
	for _, d := range uhpc.DueList(waiting, c.now, c.zone, c.basis) {
		k := key{d.At.Unix(), d.Specimen.NominalHours, d.Specimen.Cure}
		if counts[k] == 0 {
			order = append(order, d)
		}
		counts[k]++
	}
	var out []casting.DueLine
	for _, d := range order {
		n := counts[key{d.At.Unix(), d.Specimen.NominalHours, d.Specimen.Cure}]
		out = append(out, casting.DueLine{What: fmt.Sprintf("%d × %s, %s", n, ageText(d.Specimen.NominalHours), cureWords(string(d.Specimen.Cure))),
			When: c.day(d.At) + c.dueNote(d), Mark: dueMark(d.State)})
	}
	return out
}

// dueNote warns of hours at which a laboratory may be shut.
func (c *castReader) dueNote(d uhpc.Due) string {
	switch {
	case d.Weekend && c.night(d.At):
		return ", a weekend night"
	case d.Weekend:
		return ", a weekend"
	case c.night(d.At):
		return ", at night"
	}
	return ""
}

func dueMark(s uhpc.DueState) ui.Mark {
	switch s {
	case uhpc.Overdue:
		return ui.Mark{State: ui.Stop, Text: "late"}
	case uhpc.DueNow:
		return ui.Mark{State: ui.Active, Text: "due now"}
	}
	return ui.Mark{State: ui.Wait, Text: "coming"}
}

// chart draws the sets over their age; nil where nothing was made.
func (c *castReader) chart(sets []setReading) *casting.Chart {
	if len(sets) == 0 {
		return nil
	}
	strip, final := units.Stress(c.basis.Value(basis.StripStrength)), units.Stress(c.basis.Value(basis.FinalStrength))
	ages, top := 30.0, 1.15*max(float64(strip), float64(final))
	for _, r := range sets {
		ages = max(ages, 1.07*r.set.NominalHours/24)
		for _, sp := range r.set.Specimens {
			if !sp.Broken.IsZero() {
				br := sp.Break(nil, c.basis)
				ages, top = max(ages, 1.07*br.AgeHours/24), max(top, 1.1*float64(br.Converted))
			}
		}
	}
	step := 5 * float64(units.Ksi)
	if c.sys == units.SI {
		step = 50
	}
	out := &casting.Chart{Title: "Strength over age, with the limits of the design basis", Unit: units.Stresses.Label(c.sys)}
	for v := 0.0; v <= top; v += step {
		out.ValueTicks = append(out.ValueTicks, casting.Tick{At: casting.ValueAt(v, top), Text: units.Stresses.Figure(v, c.sys, 0)})
	}
	for _, d := range []float64{1, 2, 4, 7, 14, 28, 56, 90, 180} {
		if d <= ages {
			out.AgeTicks = append(out.AgeTicks, casting.Tick{At: casting.AgeAt(d, ages), Text: strconv.Itoa(int(d))})
		}
	}
	out.Limits = []casting.LimitLine{{From: casting.ChartLeft, Y: casting.ValueAt(float64(strip), top), Text: c.strength(strip) + " to strip the form"},
		{From: casting.AgeAt(14, ages), Y: casting.ValueAt(float64(final), top), Text: c.strength(final) + " at 28 d"}}
	for _, r := range sets {
		x := casting.AgeAt(r.set.NominalHours/24, ages)
		waits := false
		for _, sp := range r.set.Specimens {
			if sp.Broken.IsZero() {
				waits = true
				continue
			}
			br := sp.Break(nil, c.basis)
			out.Points = append(out.Points, casting.Point{X: casting.AgeAt(br.AgeHours/24, ages), Y: casting.ValueAt(float64(br.Converted), top),
				Held: !br.Counts || r.refused, Field: sp.Cure != uhpc.StandardCure})
		}
		if waits && !slices.ContainsFunc(out.Waiting, func(t casting.Tick) bool { return math.Abs(t.At-x) < 1 }) {
			out.Waiting = append(out.Waiting, casting.Tick{At: x})
		}
		if r.stats.State == uhpc.Sound && !r.refused {
			out.Means = append(out.Means, casting.Mean{X: x, Y: casting.ValueAt(float64(r.stats.Mean), top), Text: c.strengthFigure(r.stats.Mean)})
		}
	}
	return out
}
