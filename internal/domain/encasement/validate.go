package encasement

import (
	"fmt"
	"math"
	"strconv"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
)

// Limits of what a design can look like, to catch a wrong unit or a swapped
// field. Common practice, no source.
const (
	MaxStuds    = 400
	maxDiameter = 32.0
	maxHeight   = 300.0
	maxPanel    = 1000.0 // thickness, mm
	reachDepths = 5      // how far along the web a stud or panel may lie, in depths
)

// Validate refuses a design that cannot be built at this end: every problem is
// listed by field with its value and limit. It does not judge strength.
func (d Design) Validate(g girder.Geometry) error {
	var v fault.Invalid
	within := func(field string, x, lo, hi float64, unit string) {
		if !(x >= lo && x <= hi) {
			v.Add(field, "", fmt.Sprintf("must lie from %s to %s %s, got %s", text(lo), text(hi), unit, text(x)))
		}
	}
	depth := float64(g.Section.ClearDepth())
	reach := reachDepths * float64(g.Section.Depth)
	within("stud_diameter", float64(d.StudDiameter), 6, maxDiameter, "mm")
	within("stud_height", float64(d.StudHeight), float64(d.StudDiameter), maxHeight, "mm")
	within("stud_fu", float64(d.StudFu), 200, 1000, "MPa")
	within("fc", float64(d.Fc), 10, 400, "MPa")
	d.Panel.validate(&v, within, depth, reach)
	if n := len(d.Studs); n > MaxStuds {
		v.Add("studs", "", fmt.Sprintf("must be at most %d, got %d", MaxStuds, n))
		return v.Err()
	}
	marks := make(map[string]int, len(d.Studs))
	places := make(map[Stud]int, len(d.Studs))
	for i, s := range d.Studs {
		field := "studs[" + strconv.Itoa(i+1) + "]"
		if s.Mark == "" || len(s.Mark) > 20 {
			v.Add(field+".mark", s.Mark, "must have from 1 to 20 characters, got %d", len(s.Mark))
		} else if j, ok := marks[s.Mark]; ok {
			v.Add(field+".mark", s.Mark, "must be unique, got the mark of stud %d", j+1)
		} else {
			marks[s.Mark] = i
		}
		if s.Face != survey.Left && s.Face != survey.Right {
			v.Add(field+".face", string(s.Face), "must be L or R")
		}
		if s.Row < 1 || s.Row > MaxStuds || s.Col < 1 || s.Col > MaxStuds {
			v.Add(field+".row", "", fmt.Sprintf("row and column must lie from 1 to %d, got %d and %d", MaxStuds, s.Row, s.Col))
		}
		within(field+".x", float64(s.X), 0, reach, "mm")
		within(field+".z", float64(s.Z), 0, depth, "mm")
		at := Stud{X: s.X, Z: s.Z, Face: s.Face}
		if j, ok := places[at]; ok {
			v.Add(field+".x", "", fmt.Sprintf("must not stand where stud %d stands, got %s, %s mm on face %s", j+1, text(float64(s.X)), text(float64(s.Z)), s.Face))
		} else {
			places[at] = i
		}
	}
	return v.Err()
}

func (p Panel) validate(v *fault.Invalid, within func(string, float64, float64, float64, string), depth, reach float64) {
	within("panel.x", float64(p.X), 0, reach, "mm")
	within("panel.z", float64(p.Z), 0, depth, "mm")
	within("panel.width", float64(p.Width), 1, reach, "mm")
	within("panel.height", float64(p.Height), 1, depth, "mm")
	if top := float64(p.Z + p.Height); !calc.AtMost(top, depth) {
		v.Add("panel.height", "", fmt.Sprintf("must end at or below the top flange, %s mm above the bottom flange, got %s", text(depth), text(top)))
	}
	within("panel.thickness_left", float64(p.ThicknessLeft), 0, maxPanel, "mm")
	within("panel.thickness_right", float64(p.ThicknessRight), 0, maxPanel, "mm")
	if p.ThicknessLeft == 0 && p.ThicknessRight == 0 {
		v.Add("panel.thickness_left", "", "must be more than 0 mm on at least one face, got 0 on both")
	}
	within("panel.gap", float64(p.Gap), 0, 50, "mm")
}

func text(x float64) string {
	return strconv.FormatFloat(math.Round(x*1000)/1000, 'f', -1, 64)
}
