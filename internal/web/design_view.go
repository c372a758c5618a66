package web

import (
	"errors"
	"strconv"
	"strings"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
	"endcast/views/design"
	"endcast/views/ui"
)

func asFields(err error) (*fault.Invalid, bool) { return errors.AsType[*fault.Invalid](err) }

// studSizes are the diameters that studs of bridge work are made in; common
// practice, no source. Any other is kept when a design has it.
var studSizes = []struct {
	text string
	size units.Length
}{
	{"1/2", units.Inch / 2}, {"5/8", units.Inch * 5 / 8}, {"3/4", units.Inch * 3 / 4}, {"7/8", units.Inch * 7 / 8}, {"1", units.Inch},
}

// form is the fields of the desk with what is typed in them.
func (d *designDesk) form() design.Form {
	n := strconv.Itoa(d.saves())
	f := design.Form{ID: "design-form", SaveHref: d.path("design"), PreviewHref: d.path("design", "preview"), Entry: d.entry, Version: d.version,
		Length: units.Lengths.Label(d.sys), Faces: []ui.Option{{Value: "L", Label: "left"}, {Value: "R", Label: "right"}},
		SaveLabel: "Save draft of revision " + n, SubmitLabel: "Submit revision " + n + " for review", Guarded: d.guarded,
		Note: ui.Field{Name: "note", Label: "Design note", Hint: "For the reviewer. A design that does not pass needs the reason why it should be reviewed as it is.",
			Value: d.typed.fields["note"], Rows: 3, Optional: true}}
	if d.s.can(d.r, authz.SubmitDesign) {
		f.SubmitHref = d.path("design", "submit")
	}
	for _, m := range materialFields {
		x := d.field(m)
		if m.name == "stud-diameter" {
			x = d.sizes(x)
		}
		f.Materials = append(f.Materials, x)
	}
	for _, m := range panelFields {
		f.Panel = append(f.Panel, d.field(m))
	}
	for _, p := range patternFields {
		x := ui.Field{Name: p.name, Label: p.label, Value: d.typed.fields[p.name]}
		switch {
		case p.name == "pattern-faces":
			x.Options = []ui.Option{{Value: "both", Label: "both"}, {Value: "left", Label: "left"}, {Value: "right", Label: "right"}}
		case p.count:
			x.InputMode = "numeric"
		default:
			x.Unit = f.Length
		}
		f.Pattern = append(f.Pattern, x)
	}
	for i, s := range d.typed.studs {
		f.Studs = append(f.Studs, design.Stud{N: strconv.Itoa(i + 1), Mark: s.mark, Row: s.row, Col: s.col, X: s.x, Z: s.z, Face: s.face})
	}
	return f
}

// field is one length or stress. It takes fractions and other units, so that it
// asks for the full keyboard.
func (d *designDesk) field(m designField) ui.Field {
	return ui.Field{Name: m.name, Label: m.label, Hint: m.hint, Value: d.typed.fields[m.name], Unit: m.kind.Label(d.sys)}
}

// sizes makes the stud diameter a choice, with the size of the design among them.
func (d *designDesk) sizes(x ui.Field) ui.Field {
	x.Unit = ""
	v, err := units.Lengths.Parse(x.Value, d.sys)
	found := false
	for _, s := range studSizes {
		o := ui.Option{Value: s.text + " in", Label: s.text + " in"}
		if d.sys == units.SI {
			o.Label += " (" + s.size.Format(d.sys, 1) + ")"
		}
		if err == nil && v == float64(s.size) {
			x.Value, found = o.Value, true
		}
		x.Options = append(x.Options, o)
	}
	if !found && strings.TrimSpace(x.Value) != "" {
		label := x.Value
		if err == nil {
			label = units.Lengths.Format(v, d.sys, -1)
		}
		x.Options = append([]ui.Option{{Value: x.Value, Label: label}}, x.Options...)
	}
	return x
}

// formReasons puts every fault beside the field that it belongs to.
func (d *designDesk) formReasons(f *design.Form, bad *fault.Invalid) {
	if bad == nil {
		return
	}
	for _, list := range [][]ui.Field{f.Materials, f.Panel, f.Pattern} {
		for i := range list {
			if p := bad.Of(list[i].Name); p != nil {
				list[i].Reason = p.Reason
			}
		}
	}
	if p := bad.Of("note"); p != nil {
		f.Note.Reason = p.Reason
	}
	if p := bad.Of("studs"); p != nil {
		f.StudsBad = p.Reason
	}
	for i := range f.Studs {
		s := &f.Studs[i]
		s.Reasons = map[string]string{}
		for _, col := range []string{"mark", "row", "col", "x", "z", "face"} {
			if p := bad.Of("stud-" + s.N + "-" + col); p != nil {
				s.Reasons[col] = p.Reason
			}
		}
	}
}

// labelled puts the name of its field before every reason, for a list of them.
func (d *designDesk) labelled(bad *fault.Invalid) *fault.Invalid {
	if bad == nil {
		return nil
	}
	out := &fault.Invalid{}
	for _, f := range bad.Fields {
		if l := d.label(f.Field); l != "" {
			f.Reason = l + ": " + f.Reason
		}
		out.Fields = append(out.Fields, f)
	}
	return out
}

func (d *designDesk) label(name string) string {
	for _, f := range allDesignFields() {
		if f.name == name {
			if strings.HasPrefix(name, "panel-") {
				return "panel, " + strings.ToLower(f.label[:1]) + f.label[1:]
			}
			return f.label
		}
	}
	for _, f := range patternFields {
		if f.name == name {
			return "pattern, " + strings.ToLower(f.label[:1]) + f.label[1:]
		}
	}
	parts := strings.Split(name, "-")
	if len(parts) != 3 || parts[0] != "stud" {
		return ""
	}
	stud := d.typed.typed("stud-" + parts[1] + "-mark")
	if stud == "" || parts[2] == "mark" {
		stud = parts[1]
	}
	if parts[2] == "col" {
		parts[2] = "column"
	}
	return "stud " + stud + ", " + parts[2]
}
