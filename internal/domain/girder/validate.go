package girder

import "strconv"

// Limits of what an end can look like, to catch a wrong unit or a swapped field.
// Common practice, no source.
const (
	mostSkew    = 75.0 // degrees
	leastYield  = 100.0
	mostYield   = 1000.0
	mostPairs   = 6
	mostBearing = 2000.0
)

// Validate refuses an end that cannot exist: a bearing beside the girder, plates
// that do not fit, values that are no numbers. Every problem is listed, by field.
func (g Geometry) Validate() Problems {
	ps := g.Name.problems()
	ps = append(ps, g.Section.Validate()...)
	d := float64(g.Section.Depth)

	b := g.Bearing
	switch b.Kind {
	case Rocker, Bolster, SlidingPlate, Elastomeric, OtherBearing:
	default:
		ps = append(ps, Problem{Field: "bearing.kind", Value: strconv.Quote(string(b.Kind)), Limit: "be a known kind of bearing"})
	}
	start, length, width := float64(b.Start), float64(b.Length), float64(b.Width)
	ps.find(start >= 0 && start <= 2*d, "bearing.start", start, "lie on the girder, from 0 to twice the depth, "+mm(2*d))
	ps.find(length > 0 && length <= mostBearing, "bearing.length", length, "be more than 0 and at most "+mm(mostBearing))
	ps.find(width > 0 && width <= mostBearing, "bearing.width", width, "be more than 0 and at most "+mm(mostBearing))

	if g.Stiffener != nil {
		ps = append(ps, g.stiffener(*g.Stiffener)...)
	}
	skew := float64(g.SkewDeg)
	ps.find(skew > -mostSkew && skew < mostSkew, "skew", skew, "lie between -75 and 75 degrees")
	fy, fu := float64(g.Fy), float64(g.Fu)
	ps.find(fy >= leastYield && fy <= mostYield, "fy", fy, "lie from 100 to 1000 MPa")
	ps.find(fu >= fy && fu <= 2*mostYield, "fu", fu, "be at least the yield strength and at most 2000 MPa")
	dx, panel := float64(g.DiaphragmX), float64(g.EndPanel)
	ps.find(dx >= 0 && dx <= 3*d, "diaphragm_x", dx, "lie on the girder, from 0 to three times the depth, "+mm(3*d))
	ps.find(panel >= 0 && panel <= 10*d, "end_panel", panel, "be 0 for none, and at most ten times the depth, "+mm(10*d))
	return ps
}

func (g Geometry) stiffener(s Stiffener) Problems {
	var ps Problems
	ps.find(s.Pairs >= 1 && s.Pairs <= mostPairs, "stiffener.pairs", float64(s.Pairs), "be from 1 to "+strconv.Itoa(mostPairs))
	room := (float64(max(g.Section.FlangeWidth, g.Section.TopFlangeWidth)) - float64(g.Section.WebThickness)) / 2
	w, t, clip, x, fy := float64(s.Width), float64(s.Thickness), float64(s.Clip), float64(s.X), float64(s.Fy)
	ps.find(w > 0 && w <= room+0.5, "stiffener.width", w, "be more than 0 and fit beside the web on the flange, "+mm(room))
	ps.find(t > 0 && t < 150, "stiffener.thickness", t, "be more than 0 and less than 150 mm")
	ps.find(clip >= 0 && clip < w, "stiffener.clip", clip, "be 0 or more and less than the width, "+mm(w))
	start, end := float64(g.Bearing.Start), float64(g.Bearing.Start+g.Bearing.Length)
	ps.find(x >= start && x <= end, "stiffener.x", x, "lie over the bearing, from "+mm(start)+" to "+mm(end))
	ps.find(fy >= leastYield && fy <= mostYield, "stiffener.fy", fy, "lie from 100 to 1000 MPa")
	return ps
}
