package exchange

import (
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// cells turns a bridge into tables of text, each with its header row. Quantities
// are in the units of the family, or in their own where they were typed so.
type cells struct {
	sys    units.System
	tables map[string][][]string
}

func tablesOf(b Bridge, sys units.System) cells {
	c := cells{sys: sys, tables: map[string][][]string{}}
	for _, t := range tables {
		c.tables[t.name] = [][]string{c.header(t)}
	}
	for _, s := range b.Supports {
		c.row(TableSupports, s.Typed, map[string]any{"code": s.Code, "name": s.Name, "station": s.Station})
	}
	for _, s := range b.Spans {
		c.row(TableSpans, s.Typed, map[string]any{"number": s.Number, "length": s.Length, "girders": s.Girders, "spacing": s.Spacing,
			"from_support": s.From, "to_support": s.To, "continuous": s.Continuous, "note": s.Note})
	}
	for _, s := range b.Sections {
		c.row(TableSections, s.Typed, map[string]any{"name": s.Name, "kind": string(s.Kind), "d": s.Depth, "bf": s.FlangeWidth, "tf": s.FlangeThickness,
			"tf_top": s.TopFlangeThickness, "bf_top": s.TopFlangeWidth, "tw": s.WebThickness, "k": s.FilletK, "source": s.Source})
	}
	for _, e := range b.Ends {
		c.end(e)
	}
	for _, s := range b.Surveys {
		c.survey(s)
	}
	return c
}

func (c cells) header(t table) []string {
	out := make([]string, len(t.columns))
	for i, col := range t.columns {
		out[i] = col.name
		if col.typ == quantityCell {
			out[i] += " [" + label0(col.kind, c.sys) + "]"
		}
	}
	return out
}

// row appends one row. Lengths and the like are quantities of the column's kind;
// a column without a value stays blank.
func (c cells) row(name string, typed Typed, values map[string]any) {
	t, _ := tableNamed(name)
	out := make([]string, len(t.columns))
	for i, col := range t.columns {
		quantity := func(v float64) string {
			return writeQuantity(col.kind, v, typed[col.name], label0(col.kind, c.sys), c.sys)
		}
		switch v := values[col.name].(type) {
		case string:
			out[i] = guard(v)
		case int:
			out[i] = strconv.Itoa(v)
		case bool:
			if v {
				out[i] = "yes"
			}
		case time.Time:
			if !v.IsZero() {
				out[i] = v.UTC().Format(time.RFC3339Nano)
			}
		case units.Length:
			out[i] = quantity(float64(v))
		case *units.Length:
			if v != nil {
				out[i] = quantity(float64(*v))
			}
		case units.Stress:
			out[i] = quantity(float64(v))
		case units.Force:
			out[i] = quantity(float64(v))
		case units.Angle:
			out[i] = quantity(float64(v))
		}
	}
	c.tables[name] = append(c.tables[name], out)
}

// given is the value, or nothing where it is the zero that a blank cell means and
// nobody typed it.
func given(v units.Length, typed Typed, column string) *units.Length {
	if _, was := typed[column]; v == 0 && !was {
		return nil
	}
	return &v
}

func (c cells) end(e End) {
	g := e.Geometry
	fixity := "expansion"
	if g.Bearing.Fixed {
		fixity = "fixed"
	}
	v := map[string]any{
		"name": g.Name.String(), "support": e.Support, "face": faceOf(g.Name), "skew_deg": g.SkewDeg, "section": g.Section.Name,
		"bearing": string(g.Bearing.Kind), "fixity": fixity,
		"bearing_start": g.Bearing.Start, "bearing_length": g.Bearing.Length, "bearing_width": g.Bearing.Width,
		"fy": g.Fy, "fy_source": e.FySource, "reaction_source": e.ReactionSource,
		"held_against_roll": g.HeldAgainstRoll, "diaphragm_x": given(g.DiaphragmX, e.Typed, "diaphragm_x"), "end_panel": given(g.EndPanel, e.Typed, "end_panel"),
		"access": e.Access, "alias": strings.Join(e.Aliases, "; "), "chosen_steps": strings.Join(e.Chosen, "; "), "reaction_factored": e.Reaction,
	}
	if _, typed := e.Typed["skew_deg"]; g.SkewDeg == 0 && !typed {
		delete(v, "skew_deg")
	}
	if _, typed := e.Typed["fu"]; typed || g.Fu != g.Fy {
		v["fu"] = g.Fu
	}
	if st := g.Stiffener; st != nil {
		v["stiffener_pairs"], v["stiffener_width"], v["stiffener_thickness"], v["stiffener_x"] = st.Pairs, st.Width, st.Thickness, st.X
		v["stiffener_clip"] = given(st.Clip, e.Typed, "stiffener_clip")
		if _, typed := e.Typed["stiffener_fy"]; typed || st.Fy != g.Fy {
			v["stiffener_fy"] = st.Fy
		}
	}
	c.row(TableEnds, e.Typed, v)
}

func (c cells) survey(s Survey) {
	f := s.Findings
	c.row(TableSurveys, s.Typed, map[string]any{
		"end": s.End.String(), "survey_no": s.Number, "kind": s.Kind, "taken_at": s.TakenAt, "taken_by": s.TakenBy, "method": s.Method, "gauge": s.Gauge,
		"thicker_reason": s.ThickerReason, "note": s.Note,
		"flange_t": f.FlangeThickness, "stiffener_t": f.StiffenerThickness, "stiffener_w": f.StiffenerWidth,
		"deviation": given(f.WebDeviation, s.Typed, "deviation"), "detached": given(f.WebDetached, s.Typed, "detached"),
	})
	for i, r := range f.Readings {
		var n ReadingNote
		if i < len(s.Readings) {
			n = s.Readings[i]
		}
		c.reading(s.End, s.Number, r, n)
	}
	for i, h := range f.Holes {
		var typed Typed
		if i < len(s.Holes) {
			typed = s.Holes[i]
		}
		c.row(TableHoles, typed, map[string]any{"end": s.End.String(), "survey_no": s.Number, "x": h.X, "z": h.Z, "width": h.Width, "height": h.Height,
			"rim": given(h.Rim, typed, "rim")})
	}
}

func (c cells) reading(end girder.Name, number int, r survey.Reading, n ReadingNote) {
	v := map[string]any{"end": end.String(), "survey_no": number, "face": string(r.Face), "x": r.X, "z": r.Z, "no_access": r.NoAccess, "reason": n.Reason}
	if !r.NoAccess {
		v["t"] = r.T
	}
	c.row(TableReadings, Typed{"x": n.X, "z": n.Z, "t": n.T}, v)
}
