package web

import (
	"fmt"
	"time"

	"endcast/internal/domain/units"
	"endcast/views/design"
	"endcast/views/ui"
)

// factColumns are the facts of an end that its numbers follow from, as the journal
// names them.
var factColumns = []struct {
	table, column, name string
	kind                units.Kind
	plain               bool // a word or a number without a unit
}{
	{"girder_end", "reaction_n", "Factored reaction", units.Forces, false},
	{"girder_end", "section_id", "Section", 0, true},
	{"girder_end", "fy_mpa", "Yield strength", units.Stresses, false},
	{"girder_end", "fu_mpa", "Tensile strength", units.Stresses, false},
	{"girder_end", "bearing_kind", "Bearing", 0, true},
	{"girder_end", "bearing_start_mm", "Bearing, from the girder end", units.Lengths, false},
	{"girder_end", "bearing_length_mm", "Bearing length", units.Lengths, false},
	{"girder_end", "bearing_width_mm", "Bearing width", units.Lengths, false},
	{"girder_end", "held_against_roll", "Held against roll", 0, true},
	{"girder_end", "diaphragm_x_mm", "End diaphragm, from the girder end", units.Lengths, false},
	{"girder_end", "end_panel_mm", "To the first intermediate stiffener", units.Lengths, false},
	{"girder_end", "skew_deg", "Skew", units.Angles, false},
	{"girder_end", "stiffener_pairs", "Stiffener pairs", 0, true},
	{"girder_end", "stiffener_width_mm", "Stiffener width", units.Lengths, false},
	{"girder_end", "stiffener_thickness_mm", "Stiffener thickness", units.Lengths, false},
	{"girder_end", "stiffener_clip_mm", "Stiffener clip", units.Lengths, false},
	{"girder_end", "stiffener_x_mm", "Stiffener, from the girder end", units.Lengths, false},
	{"girder_end", "stiffener_fy_mpa", "Stiffener yield strength", units.Stresses, false},
	{"survey", "flange_thickness_mm", "Bottom flange thickness left, corrected", units.Lengths, false},
	{"survey", "stiffener_thickness_mm", "Stiffener thickness left, corrected", units.Lengths, false},
	{"survey", "stiffener_width_mm", "Stiffener width left, corrected", units.Lengths, false},
	{"survey", "web_deviation_mm", "Web out of plane, corrected", units.Lengths, false},
	{"survey", "web_detached_mm", "Web detached from the flange, corrected", units.Lengths, false},
	{"hole", "withdrawn", "A hole was withdrawn", 0, true},
}

// historyReach is how many entries of the journal are looked through for what
// moved; a record with more since an approval shows the latest.
const historyReach = 300

// factsMoved reads from the journal which facts of the end changed after a moment.
func (e *endReader) factsMoved(since time.Time) ([]design.Changed, error) {
	lines, err := e.s.store.History(e.r.Context(), e.sc.Program.ID, e.rec.End.ID, 0, historyReach)
	if err != nil {
		return nil, err
	}
	type span struct{ was, is any }
	found := map[string]span{}
	holes := 0
	for _, l := range lines { // newest first
		if !l.At.After(since) {
			break
		}
		for _, c := range l.Changes {
			if c.Table == "hole" && c.Old == nil {
				holes++
			}
			for _, f := range factColumns {
				if f.table != c.Table || c.Old == nil || fmt.Sprint(c.Old[f.column]) == fmt.Sprint(c.New[f.column]) {
					continue
				}
				key := f.table + "." + f.column
				x, ok := found[key]
				if !ok {
					x.is = c.New[f.column]
				}
				x.was = c.Old[f.column]
				found[key] = x
			}
		}
	}
	var out []design.Changed
	for _, f := range factColumns {
		x, ok := found[f.table+"."+f.column]
		if !ok || fmt.Sprint(x.was) == fmt.Sprint(x.is) {
			continue
		}
		out = append(out, design.Changed{What: f.name, Mark: ui.Mark{State: ui.Caution, Text: "changed"},
			Was: e.fact(f.kind, f.plain, x.was), Is: e.fact(f.kind, f.plain, x.is)})
	}
	if holes > 0 {
		out = append(out, design.Changed{What: "Holes through the web", Mark: ui.Mark{State: ui.Stop, Text: "added"}, Was: "–", Is: numberOf(holes)})
	}
	return out, nil
}

// fact prints a value of the journal.
func (e *endReader) fact(kind units.Kind, plain bool, v any) string {
	switch x := v.(type) {
	case nil:
		return "–"
	case float64:
		if !plain {
			return kind.Format(x, e.sys, -1)
		}
		return units.Significant(x, 6)
	case bool:
		return yesNo(x)
	case string:
		if sec, ok := e.sc.Section(x); ok {
			return sec.Name
		}
		return plainWord(x)
	}
	return fmt.Sprint(v)
}
