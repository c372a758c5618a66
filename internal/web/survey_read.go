package web

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// surveyRead is what the boxes of a form say.
type surveyRead struct {
	facts    repair.SurveyFacts
	readings []repair.ReadingIn
	holes    []repair.HoleIn
	names    []string // the box of each reading
	holeRows []int    // the row of each hole
	bad      fault.Invalid
	unsound  map[int]bool // readings that the rules refuse
	badHoles map[int]bool // and holes
}

// read turns texts into findings. Whatever cannot be read is noted at its box, and
// the rest is there all the same, for a preview.
func (t *surveyTyped) read(sys units.System, k kept) *surveyRead {
	out := &surveyRead{}
	t.readFacts(out, sys, k)
	xs, xok := t.heads(out, "x", t.x, sys, k, t.columnUsed)
	zs, zok := t.heads(out, "z", t.z, sys, k, t.rowUsed)
	for row := range t.z {
		for col := range t.x {
			for _, f := range surveyFaces {
				text := t.cells[f][row][col]
				if text == "" || !xok[col] || !zok[row] {
					continue
				}
				out.reading(cellName(f, row, col), f, xs[col], zs[row], text, sys, k)
			}
		}
	}
	t.readPoints(out, sys, k)
	t.readHoles(out, sys, k)
	return out
}

// reading adds one reading, or notes why its text cannot be taken.
func (out *surveyRead) reading(name, face string, x, z units.Length, text string, sys units.System, k kept) {
	in := repair.ReadingIn{Face: face, X: x, Z: z, Typed: text}
	if noAccess(text) {
		in.NoAccess = true
	} else if v, err := k.length(text, sys); err == nil {
		in.T = v
	} else {
		out.bad.Add(name, text, "%s", lengthProblem(err))
		return
	}
	out.readings, out.names = append(out.readings, in), append(out.names, name)
}

// lengthProblem says why a length could not be read, without the text itself.
func lengthProblem(err error) string {
	if e, ok := errors.AsType[*units.Error](err); ok {
		return e.Problem + "; want " + e.Want
	}
	return err.Error()
}

func (t *surveyTyped) columnUsed(col int) bool {
	for _, f := range surveyFaces {
		for row := range t.z {
			if t.cells[f][row][col] != "" {
				return true
			}
		}
	}
	return false
}

func (t *surveyTyped) rowUsed(row int) bool {
	for _, f := range surveyFaces {
		for _, text := range t.cells[f][row] {
			if text != "" {
				return true
			}
		}
	}
	return false
}

// heads reads the places along an axis. One is needed wherever readings stand.
func (t *surveyTyped) heads(out *surveyRead, axis string, texts []string, sys units.System, k kept, used func(int) bool) ([]units.Length, []bool) {
	values, ok := make([]units.Length, len(texts)), make([]bool, len(texts))
	for i, text := range texts {
		name := headName(axis, i)
		if text == "" {
			if used(i) {
				out.bad.Add(name, "", "a place is needed where readings stand")
			}
			continue
		}
		v, err := k.length(text, sys)
		if err != nil {
			out.bad.Add(name, text, "%s", lengthProblem(err))
			continue
		}
		values[i], ok[i] = v, true
	}
	return values, ok
}

// readPoints adds the readings of the list.
func (t *surveyTyped) readPoints(out *surveyRead, sys units.System, k kept) {
	number := func(text string) bool { _, err := k.length(text, sys); return err == nil }
	listed, problems := readPaste(t.text["points"], t.text["face"], number)
	for _, p := range problems {
		out.bad.Add("points", "", "%s", p)
	}
	for _, p := range listed {
		x, errX := k.length(p.x, sys)
		z, errZ := k.length(p.z, sys)
		if errX != nil || errZ != nil {
			out.bad.Add("points", "", "line %d: x and z must be lengths", p.line)
			continue
		}
		before := len(out.bad.Fields)
		out.reading("points", p.face, x, z, p.t, sys, k)
		if len(out.bad.Fields) > before {
			last := &out.bad.Fields[before]
			last.Reason, last.Typed = fmt.Sprintf("line %d: %q %s", p.line, p.t, last.Reason), ""
		}
	}
}

func (t *surveyTyped) readHoles(out *surveyRead, sys units.System, k kept) {
	for i, h := range t.holes {
		if strings.Join(h[:], "") == "" {
			continue
		}
		var v [5]units.Length
		fine := true
		for j, part := range holeParts {
			if h[j] == "" && part == "rim" {
				continue
			}
			if h[j] == "" {
				out.bad.Add(holeName(i, part), "", "is needed for a hole; empty the row to leave the hole out")
				fine = false
				continue
			}
			x, err := k.length(h[j], sys)
			if err != nil {
				out.bad.Add(holeName(i, part), h[j], "%s", lengthProblem(err))
				fine = false
			}
			v[j] = x
		}
		if fine {
			out.holes, out.holeRows = append(out.holes, repair.HoleIn{X: v[0], Z: v[1], Width: v[2], Height: v[3], Rim: v[4]}), append(out.holeRows, i)
		}
	}
}

// readFacts reads the boxes beside the grid.
func (t *surveyTyped) readFacts(out *surveyRead, sys units.System, k kept) {
	typed := repair.Typed{}
	length := func(name, column string) *units.Length {
		text := t.text[name]
		if text == "" {
			return nil
		}
		v, err := k.length(text, sys)
		if err != nil {
			out.bad.Add(name, text, "%s", lengthProblem(err))
			return nil
		}
		typed[column] = text
		return &v
	}
	orZero := func(v *units.Length) units.Length {
		if v == nil {
			return 0
		}
		return *v
	}
	out.facts = repair.SurveyFacts{Kind: t.text["kind"], Method: t.text["method"], Gauge: t.text["gauge"], TakenBy: t.text["taken_by"],
		FlangeThick: length("flange_thickness", "flange_thickness_mm"), StiffenerThick: length("stiffener_thickness", "stiffener_thickness_mm"),
		StiffenerWidth: length("stiffener_width", "stiffener_width_mm"), WebDeviation: orZero(length("web_deviation", "web_deviation_mm")),
		WebDetached: orZero(length("web_detached", "web_detached_mm")), ThickerReason: t.text["thicker_reason"], Note: t.text["note"]}
	// Places and holes have no column for what was typed; it is kept here, a line each.
	if xs := filled(t.x); xs != "" {
		typed["x"] = xs
	}
	if zs := filled(t.z); zs != "" {
		typed["z"] = zs
	}
	var holes []string
	for _, h := range t.holes {
		if strings.Join(h[:], "") != "" {
			holes = append(holes, h[:]...)
		}
	}
	if s := filled(holes); s != "" {
		typed["holes"] = s
	}
	out.facts.Typed = typed
}

func filled(texts []string) string {
	var out []string
	for _, s := range texts {
		if s != "" {
			out = append(out, s)
		}
	}
	return strings.Join(out, "\n")
}

// validate asks the rules of the survey and ties what they find to the boxes, in
// the reader's own units where they are about a thickness or a place.
func (out *surveyRead) validate(e *endReader) {
	err := e.rec.ValidateSurvey(e.sc, out.facts, out.readings, out.holes)
	bad, ok := errors.AsType[*fault.Invalid](err)
	if !ok {
		return
	}
	out.unsound, out.badHoles = map[int]bool{}, map[int]bool{}
	sec, _ := e.sc.Section(e.rec.End.SectionID)
	for _, f := range bad.Fields {
		name, reason := f.Field, f.Reason
		parts := strings.Split(f.Field, ".")
		n := -1
		if len(parts) > 1 {
			n, _ = strconv.Atoi(parts[1])
		}
		switch {
		case parts[0] == "readings" && n >= 0 && n < len(out.names):
			out.unsound[n] = true
			name = out.names[n]
			in := out.readings[n]
			if len(parts) == 3 && parts[2] == "t" && in.T > sec.WebThickness {
				reason = fmt.Sprintf("%s is more than the as-new %s allows: measure again, correct the section, or give a reason for it below", e.length(in.T), e.length(sec.WebThickness))
			}
			if len(parts) == 3 && parts[2] == "z" {
				reason = fmt.Sprintf("z of %s lies outside the web, which is %s deep", e.length(in.Z), e.length(e.rec.Geometry(e.sc).Section.ClearDepth()))
			}
			if len(parts) == 3 && parts[2] == "x" {
				reason = fmt.Sprintf("x of %s does not lie on the end of this girder", e.length(in.X))
			}
			if name == "points" {
				reason = fmt.Sprintf("reading %d: %s", n+1, reason)
			}
		case parts[0] == "readings":
			name = "points"
		case len(parts) == 1:
			reason = inReaderUnits(reason, "", e.sys)
		case parts[0] == "holes" && n >= 0 && n < len(out.holeRows) && len(parts) == 3:
			out.badHoles[n] = true
			name, reason = holeName(out.holeRows[n], parts[2]), inReaderUnits(reason, "", e.sys)
		}
		out.bad.Add(name, f.Typed, "%s", reason)
	}
}

// sound is what is left of the findings without what the rules refuse, for a
// preview.
func (out *surveyRead) sound() survey.Survey {
	ch := repair.RecordSurvey{Facts: out.facts}
	for i, in := range out.readings {
		if !out.unsound[i] {
			ch.Readings = append(ch.Readings, in)
		}
	}
	for i, h := range out.holes {
		if !out.badHoles[i] {
			ch.Holes = append(ch.Holes, h)
		}
	}
	return ch.Findings()
}
