package demand

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// Span is a simple span on parallel girders at equal spacing, as seen in cross
// section looking ahead station: girder 1 is the leftmost.
//
// Skew is the angle between a bearing line and the square across the girders,
// positive with the left end of the bearing line ahead, as everywhere in this
// program. Edge is the distance from the web of the outer girder to the inside face
// of the curb or barrier, positive where the curb is outboard of the girder.
type Span struct {
	Length        units.Length `json:"length"` // from bearing to bearing
	Girders       int          `json:"girders"`
	Spacing       units.Length `json:"spacing"`
	Deck          units.Length `json:"deck"` // structural thickness of the deck
	EdgeLeft      units.Length `json:"edge_left"`
	EdgeRight     units.Length `json:"edge_right"`
	OverhangLeft  units.Length `json:"overhang_left"` // web of the outer girder to the edge of the deck
	OverhangRight units.Length `json:"overhang_right"`
	SkewNear      units.Angle  `json:"skew_near"`
	SkewFar       units.Angle  `json:"skew_far"`
	// Lanes is the number of traffic lanes to load, zero for as many design lanes as
	// the roadway between curbs holds.
	Lanes int `json:"lanes"`
	// Stiffness is Kg, the longitudinal stiffness of a girder with the deck's distance
	// counted; zero where it is not known. See Stiffness.
	Stiffness units.Inertia `json:"stiffness"`
}

// End is the place of a girder end in a span.
type End struct {
	Girder int         `json:"girder"` // counted from the left looking ahead station, from 1
	Side   girder.Side `json:"side"`
	// Beyond is the length of girder and deck beyond the bearing line, which loads
	// the bearing with its full weight.
	Beyond units.Length `json:"beyond"`
}

// Corner is what kind of corner of the deck a girder end is.
type Corner string

// Corners. Only an exterior girder ends in one.
const (
	Square  Corner = "square"
	Obtuse  Corner = "obtuse"
	Acute   Corner = "acute"
	Between Corner = "between" // an interior girder
)

// Words is the corner for a reader.
func (c Corner) Words() string {
	switch c {
	case Square:
		return "square corner"
	case Obtuse:
		return "obtuse corner"
	case Acute:
		return "acute corner"
	case Between:
		return "between the corners"
	}
	return "unknown"
}

// Roadway is the clear width between curbs.
func (s Span) Roadway() units.Length {
	return units.Length(s.Girders-1)*s.Spacing + s.EdgeLeft + s.EdgeRight
}

// DeckWidth is the width of the deck from edge to edge.
func (s Span) DeckWidth() units.Length {
	return units.Length(s.Girders-1)*s.Spacing + s.OverhangLeft + s.OverhangRight
}

// LoadedLanes is the number of lanes that are loaded: Lanes, or the design lanes
// that fit between the curbs, two where the roadway is wide enough for two narrow
// ones, and never fewer than one.
func (s Span) LoadedLanes(b basis.Basis) int {
	if s.Lanes > 0 {
		return s.Lanes
	}
	w, lane := float64(s.Roadway()), b.Value(basis.LaneWidth)
	n := int(math.Floor(w/lane + rounding))
	if n < 2 && w >= b.Value(basis.LaneNarrow)*(1-rounding) {
		n = 2
	}
	return max(1, n)
}

// Exterior reports whether the end belongs to an outer girder.
func (s Span) Exterior(e End) bool { return e.Girder == 1 || e.Girder == s.Girders }

// skew is the skew of the end's own bearing line.
func (s Span) skew(side girder.Side) units.Angle {
	if side == girder.Far {
		return s.SkewFar
	}
	return s.SkewNear
}

// Corner tells the corner that the end is. Looking ahead, with the left end of a
// bearing line ahead (positive skew) the near bearing line meets the left edge of the
// deck at an obtuse angle and the right edge at an acute one; at the far bearing line
// it is the other way round, and with negative skew everything changes sides.
func (s Span) Corner(e End) Corner {
	switch {
	case !s.Exterior(e):
		return Between
	case s.skew(e.Side) == 0:
		return Square
	case s.fromObtuse(e) == 1:
		return Obtuse
	}
	return Acute
}

// fromObtuse counts girders from the obtuse corner of the end's bearing line, the one
// in it as 1; zero without skew.
func (s Span) fromObtuse(e End) int {
	skew := s.skew(e.Side)
	if skew == 0 {
		return 0
	}
	if (skew > 0) == (e.Side == girder.Near) {
		return e.Girder
	}
	return s.Girders - e.Girder + 1
}

// edge and overhang are those beside an exterior girder.
func (s Span) edge(e End) units.Length {
	if e.Girder == 1 {
		return s.EdgeLeft
	}
	return s.EdgeRight
}

func (s Span) overhang(e End) units.Length {
	if e.Girder == 1 {
		return s.OverhangLeft
	}
	return s.OverhangRight
}

// Limits of what a span can look like, to catch a wrong unit or a swapped field.
// Common practice, no source.
const (
	shortestSpan = 1500.0 // mm
	mostGirders  = 60
	closest      = 300.0 // mm between girders
	widestApart  = 10000.0
	thickestDeck = 1000.0
	mostEdge     = 5000.0
	mostSkew     = 75.0 // degrees, as package girder
	mostLanes    = 20
	stiffest     = 1e14 // mm4
	mostBeyond   = 10000.0
)

// Validate refuses a span that cannot exist. The error is a *fault.Invalid that
// lists every field with its limit. A span outside the range of the distribution
// formulas is no error: the lever rule takes over and the result says so.
func (s Span) Validate() error {
	var v refusals
	l, sp, deck, kg := float64(s.Length), float64(s.Spacing), float64(s.Deck), float64(s.Stiffness)
	v.find(l >= shortestSpan && l <= longestSpan, "length", l, "be from # mm to # mm", shortestSpan, longestSpan)
	v.find(s.Girders >= 2 && s.Girders <= mostGirders, "girders", float64(s.Girders), "be from 2 to #", float64(mostGirders))
	v.find(sp >= closest && sp <= widestApart, "spacing", sp, "be from # mm to # mm", closest, widestApart)
	v.find(deck > 0 && deck <= thickestDeck, "deck", deck, "be more than 0 and at most # mm", thickestDeck)
	side := func(edgeName string, edge float64, name string, overhang float64) {
		v.find(overhang >= 0 && overhang <= mostEdge, name, overhang, "be from 0 to # mm", mostEdge)
		v.find(edge > -sp && edge <= overhang, edgeName, edge, "be more than # mm (the next girder) and at most # mm (the edge of the deck)", -sp, overhang)
	}
	side("edge_left", float64(s.EdgeLeft), "overhang_left", float64(s.OverhangLeft))
	side("edge_right", float64(s.EdgeRight), "overhang_right", float64(s.OverhangRight))
	skew := func(name string, a units.Angle) {
		v.find(a > -mostSkew && a < mostSkew, name, float64(a), "lie between -75 and 75 degrees")
	}
	skew("skew_near", s.SkewNear)
	skew("skew_far", s.SkewFar)
	v.find(s.Lanes >= 0 && s.Lanes <= mostLanes, "lanes", float64(s.Lanes), "be from 0, for as many as fit, to #", float64(mostLanes))
	v.find(kg >= 0 && kg <= stiffest, "stiffness", kg, "be 0 for not known, and at most # mm4", stiffest)
	if len(v.Fields) == 0 {
		w := float64(s.Roadway())
		v.find(w >= narrowest, "roadway", w, "leave at least # mm between the curbs", narrowest)
	}
	return v.Err()
}

// narrowest is the least roadway that a vehicle passes. Common practice, no source.
const narrowest = 2400.0

// Place refuses an end that the span does not have.
func (s Span) Place(e End) error {
	var v refusals
	v.find(e.Girder >= 1 && e.Girder <= s.Girders, "girder", float64(e.Girder), "be from 1 to #", float64(s.Girders))
	if e.Side != girder.Near && e.Side != girder.Far {
		v.Add("side", string(e.Side), "must be N or F, got %q", string(e.Side))
	}
	a := float64(e.Beyond)
	v.find(a >= 0 && a <= mostBeyond && a <= float64(s.Length)/2, "beyond", a, "be from 0 to # mm", min(mostBeyond, float64(s.Length)/2))
	return v.Err()
}
