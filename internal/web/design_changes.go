package web

import (
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/units"
	"endcast/views/design"
	"endcast/views/ui"
)

// changes are the differences between two designs, ready to print.
func (e *endReader) changes(d encasement.Difference) []design.Changed {
	var out []design.Changed
	for _, q := range d.Quantities {
		out = append(out, design.Changed{What: q.Name, Mark: ui.Mark{State: ui.Caution, Text: "changed"},
			Was: q.Kind.Format(q.Was, e.sys, -1), Is: q.Kind.Format(q.Is, e.sys, -1), By: signed(q.Kind, q.Is-q.Was, e.sys)})
	}
	for _, c := range d.Studs {
		row := design.Changed{What: "Stud " + c.Mark, Was: e.place(c.Was), Is: e.place(c.Is)}
		switch {
		case c.Added():
			row.Mark = ui.Mark{State: ui.Active, Text: "added"}
		case c.Removed():
			row.Mark = ui.Mark{State: ui.Stop, Text: "removed"}
		default:
			row.Mark = ui.Mark{State: ui.Caution, Text: "moved"}
			row.By = signed(units.Lengths, float64(c.Dx), e.sys) + ", " + signed(units.Lengths, float64(c.Dz), e.sys)
			if c.FaceChanged {
				row.By = "other face"
			}
		}
		out = append(out, row)
	}
	return out
}

func (e *endReader) place(s *encasement.Stud) string {
	if s == nil {
		return "–"
	}
	face := "left"
	if s.Face == "R" {
		face = "right"
	}
	return units.Lengths.Figure(float64(s.X), e.sys, 2) + ", " + units.Lengths.Figure(float64(s.Z), e.sys, 2) + " " + units.Lengths.Label(e.sys) + ", " + face
}

// signed prints a difference with its sign.
func signed(k units.Kind, v float64, sys units.System) string {
	text := k.Format(v, sys, -1)
	if v > 0 {
		return "+" + text
	}
	return text
}
