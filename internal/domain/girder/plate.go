package girder

import "endcast/internal/domain/units"

// Plate describes a built-up girder by its plates, as a drawing does.
type Plate struct {
	Name                               string
	WebDepth, WebThickness             units.Length
	FlangeWidth, FlangeThickness       units.Length // bottom
	TopFlangeWidth, TopFlangeThickness units.Length // zero: as the bottom
	// WeldLeg is the leg of the web-to-flange fillet weld. For a riveted girder it
	// is the vertical leg of the flange angle, less the rivet's edge distance, only
	// where an engineer says so; zero is safe.
	WeldLeg units.Length
	Source  string
}

// Section returns the cross-section of a built-up girder. The distance k is the
// bottom flange thickness and the weld leg. The result is validated.
func (p Plate) Section() (Section, error) {
	if p.TopFlangeWidth == 0 {
		p.TopFlangeWidth = p.FlangeWidth
	}
	if p.TopFlangeThickness == 0 {
		p.TopFlangeThickness = p.FlangeThickness
	}
	s := Section{
		Name: p.Name, Kind: BuiltUp, Source: p.Source,
		Depth:       p.WebDepth + p.FlangeThickness + p.TopFlangeThickness,
		FlangeWidth: p.FlangeWidth, FlangeThickness: p.FlangeThickness,
		TopFlangeWidth: p.TopFlangeWidth, TopFlangeThickness: p.TopFlangeThickness,
		WebThickness: p.WebThickness, FilletK: p.FlangeThickness + p.WeldLeg,
	}
	var ps Problems
	ps.find(p.WebDepth > 0, "section.web_depth", float64(p.WebDepth), "be more than 0")
	ps.find(p.WeldLeg >= 0, "section.weld_leg", float64(p.WeldLeg), "be 0 or more")
	ps = append(ps, s.Validate()...)
	return s, ps.Err()
}
