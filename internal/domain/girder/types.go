// Package girder describes the steel at a girder end: the section, the bearing,
// the stiffeners over it, and the name by which everyone calls the end.
package girder

import "endcast/internal/domain/units"

// Side tells which end of a span's girder is meant. Near is the back-station
// end, far the ahead-station end.
type Side string

// The two sides.
const (
	Near Side = "N"
	Far  Side = "F"
)

// Name identifies a girder end within a bridge: span, side, girder line, for
// example 2F-3. Girder lines count left to right looking ahead station.
type Name struct {
	Span   int
	Side   Side
	Girder int
}

// SectionKind tells how a section was made.
type SectionKind string

// Kinds of section.
const (
	Rolled  SectionKind = "rolled"   // rolled wide-flange or standard beam
	BuiltUp SectionKind = "built_up" // plate girder, welded or riveted
)

// Section is the as-new cross-section. The bottom flange is the loaded one at a
// bearing. FilletK is the distance from the outer face of the bottom flange to
// the web toe of the fillet (kdes for rolled shapes).
type Section struct {
	Name               string
	Kind               SectionKind
	Depth              units.Length
	TopFlangeWidth     units.Length
	TopFlangeThickness units.Length
	FlangeWidth        units.Length
	FlangeThickness    units.Length
	WebThickness       units.Length
	FilletK            units.Length
	Source             string
}

// ClearDepth is the web depth between flanges, D in the shear rules.
func (s Section) ClearDepth() units.Length {
	return s.Depth - s.FlangeThickness - s.TopFlangeThickness
}

// BearingKind names the bearing under an end.
type BearingKind string

// Kinds of bearing.
const (
	Rocker       BearingKind = "rocker"
	Bolster      BearingKind = "bolster"
	SlidingPlate BearingKind = "sliding_plate"
	Elastomeric  BearingKind = "elastomeric"
	OtherBearing BearingKind = "other"
)

// Bearing is the support under the bottom flange. Start is the distance along
// the girder from its end to the near edge of the bearing; Length is the
// bearing length along the girder (N in the web rules).
type Bearing struct {
	Kind   BearingKind
	Fixed  bool
	Start  units.Length
	Length units.Length
	Width  units.Length
}

// Stiffener is a set of identical bearing stiffener pairs, one plate on each
// face of the web. Clip is what the web-to-flange weld or the fillet takes off
// the contact width. X is from the girder end to the middle of the set.
type Stiffener struct {
	Pairs     int
	Width     units.Length
	Thickness units.Length
	Clip      units.Length
	X         units.Length
	Fy        units.Stress
}

// Geometry is what does not change when steel is lost: the end as built.
type Geometry struct {
	Name            Name
	Section         Section
	Bearing         Bearing
	Stiffener       *Stiffener // nil: no bearing stiffeners
	SkewDeg         units.Angle
	Fy              units.Stress
	Fu              units.Stress
	HeldAgainstRoll bool // the end diaphragm still holds the end against roll
	// DiaphragmX is where the end diaphragm meets the web, from the girder end;
	// zero when there is none.
	DiaphragmX units.Length
	// EndPanel is the distance from the bearing line to the first intermediate
	// stiffener of the web; zero when the web has none.
	EndPanel units.Length
}
