package web

import (
	"errors"
	"strconv"

	"endcast/internal/domain/encasement"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// patternFields are the fields of a regular layout, by the field of package
// encasement that each reads.
var patternFields = []struct {
	name, label, rule string
	count             bool
}{
	{"pattern-rows", "Rows", "rows", true}, {"pattern-columns", "Columns", "columns", true},
	{"pattern-x", "First x", "x", false}, {"pattern-z", "First z", "z", false},
	{"pattern-pitch-x", "Spacing of columns", "pitch_x", false}, {"pattern-pitch-z", "Spacing of rows", "pitch_z", false},
	{"pattern-faces", "Faces", "faces", true},
}

// infer fills the pattern with what comes nearest to a layout.
func (t designTyped) infer(d encasement.Design, sys units.System) {
	p := encasement.PatternOf(d.Studs)
	if p.Rows == 0 {
		p = encasement.Pattern{Rows: 4, Columns: 3, Left: true, Right: true}
	}
	length := func(v units.Length) string {
		if v == 0 {
			return ""
		}
		return units.Significant(units.Lengths.Shown(sys, float64(v)), 5)
	}
	t.fields["pattern-rows"], t.fields["pattern-columns"] = strconv.Itoa(p.Rows), strconv.Itoa(p.Columns)
	t.fields["pattern-x"], t.fields["pattern-z"] = length(p.X), length(p.Z)
	t.fields["pattern-pitch-x"], t.fields["pattern-pitch-z"] = length(p.PitchX), length(p.PitchZ)
	t.fields["pattern-faces"] = facesWord(p)
}

func facesWord(p encasement.Pattern) string {
	switch {
	case p.Left && !p.Right:
		return "left"
	case p.Right && !p.Left:
		return "right"
	}
	return "both"
}

// layPattern replaces the studs of the faces named by a regular layout. Those of
// the other face stay.
func (t *designTyped) layPattern(sys units.System) *fault.Invalid {
	bad := &fault.Invalid{}
	length := func(name string, needed bool) units.Length {
		if !needed && t.fields[name] == "" {
			return 0
		}
		v, err := units.Lengths.Parse(t.fields[name], sys)
		if err != nil {
			bad.Add(name, t.fields[name], "%s", err.Error())
		}
		return units.Length(v)
	}
	p := encasement.Pattern{Rows: whole(bad, "pattern-rows", t.fields["pattern-rows"]), Columns: whole(bad, "pattern-columns", t.fields["pattern-columns"])}
	p.X, p.Z = length("pattern-x", true), length("pattern-z", true)
	p.PitchX, p.PitchZ = length("pattern-pitch-x", p.Columns > 1), length("pattern-pitch-z", p.Rows > 1)
	faces := t.fields["pattern-faces"]
	p.Left, p.Right = faces == "both" || faces == "left", faces == "both" || faces == "right"
	if bad.Err() != nil {
		return bad
	}
	studs, err := p.Studs()
	if v, ok := errors.AsType[*fault.Invalid](err); ok {
		for _, f := range v.Fields {
			for _, pf := range patternFields {
				if pf.rule == f.Field {
					bad.Add(pf.name, t.fields[pf.name], "%s", inReadersUnits(f.Reason, sys))
				}
			}
		}
		return bad
	}
	var out []studTyped
	for _, s := range studs {
		if string(s.Face) == "L" {
			out = append(out, typedStud(s, sys))
		}
	}
	for _, s := range t.studs {
		if s.face == "L" && !p.Left {
			out = append(out, s)
		}
	}
	for _, s := range t.studs {
		if s.face != "L" && !p.Right {
			out = append(out, s)
		}
	}
	for _, s := range studs {
		if string(s.Face) != "L" {
			out = append(out, typedStud(s, sys))
		}
	}
	t.studs = out
	return nil
}

func typedStud(s encasement.Stud, sys units.System) studTyped {
	return studTyped{s.Mark, strconv.Itoa(s.Row), strconv.Itoa(s.Col), s.X.Exact(sys), s.Z.Exact(sys), string(s.Face)}
}

// addStud adds one stud over the last one, a row higher.
func (t *designTyped) addStud(sys units.System) {
	next := studTyped{row: "1", col: "1", face: "L"}
	if n := len(t.studs); n > 0 {
		next = t.studs[n-1]
		row, _ := strconv.Atoi(next.row)
		next.row = strconv.Itoa(row + 1)
		if z, err := units.Lengths.Parse(next.z, sys); err == nil {
			pitch, perr := units.Lengths.Parse(t.fields["pattern-pitch-z"], sys)
			if perr != nil || !(pitch > 0) {
				pitch = 4 * float64(units.Inch)
			}
			next.z = units.Lengths.Exact(z+pitch, sys)
		}
	}
	taken := map[string]bool{}
	for _, s := range t.studs {
		taken[s.mark] = true
	}
	next.mark = next.face + "-" + next.row + "-" + next.col
	for i := 2; taken[next.mark]; i++ {
		next.mark = next.face + "-" + next.row + "-" + next.col + "." + strconv.Itoa(i)
	}
	t.studs = append(t.studs, next)
}

// take fills studs and panel from a layout; materials and note stay as typed.
func (t *designTyped) take(d encasement.Design, sys units.System) {
	in := repair.DesignFrom(d)
	for _, f := range panelFields {
		t.fields[f.name] = f.kind.Exact(f.get(&in), sys)
	}
	t.studs = t.studs[:0:0]
	for _, s := range d.Studs {
		t.studs = append(t.studs, typedStud(s, sys))
	}
	t.infer(d, sys)
}
