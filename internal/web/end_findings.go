package web

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/quality"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
	"endcast/views/end"
	"endcast/views/ui"
)

// newestFirst orders rows by a moment, the latest first.
func newestFirst[T any](rows []T, at func(T) time.Time) []T {
	out := slices.Clone(rows)
	slices.SortStableFunc(out, func(a, b T) int { return at(b).Compare(at(a)) })
	return out
}

func (e *endReader) cleanings() []end.Cleaning {
	var out []end.Cleaning
	for _, c := range newestFirst(e.rec.Cleanings, func(c repair.Cleaning) time.Time { return c.EndedAt }) {
		row := end.Cleaning{Zone: quality.Zone(c.Zone).Words(), Grade: c.Grade, When: e.when(c.EndedAt), By: e.name(c.ByUser), Note: c.Note}
		if c.Rust != "" && c.Rust != string(quality.NoRust) {
			row.Grade += ", flash rust " + plainWord(c.Rust)
		}
		var air []string
		if c.SteelTemp != nil {
			air = append(air, "steel "+c.SteelTemp.Format(e.sys, -1))
		}
		if c.AirTemp != nil {
			air = append(air, "air "+c.AirTemp.Format(e.sys, -1))
		}
		if c.Humidity != nil {
			air = append(air, fmt.Sprintf("humidity %.0f%%", *c.Humidity))
		}
		row.Air = strings.Join(air, ", ")
		if c.Method != "" {
			row.Note = strings.Trim(c.Method+"; "+c.Note, "; ")
		}
		out = append(out, row)
	}
	return out
}

// collars sums up the findings at the studs of the design in force.
func (e *endReader) collars() *end.Collars {
	d := e.rec.DesignInForce()
	if d == nil {
		return nil
	}
	latest := e.rec.LatestCollars(d.ID)
	if len(latest) == 0 {
		return nil
	}
	out := &end.Collars{Revision: numberOf(d.Revision)}
	counts := map[stud.Outcome]int{}
	var remarked []repair.Collar
	for _, st := range e.rec.StudsOf(d.ID) {
		c, ok := latest[st.Mark]
		if !ok {
			counts[stud.Unseen]++
			continue
		}
		o := stud.Outcome(c.Outcome)
		counts[o]++
		if !stud.Counts(o) || c.Note != "" || c.Repair != "" || c.Fissure {
			remarked = append(remarked, c)
		}
	}
	for _, o := range append(stud.Outcomes(), stud.Unseen) {
		if counts[o] > 0 {
			out.Counts = append(out.Counts, end.Count{Count: numberOf(counts[o]), Mark: ui.Mark{State: collarState(o), Text: o.Words()}})
		}
	}
	slices.SortFunc(remarked, func(a, b repair.Collar) int { return cmp.Compare(a.Mark, b.Mark) })
	for _, c := range remarked {
		out.Missed = append(out.Missed, end.Collar{Mark: c.Mark, Outcome: stud.Outcome(c.Outcome).Words(), Detail: e.collarDetail(c), When: e.when(c.CapturedAt), By: e.name(c.ByUser)})
	}
	return out
}

func collarState(o stud.Outcome) ui.State {
	switch {
	case o == stud.Unseen:
		return ui.Open
	case stud.Counts(o):
		return ui.Good
	}
	return ui.Stop
}

func (e *endReader) collarDetail(c repair.Collar) string {
	var parts []string
	if c.GapClock != nil && c.GapLength != nil {
		parts = append(parts, fmt.Sprintf("gap of %s at %d o'clock", c.GapLength.Format(e.sys, -1), *c.GapClock))
	}
	if c.Fissure {
		parts = append(parts, "fissure")
	}
	if c.BendDeg != nil {
		parts = append(parts, "bent "+units.Angles.Format(*c.BendDeg, e.sys, 0))
	}
	if c.Height != nil {
		parts = append(parts, "height "+c.Height.Format(e.sys, -1))
	}
	for _, text := range []string{c.Repair, c.Note} {
		if text != "" {
			parts = append(parts, text)
		}
	}
	return strings.Join(parts, "; ")
}

// inspectionWords are the subjects that somebody signs for.
var inspectionWords = map[string]string{"curing": "Curing complete", "hardened": "Hardened panel", "gauges": "Gauges at zero", "load_path": "Load path",
	"test_studs": "Test studs of the shift", "form": "Form", "core": "Core through the deck", "note": "Note"}

func (e *endReader) inspections() []end.Inspection {
	var out []end.Inspection
	for _, x := range newestFirst(e.rec.Inspections, func(x repair.Inspection) time.Time { return x.CapturedAt }) {
		out = append(out, end.Inspection{Subject: inspectionWords[x.Subject], Outcome: inspectionMark(x.Outcome), Note: x.Note, By: x.ByName + ", " + sequence.RoleWords(sequence.Role(x.ByRole)), When: e.when(x.CapturedAt)})
	}
	return out
}

// nonconformances lists the open ones first, then the newest.
func (e *endReader) nonconformances() []end.Nonconformance {
	rows := newestFirst(e.rec.Nonconformances, func(n repair.Nonconformance) time.Time { return n.RaisedAt })
	slices.SortStableFunc(rows, func(a, b repair.Nonconformance) int {
		return cmp.Compare(boolInt(a.ClosedAt != nil), boolInt(b.ClosedAt != nil))
	})
	var out []end.Nonconformance
	for _, n := range rows {
		row := end.Nonconformance{Number: numberOf(n.Number), Requirement: n.Requirement, Found: n.Found, Containment: n.Containment, Proposed: plainWord(n.Proposed),
			Disposition: plainWord(n.Disposition), Reinspection: n.Reinspection, Critical: n.Critical, Stops: "every step that allows none open",
			Raised: e.name(n.RaisedBy) + ", " + e.when(n.RaisedAt), State: ui.Mark{State: ui.Stop, Text: "open"}}
		if len(n.Stops) > 0 {
			row.Stops = "steps " + strings.Join(n.Stops, ", ")
		}
		if n.DecidedAt != nil {
			row.Decided = n.DecidedBy + ", " + e.when(*n.DecidedAt)
			row.State = ui.Mark{State: ui.Wait, Text: "decided, not closed"}
			if n.Cause != "" {
				row.Decided += "; cause: " + n.Cause
			}
		}
		if n.ClosedAt != nil {
			row.Closed = "closed by " + n.ClosedBy + ", " + e.when(*n.ClosedAt)
			row.State = ui.Mark{State: ui.Good, Text: "closed"}
		}
		out = append(out, row)
	}
	return out
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}
