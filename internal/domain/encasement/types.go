// Package encasement designs and checks the repair: the stud group, the panel,
// and the layout proposal.
package encasement

import (
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Stud is one headed stud. X is from the girder end, Z above the top of the
// bottom flange, Face the web face it is welded to (Left or Right). Row counts
// upward and Column outward from the girder end, both from 1; Mark is unique
// within a design, for example L-2-3.
type Stud struct {
	Mark     string
	Row, Col int
	X, Z     units.Length
	Face     survey.Face
}

// Panel is the UHPC cast against the web. X, Z is its lower corner near the
// girder end, measured as for studs; a panel that sits on the flange has Z = 0.
// A zero thickness on a face means no panel there.
type Panel struct {
	X, Z, Width, Height units.Length
	ThicknessLeft       units.Length
	ThicknessRight      units.Length
	Gap                 units.Length // clear gap under the panel foot, zero when cast tight
}

// Design is one stud layout and its panel with the materials it counts on.
type Design struct {
	StudDiameter units.Length
	StudHeight   units.Length // after welding, overall
	StudFu       units.Stress
	Fc           units.Stress // specified UHPC strength the design counts on
	Studs        []Stud
	Panel        Panel
}
