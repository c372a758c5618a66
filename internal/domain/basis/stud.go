package basis

func studSetting(key Key, name string, unit Unit, def, low, high float64, tag Tag, source string) Key {
	return Define(Definition{Key: key, Group: "Studs", Name: name, Unit: unit, Default: def, Min: low, Max: high, Source: source, Tag: tag})
}

// Strength of one stud.
var (
	// StudStandard chooses the rule for one stud: 1 AASHTO, 2 AISC, 3 EN 1994.
	StudStandard = studSetting("stud.standard", "Standard for stud resistance (1 AASHTO LRFD, 2 AISC 360 I8.3, 3 EN 1994-1-1)", Number,
		1, 1, 3, Proposal, "choice of the owner; in UHPC the three differ only by a constant on the shank strength")
	StudPhiAASHTO = studSetting("stud.phi_aashto", "Resistance factor of a stud, AASHTO", Number, 0.85, 0.1, 1,
		SecondHand, "AASHTO LRFD 6.10.10.4.1, public copy")
	StudFuAASHTO = studSetting("stud.fu_aashto", "Highest stud tensile strength counted, AASHTO", Stress, 60*ksi, 200, 700,
		Memory, "AASHTO LRFD 6.4.4")
	StudPhiAISC = studSetting("stud.phi_aisc", "Resistance factor of a stud in shear, AISC", Number, 0.65, 0.1, 1,
		Read, "AISC 360-22 I8.3a")
	StudPhiTensionAISC = studSetting("stud.phi_tension_aisc", "Resistance factor of a stud in tension, AISC", Number, 0.75, 0.1, 1,
		Read, "AISC 360-22 I8.3b")
	StudGammaV = studSetting("stud.gamma_v", "Partial factor of a stud, EN 1994", Number, 1.25, 1, 3,
		SecondHand, "EN 1994-1-1 6.6.3.1, quoted on public pages")
	StudFuEN = studSetting("stud.fu_en", "Highest stud tensile strength counted, EN 1994", Stress, 500, 200, 700,
		Memory, "EN 1994-1-1 6.6.3.1")
	StudFcEN = studSetting("stud.fc_en", "Highest concrete strength counted, EN 1994", Stress, 60, 20, 200,
		Memory, "EN 1994-1-1, concrete to C60/75")
	StudEcmEN = studSetting("stud.ecm_en", "Highest concrete modulus counted, EN 1994", Stress, 39000, 20000, 60000,
		Memory, "modulus of C60/75, EN 1992-1-1")
	StudEta = studSetting("stud.eta_collar", "Factor of the weld collar, for information only", Number, 2.5, 0, 5,
		Memory, "German studies of about 2001 to 2006; never in a design resistance")
)

// Shape, metal under the stud, and room.
var (
	StudSlenderness = studSetting("stud.height_ratio_min", "Least height over diameter of a stud", Number, 4, 2, 10,
		Memory, "AASHTO LRFD 6.10.10.1.1; below it only with a cited test (3.1 is reported for UHPC)")
	StudSlendernessAISC = studSetting("stud.height_ratio_aisc", "Height over diameter for the AISC component rule", Number, 5, 2, 10,
		Read, "AISC 360-22 I8.3, normal weight concrete, shear")
	StudSlendernessTension = studSetting("stud.height_ratio_tension", "Height over diameter of a stud in tension", Number, 8, 2, 15,
		Read, "AISC 360-22 I8.3, normal weight concrete, tension or both")
	StudDiameterAISC = studSetting("stud.diameter_aisc", "Largest stud of the AISC component rule", Length, 0.75*inch, 10, 30,
		Read, "AISC 360-22 I8.1 and I8.3")
	StudBaseRatio = studSetting("stud.base_ratio", "Largest stud diameter over the metal under it", Number, 2.5, 1, 4,
		Read, "AISC 360-22 I8.1; AWS D1.1 and D1.5 allow 3 (from memory)")
	StudBaseRatioWeld = studSetting("stud.base_ratio_weld", "Stud diameter over the metal it can be welded to, at most, shown for information", Number, 3, 1, 5,
		Memory, "AWS D1.1 and D1.5: a third of the diameter")
	StudBaseRatioTension = studSetting("stud.base_ratio_tension", "Stud diameter over metal in tension under fatigue, at most, shown for information", Number, 1.5, 1, 4,
		Memory, "EN 1994-1-1 6.6.5.7")
	StudHeadRatio = studSetting("stud.head_ratio", "Thickness of a stud head over the stud diameter", Number, 0.5, 0.2, 1,
		Memory, "3/8 in. on a 3/4 in. stud; EN ISO 13918 has 10 mm on 19 mm")
	StudPryFactor = studSetting("stud.pry_factor", "Breakout of a stud, factor on root f'c in psi and inches, shown for information", Number, 24, 10, 40,
		Memory, "ACI 318-19 17.6.2.2")
	StudPryFc = studSetting("stud.pry_fc", "Highest concrete strength counted for pry-out", Stress, 10*ksi, 20, 200,
		Memory, "ACI 318-19 17.3.1")
	StudSkewGun = studSetting("stud.skew_gun", "Body of the gun beyond the stud that stands beside a skewed diaphragm", Length, 3*inch, 0, 500,
		Proposal, "chuck and legs of a hand gun; a skewed diaphragm leans toward the studs on its acute side")
	StudSkewDecides = studSetting("stud.skew_decides", "Room for the gun at a skewed diaphragm decides (1) or informs (0)", Number, 0, 0, 1,
		Proposal, "no published rule; chuck extensions and bent connection plates change the room, so it informs until the owner decides")
	StudPitchMin = studSetting("stud.pitch_min", "Least vertical pitch, in stud diameters", Number, 4, 3, 10,
		Proposal, "4 d in AASHTO LRFD 10th edition, read second-hand; tests show no trend at 3 d and more")
	StudPitchUsual = studSetting("stud.pitch_usual", "Usual vertical pitch, in stud diameters", Number, 6, 3, 12,
		Memory, "AASHTO LRFD 6.10.10.1.2 to the 9th edition")
	StudPitchMax = studSetting("stud.pitch_max", "Largest pitch", Length, 24*inch, 100, 1500,
		SecondHand, "AASHTO LRFD 6.10.10.1.2")
	StudGaugeMin = studSetting("stud.gauge_min", "Least spacing of studs, in stud diameters", Number, 4, 2.5, 10,
		SecondHand, "AASHTO LRFD 6.10.10.1.3; AISC 360-22 I8.3e has 4 d in any direction")
	StudSteelEdge = studSetting("stud.steel_edge", "Stud middle to a steel edge beyond one diameter", Length, inch/8, 0, 50,
		Memory, "AWS D1.1: one diameter plus 1/8 in.")
	StudSteelEdgePreferred = studSetting("stud.steel_edge_preferred", "Stud middle to a steel edge, at least", Length, 1.5*inch, 0, 100,
		Memory, "AWS D1.1, preferred")
	StudGunClearance = studSetting("stud.gun_clearance", "Room for the gun beside a stiffener", Length, 1.5*inch, 0, 150,
		Proposal, "room for gun and ferrule, common practice")
	StudFootRadius = studSetting("stud.foot_radius", "Reach of the web that carries a stud, from its middle, in stud diameters", Number, 1, 0.5, 3,
		Proposal, "half a diameter, the weld collar and the tolerance of position")
	StudDiaphragmClearance = studSetting("stud.diaphragm_clearance", "Stud middle to the line of the end diaphragm", Length, 4*inch, 0, 300,
		Proposal, "half a connection angle and room for the gun")
	StudHeadCover = studSetting("stud.head_cover", "UHPC over a stud head", Length, inch, 10, 100,
		Proposal, "1 in.; 2 in. in AASHTO LRFD 6.10.10.1.4 for decks, 25 mm reported for UHPC")
	StudSideCover = studSetting("stud.side_cover", "UHPC beside a stud", Length, inch, 10, 150,
		Proposal, "clear edge of AASHTO LRFD 6.10.10.1.3, from memory")
)

// Force on the web at the foot of a stud, fatigue, and slip.
var (
	StudFootFactor = studSetting("stud.foot_factor", "Bearing of the web at a stud foot, factor on d t Fu", Number, 2.4, 0.5, 3,
		Proposal, "by analogy with a bolt hole")
	StudPhiFoot = studSetting("stud.phi_foot", "Resistance factor of the web at a stud foot", Number, 0.80, 0.1, 1,
		Proposal, "by analogy with a bolt hole")
	StudFatigueInfinite = studSetting("stud.fatigue_infinite", "Fatigue resistance over diameter squared, infinite life", Stress, 5.5*ksi, 1, 100,
		Memory, "AASHTO LRFD 6.10.10.2, Fatigue I")
	StudFatigueA = studSetting("stud.fatigue_a", "Fatigue resistance over diameter squared, finite life, first constant", Stress, 34.5*ksi, 1, 500,
		SecondHand, "AASHTO LRFD 6.10.10.2, public copy")
	StudFatigueB = studSetting("stud.fatigue_b", "Fatigue resistance over diameter squared, finite life, factor of log N", Stress, 4.28*ksi, 0.1, 100,
		SecondHand, "AASHTO LRFD 6.10.10.2, public copy")
	StudFatigueEN = studSetting("stud.fatigue_en", "Stud shear stress range at two million cycles, EN 1994", Stress, 90, 10, 200,
		Memory, "EN 1993-1-9 and EN 1994-2")
	StudFatigueSlopeEN = studSetting("stud.fatigue_slope_en", "Slope of the stud fatigue line, EN 1994", Number, 8, 3, 15,
		Memory, "EN 1993-1-9 and EN 1994-2")
	StudFatigueGammaI = studSetting("stud.fatigue_gamma_infinite", "Load factor of the live range, infinite life", Number, 1.75, 0.5, 3,
		Read, "Fatigue I, Illinois DOT Design Guide 3.3.9, May 2019, from the 8th edition of AASHTO LRFD on")
	StudFatigueGammaII = studSetting("stud.fatigue_gamma_finite", "Load factor of the live range, finite life", Number, 0.80, 0.3, 3,
		Read, "Fatigue II, Illinois DOT Design Guide 3.3.9, May 2019, from the 8th edition of AASHTO LRFD on")
	StudFatigueGammaEN = studSetting("stud.fatigue_gamma_en", "Partial factors of load and stud in fatigue, EN 1994, product", Number, 1.0, 0.5, 2,
		Memory, "EN 1993-2 and EN 1994-2, recommended values")
	StudSlipCap = studSetting("stud.slip_cap", "Slip a row may reach at factored load", Length, 2, 0.1, 10,
		Proposal, "0.08 in.; redistribution by slip is not relied on in UHPC")
	StudSlipCenter = studSetting("stud.slip_center", "Slip of the farthest stud for the center of rotation", Length, 6, 0.1, 10,
		Read, "EN 1994-1-1 6.6.1.1(5), characteristic slip of a ductile stud; shown for information")
	StudStiffnessPerMM = studSetting("stud.stiffness", "Stiffness of a stud over its strength, per mm", Number, 1, 0.1, 10,
		Proposal, "1.05 per mm at a quarter of strength in FHWA-HRT-20-005 push-outs, read second-hand")
)

func panelSetting(key Key, name string, unit Unit, def, low, high float64, tag Tag, source string) Key {
	return Define(Definition{Key: key, Group: "Panel", Name: name, Unit: unit, Default: def, Min: low, Max: high, Source: source, Tag: tag})
}

// The panel and the steel beside it.
var (
	PanelPhiBearing = panelSetting("panel.phi_bearing", "Resistance factor of bearing at the panel foot", Number, 0.70, 0.1, 1,
		Memory, "AASHTO LRFD 5.5.4.2 and 5.6.5")
	PanelBearingFactor = panelSetting("panel.bearing_factor", "Bearing stress over UHPC strength at the panel foot", Number, 0.85, 0.1, 1,
		Memory, "AASHTO LRFD 5.6.5, no gain from confinement taken")
	PanelPhiFlange = panelSetting("panel.phi_flange", "Resistance factor of flange bending beside its support", Number, 0.90, 0.1, 1,
		Memory, "base-plate mechanics")
	PanelFootSpread = panelSetting("panel.foot_spread", "Spread of bearing along the girder, in flange thicknesses each side", Number, 1, 0, 2.5,
		Proposal, "45 degrees through the remaining flange")
	PanelPhiCompression = panelSetting("panel.phi_compression", "Resistance factor of panel compression", Number, 0.70, 0.1, 1,
		Proposal, "as for bearing, from memory")
	PanelCompressionFactor = panelSetting("panel.compression_factor", "Compression block stress over UHPC strength", Number, 0.85, 0.1, 1,
		Memory, "AASHTO UHPC guide specification, 2024")
	PanelSpread = panelSetting("panel.spread", "Spread of compression in the panel, sideways over down", Number, 1, 0, 2,
		Proposal, "45 degrees")
	PanelPhiShear = panelSetting("panel.phi_shear", "Resistance factor of panel shear", Number, 0.90, 0.1, 1,
		Memory, "AASHTO UHPC guide specification, 2024")
	PanelGammaU = panelSetting("panel.gamma_u", "Reduction of UHPC tension for scatter", Number, 0.85, 0.1, 1,
		Memory, "AASHTO UHPC guide specification, 2024")
	PanelTension = panelSetting("panel.tension", "Tension that UHPC holds after cracking", Stress, 0.75*ksi, 0, 15,
		Memory, "AASHTO UHPC guide specification, 2024, least cracking strength")
	PanelShearAngle = panelSetting("panel.shear_angle", "Angle of the struts in panel shear", Angle, 45, 30, 60,
		Memory, "45 degrees unless calculated")
	PanelSlenderness = panelSetting("panel.slenderness", "Panel height under the studs over thickness, at most", Number, 10, 1, 30,
		Proposal, "keeps second-order bending out of the check")
	PanelThicknessMin = panelSetting("panel.thickness_min", "Least panel thickness on a face", Length, 4*inch, 25, 300,
		Proposal, "room to cast with fibers")
	PanelFiberLength = panelSetting("panel.fiber_length", "Fiber length", Length, 0.5*inch, 1, 75,
		Proposal, "13 mm steel fibers are usual")
	PanelFiberClear = panelSetting("panel.fiber_clear", "UHPC over a stud head, in fiber lengths", Number, 2, 0, 5,
		Proposal, "fibers must pass over the heads")
	PanelStrengthMin = panelSetting("panel.strength_min", "Least UHPC strength that the rules speak of", Stress, 17.5*ksi, 50, 250,
		Memory, "AASHTO UHPC guide specification, 2024")
	PanelModulus = panelSetting("panel.modulus", "Modulus of UHPC at 1 ksi", Stress, 2500*ksi, 1000, 60000,
		Memory, "AASHTO UHPC guide specification, 2024: 2500 f'c^0.33, ksi")
	PanelModulusPower = panelSetting("panel.modulus_power", "Power of strength in the modulus of UHPC", Number, 0.33, 0, 1,
		Memory, "AASHTO UHPC guide specification, 2024")
	PanelGapMax = panelSetting("panel.gap_max", "Largest gap under the panel foot that counts as tight", Length, 0, 0, 5,
		Proposal, "a panel that does not touch takes nothing")
	PanelTopRoom = panelSetting("panel.top_room", "Room over a panel to place UHPC from its side, shown for information", Length, 2*inch, 0, 300,
		Proposal, "a hand and a hose; a panel that reaches higher is placed through cores in the deck")
	PanelPhiWeb = panelSetting("panel.phi_web", "Resistance factor of web shear beside the group", Number, 1.0, 0.1, 1,
		Memory, "AASHTO LRFD 6.5.4.2 and 6.10.9")
	PanelWebFactor = panelSetting("panel.web_factor", "Shear yield over tensile yield of the web", Number, 0.58, 0.3, 0.6,
		Memory, "AASHTO LRFD 6.10.9.2")
	PanelStripDecides = panelSetting("panel.strip_decides", "Web strip of group height decides (1) or informs (0)", Number, 1, 0, 1,
		Proposal, "the strip leaves out what the web above and below brings in")
	PanelShrinkage = panelSetting("panel.shrinkage", "Free shrinkage of the panel below the studs", Number, 600e-6, 0, 0.003,
		Proposal, "UHPC shrinkage after set, order of size; it opens a gap under the foot")
	PanelSteelModulus = panelSetting("panel.steel_modulus", "Modulus of steel", Stress, 29000*ksi, 150000, 250000,
		Read, "AISC 360-22")
	PanelGrid = panelSetting("panel.grid", "Step of proposed stud places and panel sizes", Length, 0.5*inch, 1, 100,
		Proposal, "what can be laid out with a tape")
	PanelColumnsMin = panelSetting("panel.columns_min", "Fewest columns of studs to propose", Number, 2, 1, 10,
		Proposal, "one column leaves a panel too narrow to stay put")
	PanelOverBearing = panelSetting("panel.over_bearing", "A proposed panel reaches over the whole bearing (1) or only as needed (0)", Number, 1, 0, 1,
		Proposal, "the reaction may wander over the bearing")
	PanelStudReserve = panelSetting("panel.stud_reserve", "Reserve of studs to propose, part of the reaction", Number, 0, 0, 1,
		Proposal, "studs that are rejected later have to be welded again unless there is a reserve")
	PanelMetalSpare = panelSetting("panel.metal_spare", "Web metal to spare under proposed studs, where there is a choice", Length, 0.06*inch, 0, 25,
		Proposal, "cleaning usually finds more loss than a survey through rust; a layout on the very limit would go out of date with the first reading")
	PanelThicknessMax = panelSetting("panel.thickness_max", "Largest panel thickness on a face to propose", Length, 12*inch, 50, 600,
		Proposal, "mass on one face and room beside the diaphragm")
)

func collarSetting(key Key, name string, unit Unit, def, low, high float64, tag Tag, source string) Key {
	return Define(Definition{Key: key, Group: "Collars", Name: name, Unit: unit, Default: def, Min: low, Max: high, Source: source, Tag: tag})
}

// Weld collars.
var (
	CollarFillet3 = collarSetting("collar.fillet_to_7_16", "Repair fillet, studs 1/4 to 7/16 in.", Length, inch*3/16, 2, 20,
		Memory, "AWS D1.1, table for fillet-welded studs")
	CollarFillet4 = collarSetting("collar.fillet_1_2", "Repair fillet, stud 1/2 in.", Length, inch/4, 2, 20,
		Memory, "AWS D1.1, table for fillet-welded studs")
	CollarFillet5 = collarSetting("collar.fillet_to_7_8", "Repair fillet, studs 5/8 to 7/8 in.", Length, inch*5/16, 2, 20,
		Memory, "AWS D1.1, table for fillet-welded studs")
	CollarFillet6 = collarSetting("collar.fillet_1", "Repair fillet, stud 1 in.", Length, inch*3/8, 2, 20,
		Memory, "AWS D1.1, table for fillet-welded studs")
	CollarOverrun = collarSetting("collar.overrun", "Repair fillet past each end of the gap", Length, inch*3/8, 0, 50,
		SecondHand, "AWS D1.1:2015 7.7.3, quoted by the AWS forum")
	CollarBend = collarSetting("collar.bend", "Bend that proves a stud with an incomplete collar", Angle, 15, 5, 45,
		Read, "TI 809-26 chapter 6")
	CollarTestBend = collarSetting("collar.test_bend", "Bend of a test stud at the start of a shift", Angle, 30, 10, 90,
		Read, "TI 809-26 chapter 6")
	CollarTestStuds = collarSetting("collar.test_studs", "Test studs at the start of a shift", Number, 2, 1, 10,
		Memory, "AWS D1.1")
)
