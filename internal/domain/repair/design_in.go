package repair

import (
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/survey"
)

// Layout is the content of a revision as the rules read it.
func (in DesignIn) Layout() encasement.Design {
	out := encasement.Design{StudDiameter: in.StudDiameter, StudHeight: in.StudHeight, StudFu: in.StudFu, Fc: in.Fc,
		Panel: encasement.Panel{X: in.PanelX, Z: in.PanelZ, Width: in.PanelWidth, Height: in.PanelHeight,
			ThicknessLeft: in.PanelLeft, ThicknessRight: in.PanelRight, Gap: in.PanelGap}}
	for _, s := range in.Studs {
		out.Studs = append(out.Studs, encasement.Stud{Mark: s.Mark, Row: s.Row, Col: s.Col, X: s.X, Z: s.Z, Face: survey.Face(s.Face)})
	}
	return out
}

// ContentOf is a stored revision as a form takes it.
func (r *Record) ContentOf(d *Design) DesignIn {
	in := DesignFrom(*r.DesignOf(d))
	in.Note, in.Typed = d.Note, d.Typed
	return in
}
