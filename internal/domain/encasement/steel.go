package encasement

import (
	"math"

	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Steel is what the checks ask of the remaining steel at an end. Places are
// measured as for studs.
type Steel interface {
	// Around is the least thickness of web within a distance of a place, zero
	// where the place lies in a hole.
	Around(x, z, radius units.Length) units.Length
	// HoleDistance is the clear distance to the nearest hole, +Inf without holes.
	HoleDistance(x, z units.Length) units.Length
	// Thickness is the remaining thickness of web at a place.
	Thickness(x, z units.Length) units.Length
	// WebCut is the smallest upright section of the web between two lines.
	WebCut(x0, x1 units.Length) units.Area
	// Flange is the remaining thickness of the bottom flange over the bearing.
	Flange() units.Length
}

// AsNew is the steel of an end that has lost nothing.
type AsNew struct{ girder.Section }

// Around implements Steel.
func (s AsNew) Around(_, _, _ units.Length) units.Length { return s.WebThickness }

// HoleDistance implements Steel.
func (AsNew) HoleDistance(_, _ units.Length) units.Length { return units.Length(math.Inf(1)) }

// Thickness implements Steel.
func (s AsNew) Thickness(_, _ units.Length) units.Length { return s.WebThickness }

// WebCut implements Steel.
func (s AsNew) WebCut(_, _ units.Length) units.Area {
	return units.Area(s.WebThickness) * units.Area(s.ClearDepth())
}

// Flange implements Steel.
func (s AsNew) Flange() units.Length { return s.FlangeThickness }

// Surveyed is the steel of an end as a survey left it.
type Surveyed struct {
	*survey.Map
	BottomFlange units.Length // remaining
}

// Remaining joins the map of a survey with the flange that it found; where the
// flange was not read the as-new thickness holds.
func Remaining(m *survey.Map, g girder.Geometry, s *survey.Survey) Surveyed {
	out := Surveyed{Map: m, BottomFlange: g.Section.FlangeThickness}
	if s != nil && s.FlangeThickness != nil {
		out.BottomFlange = *s.FlangeThickness
	}
	return out
}

// WebCut implements Steel.
func (s Surveyed) WebCut(x0, x1 units.Length) units.Area { return s.Panel(x0, x1).LeastCut }

// Flange implements Steel.
func (s Surveyed) Flange() units.Length { return s.BottomFlange }
