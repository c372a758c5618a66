package basis

// Settings of the demand at a girder end: lanes, impact, distribution of shear,
// dead load. Most are remembered from licensed specifications, and each should be
// compared with the edition in force before anyone relies on it.

// Kinds of quantity that only these settings need.
const (
	Ft         Unit = "span" // a length, shown in ft or m
	Inertia    Unit = "inertia"
	UnitWeight Unit = "unit weight"
)

const (
	foot = 304.8
	kcf  = 4448.2216152605 / (foot * foot * foot)

	groupDead      = "Dead load"
	groupLanes     = "Lanes and wheels"
	groupImpact    = "Impact"
	groupShare     = "Distribution of live load"
	groupShareLFD  = "Distribution of live load, load factor method"
	groupSkew      = "Skew"
	groupLoadFac   = "Load factors of the demand"
	beamShear      = "AASHTO LRFD BDS 4.6.2.2.3, deck on steel beams"
	readBeamShear  = "AASHTO LRFD BDS table 4.6.2.2.3a-1, restated in several public calculation files"
	standardSpec   = "AASHTO Standard Specifications for Highway Bridges, 17th edition, "
	lrfdTrafficRow = "AASHTO LRFD BDS 3.6.1.1"
)

func loadSetting(key Key, group, name string, unit Unit, def, low, high float64, tag Tag, source string) Key {
	return Define(Definition{Key: "demand." + key, Group: group, Name: name, Unit: unit, Default: def, Min: low, Max: high, Source: source, Tag: tag})
}

// Dead load.
var (
	SteelWeight = loadSetting("steel_weight", groupDead, "unit weight of steel", UnitWeight, 0.490*kcf, 0.4*kcf, 0.6*kcf,
		Memory, "AASHTO LRFD BDS table 3.5.1-1 (0.490 kcf)")
	ConcreteWeight = loadSetting("concrete_weight", groupDead, "unit weight of a reinforced concrete deck", UnitWeight, 0.150*kcf, 0.08*kcf, 0.2*kcf,
		Read, "FHWA comprehensive design example, appendix A (0.150 kcf)")
	SteelDetails = loadSetting("steel_details", groupDead, "girder with its welds, bolts and small plates, over its section alone", Number, 1.05, 1, 1.5,
		Proposal, "no published value found; weigh what the drawings show instead where it is known")
)

// Lanes and wheels across the deck.
var (
	LaneWidth  = loadSetting("lane_width", groupLanes, "width of a design lane", Ft, 12*foot, 8*foot, 15*foot, Memory, lrfdTrafficRow+".1")
	LaneNarrow = loadSetting("lane_narrow", groupLanes, "least roadway that carries two design lanes", Ft, 20*foot, 16*foot, 24*foot, Memory, lrfdTrafficRow+".1")
	WheelGauge = loadSetting("wheel_gauge", groupLanes, "distance between the wheels of an axle", Ft, 6*foot, 4*foot, 10*foot,
		Memory, "AASHTO LRFD BDS figure 3.6.1.2.2-1")
	WheelCurb  = loadSetting("wheel_curb", groupLanes, "least distance of a wheel from the curb", Ft, 2*foot, 0, 4*foot, Memory, "AASHTO LRFD BDS 3.6.1.3.1")
	WheelApart = loadSetting("wheel_apart", groupLanes, "least distance between wheels of trucks side by side", Ft, 4*foot, 2*foot, 8*foot,
		Memory, "AASHTO LRFD BDS 3.6.1.3.1")
	Presence1 = loadSetting("presence_1", groupLanes, "multiple presence, one lane", Number, 1.20, 1, 1.5, Memory, lrfdTrafficRow+".2")
	Presence2 = loadSetting("presence_2", groupLanes, "multiple presence, two lanes", Number, 1.00, 0.5, 1.2, Memory, lrfdTrafficRow+".2")
	Presence3 = loadSetting("presence_3", groupLanes, "multiple presence, three lanes", Number, 0.85, 0.5, 1.2, Memory, lrfdTrafficRow+".2")
	Presence4 = loadSetting("presence_4", groupLanes, "multiple presence, four lanes and more", Number, 0.65, 0.5, 1.2, Memory, lrfdTrafficRow+".2")
	Reduce3   = loadSetting("reduce_3", groupLanes, "load factor method: reduction of three lanes", Number, 0.90, 0.5, 1, Memory, standardSpec+"3.12")
	Reduce4   = loadSetting("reduce_4", groupLanes, "load factor method: reduction of four lanes and more", Number, 0.75, 0.5, 1, Memory, standardSpec+"3.12")
)

// Impact. The lane load has none.
var (
	Impact = loadSetting("impact", groupImpact, "dynamic load allowance", Number, 0.33, 0, 0.75,
		Memory, "AASHTO LRFD BDS 3.6.2.1; not reduced for a smooth surface, because the joint lies right over the end")
	ImpactFatigue = loadSetting("impact_fatigue", groupImpact, "dynamic load allowance, fatigue truck", Number, 0.15, 0, 0.75, Memory, "AASHTO LRFD BDS 3.6.2.1")
	ImpactLFD     = loadSetting("impact_lfd", groupImpact, "load factor method: length over which impact is counted, I = this/(L + the next)", Ft, 50*foot, 0, 100*foot,
		Memory, standardSpec+"3.8.2")
	ImpactLFDSpan = loadSetting("impact_lfd_span", groupImpact, "load factor method: length added to the span in the impact formula", Ft, 125*foot, foot, 300*foot,
		Memory, standardSpec+"3.8.2")
	ImpactLFDMost = loadSetting("impact_lfd_most", groupImpact, "load factor method: most impact", Number, 0.30, 0, 0.75, Memory, standardSpec+"3.8.2")
)

// Distribution of shear to a girder by the formulas for a deck on steel beams, and
// the ranges that they hold in. Outside of a range the lever rule takes over.
var (
	ShareOneBase   = loadSetting("share_one_base", groupShare, "one lane, interior: constant part of the share", Number, 0.36, 0, 1, SecondHand, readBeamShear)
	ShareOneSpread = loadSetting("share_one_spread", groupShare, "one lane, interior: spacing that adds a whole lane", Ft, 25*foot, 5*foot, 100*foot, SecondHand, readBeamShear)
	ShareTwoBase   = loadSetting("share_two_base", groupShare, "two lanes or more, interior: constant part of the share", Number, 0.20, 0, 1, SecondHand, readBeamShear)
	ShareTwoSpread = loadSetting("share_two_spread", groupShare, "two lanes or more, interior: spacing that adds a whole lane", Ft, 12*foot, 5*foot, 100*foot, SecondHand, readBeamShear)
	ShareTwoBend   = loadSetting("share_two_bend", groupShare, "two lanes or more, interior: spacing of the square that is taken off", Ft, 35*foot, 20*foot, 200*foot, SecondHand, readBeamShear)
	ShareEdgeBase  = loadSetting("share_edge_base", groupShare, "exterior, two lanes or more: constant part of e", Number, 0.60, 0.1, 2, SecondHand, readBeamShear)
	ShareEdgeRise  = loadSetting("share_edge_rise", groupShare, "exterior, two lanes or more: distance to the curb that adds 1 to e", Ft, 10*foot, 3*foot, 50*foot, SecondHand, readBeamShear)

	SpacingLeast = loadSetting("spacing_least", groupShare, "least spacing that the formulas hold for", Ft, 3.5*foot, 0.5*foot, 10*foot, SecondHand, readBeamShear)
	SpacingMost  = loadSetting("spacing_most", groupShare, "largest spacing that the formulas hold for", Ft, 16*foot, 10*foot, 30*foot, SecondHand, readBeamShear)
	SpanLeast    = loadSetting("span_least", groupShare, "shortest span that the formulas hold for", Ft, 20*foot, 5*foot, 50*foot, SecondHand, readBeamShear)
	SpanMost     = loadSetting("span_most", groupShare, "longest span that the formulas hold for", Ft, 240*foot, 100*foot, 500*foot, SecondHand, readBeamShear)
	DeckLeast    = loadSetting("deck_least", groupShare, "thinnest deck that the formulas hold for", Length, 4.5*inch, 2*inch, 8*inch, SecondHand, readBeamShear)
	DeckMost     = loadSetting("deck_most", groupShare, "thickest deck that the formulas hold for", Length, 12*inch, 8*inch, 24*inch, SecondHand, readBeamShear)
	EdgeLeast    = loadSetting("edge_least", groupShare, "exterior: least distance to the curb that e holds for", Ft, -1*foot, -5*foot, 0, Memory, beamShear)
	EdgeMost     = loadSetting("edge_most", groupShare, "exterior: largest distance to the curb that e holds for", Ft, 5.5*foot, 1*foot, 10*foot, Memory, beamShear)
	GirdersLeast = loadSetting("girders_least", groupShare, "fewest girders that the formulas hold for; the lever rule with fewer", Number, 4, 2, 6, Memory, beamShear)
	GirdersFloor = loadSetting("share_floor", groupShare, "1: a share is at least lanes over girders; 0: no such floor", Number, 0, 0, 1,
		Read, "an owner's option; TxDOT Bridge Design Manual - LRFD, straight plate girders, asks for it")
	RigidSection = loadSetting("rigid_section", groupShare, "1: exterior girders also by the section turning as a whole; 0: never", Number, 0, 0, 1,
		Memory, "AASHTO LRFD BDS commentary C4.6.2.2.2d, with diaphragms or cross-frames; an owner's option")
	EmergencyOneLane = loadSetting("emergency_one_lane", groupShare, "1: an emergency vehicle runs alone in one lane; 0: with traffic beside it", Number, 0, 0, 1,
		Proposal, "traffic beside it lies on the safe side; FHWA memorandum of November 2016 speaks of one emergency vehicle at a time")
)

// Wheel lines of the load factor method.
var (
	LinesOne      = loadSetting("lines_one", groupShareLFD, "interior, one lane: spacing that carries one wheel line", Ft, 7*foot, 3*foot, 15*foot, Memory, standardSpec+"table 3.23.1")
	LinesTwo      = loadSetting("lines_two", groupShareLFD, "interior, two lanes or more: spacing that carries one wheel line", Ft, 5.5*foot, 3*foot, 15*foot, Memory, standardSpec+"table 3.23.1")
	LinesOneMost  = loadSetting("lines_one_most", groupShareLFD, "largest spacing for one lane; the deck as a simple span beyond", Ft, 10*foot, 5*foot, 30*foot, Memory, standardSpec+"table 3.23.1, note")
	LinesTwoMost  = loadSetting("lines_two_most", groupShareLFD, "largest spacing for two lanes; the deck as a simple span beyond", Ft, 14*foot, 5*foot, 30*foot, Memory, standardSpec+"table 3.23.1, note")
	LinesEdge     = loadSetting("lines_edge", groupShareLFD, "exterior, four girders and more: spacing up to which the interior rule is the least", Ft, 6*foot, 3*foot, 15*foot, Memory, standardSpec+"3.23.2.3.1.5")
	LinesEdgeBase = loadSetting("lines_edge_base", groupShareLFD, "exterior beyond that spacing: wheel lines S/(this + part of S)", Ft, 4*foot, foot, 15*foot, Memory, standardSpec+"3.23.2.3.1.5")
	LinesEdgePart = loadSetting("lines_edge_part", groupShareLFD, "exterior beyond that spacing: the part of S", Number, 0.25, 0, 1, Memory, standardSpec+"3.23.2.3.1.5")
)

// Skew.
var (
	SkewFactor  = loadSetting("skew_factor", groupSkew, "factor of the correction at the obtuse corner", Number, 0.20, 0, 1, SecondHand, "AASHTO LRFD BDS table 4.6.2.2.3c-1")
	SkewPower   = loadSetting("skew_power", groupSkew, "power of the stiffness ratio in the correction", Number, 0.3, 0, 1, SecondHand, "AASHTO LRFD BDS table 4.6.2.2.3c-1")
	SkewMost    = loadSetting("skew_most", groupSkew, "largest skew that the correction holds for", Angle, 60, 20, 75, SecondHand, "AASHTO LRFD BDS table 4.6.2.2.3c-1")
	SkewGirders = loadSetting("skew_girders", groupSkew, "girders counted from the obtuse corner that the correction applies to", Number, 2, 1, 30,
		Memory, "AASHTO LRFD BDS 4.6.2.2.3c: the exterior one in older editions, the first interior one too in later ones")
	SkewRatio = loadSetting("skew_ratio", groupSkew, "stiffness ratio L ts^3/Kg where the stiffness is not known", Number, 1, 0.1, 10,
		Memory, "AASHTO LRFD BDS table 4.6.2.2.1-3 simplifies about so")
	StiffLeast = loadSetting("stiff_least", groupSkew, "least longitudinal stiffness Kg that the formulas hold for", Inertia, 1e4*inch*inch*inch*inch, 0, 1e6*inch*inch*inch*inch,
		SecondHand, readBeamShear)
	StiffMost = loadSetting("stiff_most", groupSkew, "largest longitudinal stiffness Kg that the formulas hold for", Inertia, 7e6*inch*inch*inch*inch, 1e6*inch*inch*inch*inch, 1e9*inch*inch*inch*inch,
		SecondHand, readBeamShear)
)

// Load factors of the reaction that a design must carry.
var (
	GammaDC = loadSetting("gamma_dc", groupLoadFac, "Strength I: structure and attachments", Number, 1.25, 1, 2, SecondHand, "AASHTO LRFD BDS table 3.4.1-2; the same in the Manual for Bridge Evaluation, part A")
	GammaDW = loadSetting("gamma_dw", groupLoadFac, "Strength I: wearing surface and utilities", Number, 1.50, 1, 2, SecondHand, "AASHTO LRFD BDS table 3.4.1-2; the same in the Manual for Bridge Evaluation, part A")
	GammaLL = loadSetting("gamma_ll", groupLoadFac, "Strength I: live load with impact", Number, 1.75, 1, 3, SecondHand, "AASHTO LRFD BDS table 3.4.1-1")
	DeadLFD = loadSetting("dead_lfd", groupLoadFac, "load factor method: dead load", Number, 1.3, 1, 2, Memory, standardSpec+"table 3.22.1A")
	LiveLFD = loadSetting("live_lfd", groupLoadFac, "load factor method: live load with impact", Number, 2.17, 1, 3, Memory, standardSpec+"table 3.22.1A (1.3 times 5/3)")
)
