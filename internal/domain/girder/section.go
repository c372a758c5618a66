package girder

import (
	"math"

	"endcast/internal/domain/units"
)

// Largest plausible dimensions of a section, to catch a wrong unit. Common
// practice, no source.
const (
	deepest = 6000.0 // mm
	widest  = 1500.0
)

// spandrel is the area between a quarter circle of radius 1 and its corner.
const spandrel = 1 - math.Pi/4

// centroid is the distance of that area's centroid from either side.
const centroid = (10 - 3*math.Pi) / (12 - 3*math.Pi)

// fillet is the radius of the fillets of a rolled shape, zero for a built-up one.
func (s Section) fillet() float64 {
	if s.Kind != Rolled {
		return 0
	}
	return max(0, float64(s.FilletK-s.FlangeThickness))
}

// Area is the area of flanges, web and, for a rolled shape, its four fillets. It
// stays within 1 percent of the published area of a wide-flange shape. A standard
// beam with sloped flanges comes out two or three percent high.
func (s Section) Area() units.Area {
	r := s.fillet()
	flanges := float64(s.FlangeWidth*s.FlangeThickness) + float64(s.TopFlangeWidth*s.TopFlangeThickness)
	return units.Area(flanges + float64(s.ClearDepth()*s.WebThickness) + float64(4*spandrel*r*r))
}

// Inertia is the second moment of area about the horizontal axis through the
// centroid, with the fillets of a rolled shape.
func (s Section) Inertia() units.Inertia {
	var area, first, second float64
	add := func(a, y, own float64) {
		area += a
		first += float64(a * y)
		second += float64(a*y*y) + own
	}
	slab := func(width, height, bottom float64) {
		add(width*height, bottom+height/2, width*height*height*height/12)
	}
	d, tb, tt := float64(s.Depth), float64(s.FlangeThickness), float64(s.TopFlangeThickness)
	slab(float64(s.FlangeWidth), tb, 0)
	slab(float64(s.WebThickness), d-tb-tt, tb)
	slab(float64(s.TopFlangeWidth), tt, d-tt)
	r := s.fillet()
	add(2*spandrel*r*r, tb+centroid*r, 0)
	add(2*spandrel*r*r, d-tt-centroid*r, 0)
	return units.Inertia(second - float64(first*first)/area)
}

// Validate refuses a section that cannot exist. Every problem is listed.
func (s Section) Validate() Problems {
	var ps Problems
	d, k := float64(s.Depth), float64(s.FilletK)
	bb, tb := float64(s.FlangeWidth), float64(s.FlangeThickness)
	bt, tt, tw := float64(s.TopFlangeWidth), float64(s.TopFlangeThickness), float64(s.WebThickness)
	if s.Kind != Rolled && s.Kind != BuiltUp {
		ps = append(ps, Problem{Field: "section.kind", Value: string(s.Kind), Limit: "be rolled or built_up"})
	}
	ps.find(d > 0 && d <= deepest, "section.depth", d, "be more than 0 and at most "+mm(deepest))
	ps.find(bb > 0 && bb <= widest, "section.flange_width", bb, "be more than 0 and at most "+mm(widest))
	ps.find(tb > 0 && tb < d/2, "section.flange_thickness", tb, "be more than 0 and less than half the depth, "+mm(d/2))
	ps.find(bt > 0 && bt <= widest, "section.top_flange_width", bt, "be more than 0 and at most "+mm(widest))
	ps.find(tt > 0 && tt < d/2, "section.top_flange_thickness", tt, "be more than 0 and less than half the depth, "+mm(d/2))
	ps.find(tw > 0 && tw < min(bb, bt), "section.web_thickness", tw, "be more than 0 and less than the flange width, "+mm(min(bb, bt)))
	ps.find(k >= tb && k < d/2, "section.fillet_k", k, "be at least the flange thickness, "+mm(tb)+", and less than half the depth, "+mm(d/2))
	return ps
}

// Import limits: over all wide-flange shapes of the AISC shape database v15.0 the
// computed area differs from the published one by at most 0.73 percent, and the
// computed inertia by at most 0.97 percent. A row beyond these limits holds a
// wrong or a coarsely rounded dimension.
const (
	areaLimit    = 0.010
	inertiaLimit = 0.015
)

// CheckPublished compares a rolled wide-flange section with the area and inertia
// that its source publishes; a zero is not compared. It catches a web thickness
// rounded to two decimals, which would move the crippling resistance by three
// percent.
func (s Section) CheckPublished(area units.Area, inertia units.Inertia) Problems {
	ps := s.Validate()
	if len(ps) > 0 {
		return ps
	}
	off := func(field string, computed, published, limit float64) {
		if published == 0 {
			return
		}
		gap := computed/published - 1
		ps.find(published > 0 && math.Abs(gap) <= limit, field, gap*100,
			"lie within "+number(limit*100)+" percent of the value computed from the dimensions")
	}
	off("section.area", float64(s.Area()), float64(area), areaLimit)
	off("section.inertia", float64(s.Inertia()), float64(inertia), inertiaLimit)
	return ps
}
