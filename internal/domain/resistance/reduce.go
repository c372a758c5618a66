package resistance

import (
	"sync"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// maps lends the memory of thickness maps, so that an evaluation makes little
// garbage. A map never outlives the call that took it.
var maps = sync.Pool{New: func() any { return new(survey.Map) }}

// Reduced is what the procedure makes of an end: the few numbers that the rules
// take, of the corroded end or of the end as built.
type Reduced struct {
	X          units.Length // girder end to the reaction
	Interior   bool         // farther than the depth from the end
	YieldSpan  units.Length // length of web that yields
	YieldArea  units.Area   // smallest horizontal section over it
	YieldAt    units.Length // its height above the flange
	Average    units.Length // length over which rows and zone are averaged
	RowMean    units.Length // mean thickness of the worst row: lower bound
	ZoneMean   units.Length // mean thickness of the zone: upper end of the band
	ZoneHeight units.Length // height of the zone that the mean stands for
	Least      units.Length // smallest thickness of the map
	Counted    units.Length // thickness that the procedure gives to crippling

	HoleWidth   units.Length // of holes in the lowest row, inside the bearing
	HoleLongest units.Length // longest hole along the girder, in the height searched
	Bearing     units.Length // bearing length less HoleWidth

	Flange, FlangeAsBuilt, K units.Length // remaining thickness, as built, remaining k
	Panel                    survey.Panel // of the end panel
	PanelEnd                 units.Length // where the panel that was looked at ends

	Plates             bool         // bearing stiffeners are there and still reach the flange
	PlateWidth         units.Length // remaining
	PlateThickness     units.Length // remaining
	StripLeast         units.Length // thinnest row of the web strip beside the stiffeners
	StripMean          units.Length // mean of that strip
	Loss               float64      // part of the web lost in the worst row
	Readings, NoAccess int          // readings in the zone, places without access
	Unread             bool         // part of zone or panel was taken as built
}

// Reduce works a survey through the procedure. A nil survey gives the end as
// built. The geometry and the survey must have been validated.
func (pr Procedure) Reduce(b basis.Basis, g girder.Geometry, s *survey.Survey) Reduced {
	m := maps.Get().(*survey.Map)
	defer maps.Put(m)
	m.Reset(g, s, survey.OptionsFrom(b))
	return pr.reduce(b, g, s, m)
}

func (pr Procedure) reduce(b basis.Basis, g girder.Geometry, s *survey.Survey, m *survey.Map) Reduced {
	r := pr.frame(b, g, m)
	pr.measure(&r, b, g, m, remainingOf(g, s))
	r.Least = m.Least()
	if s != nil {
		x0, x1 := reachOf(g.Bearing, g.Section.FilletK, r.Interior)
		r.NoAccess = m.NoAccess()
		r.Readings = m.Count(x0, x1, 0, max(pr.ZoneHeight, r.ZoneHeight))
		r.Unread = m.Unread(x0, x1, 0, r.ZoneHeight)
	}
	return r
}

// frame finds what the thickness of the web does not change: where the reaction
// stands, what holes take from the lowest row, which panel resists shear.
func (pr Procedure) frame(b basis.Basis, g girder.Geometry, m *survey.Map) Reduced {
	sec, brg := g.Section, g.Bearing
	depth := sec.ClearDepth()
	r := Reduced{X: brg.Start + brg.Length/2, FlangeAsBuilt: sec.FlangeThickness}
	r.Interior = interior(float64(r.X), float64(sec.Depth), 1+rounding)
	x0, x1 := reachOf(brg, sec.FilletK, r.Interior)
	r.Average = x1 - x0
	row := m.LowestRow(brg.Start, brg.Start+brg.Length, sec.FilletK-sec.FlangeThickness+pr.LowestRow)
	r.HoleWidth = row.InBearing
	r.HoleLongest = m.LowestRow(x0, x1, max(pr.ZoneHeight, units.Length(pr.ZoneSearch)*depth)).Longest
	r.Bearing = max(0, brg.Length-row.InBearing)
	panel := g.EndPanel
	if !(panel > 0) || float64(panel) > float64(depth)*b.Value(basis.ShearEndPanel)*(1+rounding) {
		panel = units.Length(b.Value(basis.ShearReach)) * depth
	}
	r.PanelEnd = r.X + panel
	return r
}

// remaining is the thickness of the plates beside the web, and the width of the
// stiffeners.
type remaining struct{ flange, stiffener, width units.Length }

// remainingOf is what a survey read of the plates; what it did not read is as built.
func remainingOf(g girder.Geometry, s *survey.Survey) remaining {
	left := remaining{flange: g.Section.FlangeThickness}
	if st := g.Stiffener; st != nil {
		left.stiffener, left.width = st.Thickness, st.Width
	}
	if s == nil {
		return left
	}
	take := func(to *units.Length, read *units.Length) {
		if read != nil {
			*to = min(*read, *to)
		}
	}
	take(&left.flange, s.FlangeThickness)
	if g.Stiffener != nil {
		take(&left.stiffener, s.StiffenerThickness)
		take(&left.width, s.StiffenerWidth)
	}
	return left
}

// measure reads the map and the plates into a frame.
func (pr Procedure) measure(r *Reduced, b basis.Basis, g girder.Geometry, m *survey.Map, left remaining) {
	sec, brg := g.Section, g.Bearing
	r.Flange, r.K = left.flange, sec.FilletK
	if r.Flange != sec.FlangeThickness {
		r.K = sec.FilletK - (sec.FlangeThickness - r.Flange)
	}
	top := units.Length(pr.ZoneSearch) * sec.ClearDepth()
	// The web is averaged over the spread of the end as built, so that a thinner
	// flange, which narrows the spread, cannot leave thin web out of the mean.
	x0, x1 := reachOf(brg, sec.FilletK, r.Interior)
	zone := m.Zone(x0, x1, pr.ZoneHeight, top)
	r.ZoneMean, r.ZoneHeight = zone.Mean, zone.Height
	r.RowMean = units.Length(float64(zone.LeastArea) / float64(r.Average))
	r.YieldSpan, r.YieldArea, r.YieldAt = r.Average, zone.LeastArea, zone.LeastZ
	if r.K != sec.FilletK {
		y0, y1 := reachOf(brg, r.K, r.Interior)
		yield := m.Zone(y0, y1, pr.ZoneHeight, top)
		r.YieldSpan, r.YieldArea, r.YieldAt = y1-y0, yield.LeastArea, yield.LeastZ
	}
	switch pr.Averaging {
	case ZoneMean:
		r.Counted = r.ZoneMean
	case Thinnest:
		r.Counted = m.Least()
	default:
		r.Counted = r.RowMean
	}
	r.Panel = m.Panel(brg.Start, r.PanelEnd)
	r.Loss = 1 - float64(r.RowMean/sec.WebThickness)
	pr.stiffeners(r, b, g, m, left)
}

// reachOf is the part of the web that stands over the spread of the bearing.
func reachOf(brg girder.Bearing, k units.Length, interior bool) (x0, x1 units.Length) {
	x0, x1 = brg.Start, brg.Start+Spread(nil, brg.Length, k, false)
	if interior {
		x0 = max(0, x0-(x1-brg.Start-brg.Length))
	}
	return x0, x1
}

func (pr Procedure) stiffeners(r *Reduced, b basis.Basis, g girder.Geometry, m *survey.Map, left remaining) {
	st := g.Stiffener
	if st == nil {
		return
	}
	r.PlateWidth, r.PlateThickness = left.width, left.stiffener
	r.Plates = r.PlateWidth > st.Clip && r.PlateThickness > sliver
	half := g.Section.WebThickness * units.Length(b.Value(basis.StiffenerStrip))
	x0, x1 := max(0, st.X-half), st.X+half
	if !(x1 > x0) { // a strip of no width: the plates alone
		x1 = x0 + g.Section.WebThickness
	}
	strip := m.Zone(x0, x1, g.Section.ClearDepth(), g.Section.ClearDepth())
	r.StripLeast, r.StripMean = units.Length(float64(strip.LeastArea)/float64(x1-x0)), strip.Mean
}

// Watched is the part of the web that the procedure looks at above a bearing: from
// x0 to x1 along the girder, from the flange up to top.
func (pr Procedure) Watched(g girder.Geometry) (x0, x1, top units.Length) {
	x := g.Bearing.Start + g.Bearing.Length/2
	x0, x1 = reachOf(g.Bearing, g.Section.FilletK, interior(float64(x), float64(g.Section.Depth), 1+rounding))
	return x0, x1, max(pr.ZoneHeight, units.Length(pr.ZoneSearch)*g.Section.ClearDepth())
}
