package web

import (
	"net/url"
	"regexp"
	"strconv"
	"strings"

	"endcast/internal/domain/encasement"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// designTyped is a design as somebody types it: nothing is read yet and nothing
// lost.
type designTyped struct {
	fields map[string]string
	studs  []studTyped
}

type studTyped struct{ mark, row, col, x, z, face string }

// designField is one value of a design apart from its studs.
type designField struct {
	name, label, hint string
	kind              units.Kind
	optional          bool // left empty it is 0
	get               func(*repair.DesignIn) float64
	set               func(*repair.DesignIn, float64)
}

func lengthField(name, label, hint string, optional bool, at func(*repair.DesignIn) *units.Length) designField {
	return designField{name, label, hint, units.Lengths, optional, func(in *repair.DesignIn) float64 { return float64(*at(in)) },
		func(in *repair.DesignIn, v float64) { *at(in) = units.Length(v) }}
}

func stressField(name, label, hint string, at func(*repair.DesignIn) *units.Stress) designField {
	return designField{name, label, hint, units.Stresses, false, func(in *repair.DesignIn) float64 { return float64(*at(in)) },
		func(in *repair.DesignIn, v float64) { *at(in) = units.Stress(v) }}
}

var materialFields = []designField{
	lengthField("stud-diameter", "Stud diameter", "", false, func(in *repair.DesignIn) *units.Length { return &in.StudDiameter }),
	lengthField("stud-height", "Stud height", "After welding, over all.", false, func(in *repair.DesignIn) *units.Length { return &in.StudHeight }),
	stressField("stud-fu", "Stud strength, Fu", "Least tensile strength.", func(in *repair.DesignIn) *units.Stress { return &in.StudFu }),
	stressField("fc", "UHPC strength, f′c", "Specified; at the age it is loaded.", func(in *repair.DesignIn) *units.Stress { return &in.Fc }),
}

var panelFields = []designField{
	lengthField("panel-x", "From the girder end, x", "", false, func(in *repair.DesignIn) *units.Length { return &in.PanelX }),
	lengthField("panel-z", "Above the flange, z", "0 sits on the flange.", false, func(in *repair.DesignIn) *units.Length { return &in.PanelZ }),
	lengthField("panel-width", "Width", "", false, func(in *repair.DesignIn) *units.Length { return &in.PanelWidth }),
	lengthField("panel-height", "Height", "", false, func(in *repair.DesignIn) *units.Length { return &in.PanelHeight }),
	lengthField("panel-left", "Thickness, left face", "0 for none.", true, func(in *repair.DesignIn) *units.Length { return &in.PanelLeft }),
	lengthField("panel-right", "Thickness, right face", "0 for none.", true, func(in *repair.DesignIn) *units.Length { return &in.PanelRight }),
	lengthField("panel-gap", "Gap under the foot", "0 when cast tight.", true, func(in *repair.DesignIn) *units.Length { return &in.PanelGap }),
}

// faultNames are the fields of package encasement by the names of the form.
var faultNames = map[string]string{"stud_diameter": "stud-diameter", "stud_height": "stud-height", "stud_fu": "stud-fu", "fc": "fc",
	"panel.x": "panel-x", "panel.z": "panel-z", "panel.width": "panel-width", "panel.height": "panel-height",
	"panel.thickness_left": "panel-left", "panel.thickness_right": "panel-right", "panel.gap": "panel-gap", "studs": "studs"}

var faultOfStud = regexp.MustCompile(`^studs\[(\d+)\]\.(\w+)$`)

// longestNote is how many bytes a design note may have.
const longestNote = 4000

// readDesignTyped takes a form as it came.
func readDesignTyped(form url.Values) designTyped {
	t := designTyped{fields: map[string]string{"note": form.Get("note")}}
	for _, f := range allDesignFields() {
		t.fields[f.name] = form.Get(f.name)
	}
	for _, f := range patternFields {
		t.fields[f.name] = form.Get(f.name)
	}
	for i := 1; i <= encasement.MaxStuds+50; i++ {
		key := "stud-" + strconv.Itoa(i) + "-"
		if !form.Has(key + "mark") {
			break
		}
		st := studTyped{form.Get(key + "mark"), form.Get(key + "row"), form.Get(key + "col"), form.Get(key + "x"), form.Get(key + "z"), form.Get(key + "face")}
		t.studs = append(t.studs, st)
	}
	return t
}

func allDesignFields() []designField {
	return append(append([]designField(nil), materialFields...), panelFields...)
}

// designTypedOf turns a stored design back into what was typed, in the units of
// the reader.
func designTypedOf(in repair.DesignIn, sys units.System) designTyped {
	t := designTyped{fields: map[string]string{"note": in.Note}}
	for _, f := range allDesignFields() {
		t.fields[f.name] = asTyped(in.Typed[f.name], f.kind, f.get(&in), sys)
	}
	for _, s := range in.Studs {
		key := "stud-" + s.Mark + "-"
		t.studs = append(t.studs, studTyped{s.Mark, strconv.Itoa(s.Row), strconv.Itoa(s.Col), asTyped(in.Typed[key+"x"], units.Lengths, float64(s.X), sys),
			asTyped(in.Typed[key+"z"], units.Lengths, float64(s.Z), sys), s.Face})
	}
	t.infer(in.Layout(), sys)
	return t
}

// asTyped is what somebody typed for a value, as long as it still means that value
// to this reader; otherwise the value in the reader's units.
func asTyped(typed string, kind units.Kind, value float64, sys units.System) string {
	if typed != "" {
		if v, err := kind.Parse(typed, sys); err == nil && v == value {
			return typed
		}
	}
	return kind.Exact(value, sys)
}

// read turns what was typed into a design, or lists every value that cannot be
// read. The design holds what could be read either way.
func (t designTyped) read(sys units.System) (repair.DesignIn, *fault.Invalid) {
	in := repair.DesignIn{Note: strings.TrimSpace(t.fields["note"]), Typed: repair.Typed{}}
	bad := &fault.Invalid{}
	number := func(name, key, typed string, kind units.Kind) float64 {
		v, err := kind.Parse(typed, sys)
		if err != nil {
			bad.Add(name, typed, "%s", err.Error())
			return 0
		}
		if text := strings.TrimSpace(typed); text != kind.Exact(v, sys) {
			in.Typed[key] = text
		}
		return v
	}
	for _, f := range allDesignFields() {
		typed := t.fields[f.name]
		if f.optional && strings.TrimSpace(typed) == "" {
			continue
		}
		f.set(&in, number(f.name, f.name, typed, f.kind))
	}
	if len(in.Note) > longestNote {
		bad.Add("note", t.fields["note"], "must have at most %d characters, got %d", longestNote, len(in.Note))
	}
	for i, s := range t.studs {
		name := "stud-" + strconv.Itoa(i+1) + "-"
		out := repair.StudIn{Mark: strings.TrimSpace(s.mark), Face: s.face}
		key := "stud-" + out.Mark + "-"
		out.Row = whole(bad, name+"row", s.row)
		out.Col = whole(bad, name+"col", s.col)
		out.X = units.Length(number(name+"x", key+"x", s.x, units.Lengths))
		out.Z = units.Length(number(name+"z", key+"z", s.z, units.Lengths))
		in.Studs = append(in.Studs, out)
	}
	if bad.Err() == nil {
		return in, nil
	}
	return in, bad
}

func whole(bad *fault.Invalid, name, typed string) int {
	n, err := strconv.Atoi(strings.TrimSpace(typed))
	if err != nil {
		bad.Add(name, typed, "%q must be a whole number", typed)
	}
	return n
}

// named gives faults of the rules the names of the form, with what was typed and
// figures in the reader's units.
func (t designTyped) named(v *fault.Invalid, sys units.System) *fault.Invalid {
	if v == nil {
		return nil
	}
	out := &fault.Invalid{}
	for _, f := range v.Fields {
		name := f.Field
		if n, ok := faultNames[name]; ok {
			name = n
		} else if m := faultOfStud.FindStringSubmatch(name); m != nil {
			name = "stud-" + m[1] + "-" + m[2]
		}
		out.Fields = append(out.Fields, fault.Field{Field: name, Typed: t.typed(name), Reason: inReadersUnits(f.Reason, sys)})
	}
	return out
}

// typed is what stands in a field.
func (t designTyped) typed(name string) string {
	if v, ok := t.fields[name]; ok {
		return v
	}
	parts := strings.Split(name, "-")
	if len(parts) != 3 || parts[0] != "stud" {
		return ""
	}
	i, err := strconv.Atoi(parts[1])
	if err != nil || i < 1 || i > len(t.studs) {
		return ""
	}
	s := t.studs[i-1]
	return map[string]string{"mark": s.mark, "row": s.row, "col": s.col, "x": s.x, "z": s.z, "face": s.face}[parts[2]]
}

var topOfRule = regexp.MustCompile(`^(must end at or below the top flange), (\S+) mm (above the bottom flange, got) (\S+)$`)

var rangeOfRule = regexp.MustCompile(`^must lie from (\S+) to (\S+) (mm|MPa), got (\S+)$`)

// inReadersUnits prints the range that a rule states in coherent units in those of
// the reader.
func inReadersUnits(reason string, sys units.System) string {
	if m := topOfRule.FindStringSubmatch(reason); m != nil {
		top, terr := strconv.ParseFloat(m[2], 64)
		got, gerr := strconv.ParseFloat(m[4], 64)
		if terr == nil && gerr == nil {
			return m[1] + ", " + units.Lengths.Format(top, sys, -1) + " " + m[3] + " " + units.Lengths.Format(got, sys, -1)
		}
	}
	m := rangeOfRule.FindStringSubmatch(reason)
	if m == nil {
		return reason
	}
	kind := units.Lengths
	if m[3] == "MPa" {
		kind = units.Stresses
	}
	var text [3]string
	for i, s := range []string{m[1], m[2], m[4]} {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			return reason
		}
		text[i] = units.Significant(kind.Shown(sys, v), 4)
	}
	return "must lie from " + text[0] + " to " + text[1] + " " + kind.Label(sys) + ", got " + text[2]
}
