package basis

// Settings of the capacity of a corroded girder end. Where the source is a
// licensed standard that was not at hand the tag says so: an owner's engineer
// should compare each with the text in force before relying on it.

const (
	groupSteel  = "Steel"
	groupSurvey = "Survey"
	groupWeb    = "Web at the bearing"
	groupShear  = "Web shear"
	groupPlates = "Bearing stiffeners"
)

// Steel.
var (
	SteelModulus = Define(Definition{Key: "steel.modulus", Group: groupSteel, Name: "modulus of elasticity of steel", Unit: Stress,
		Default: 29000 * ksi, Min: 190000, Max: 210000, Source: "ANSI/AISC 360-22 chapter E (29,000 ksi)", Tag: Read})
)

// Reading the survey.
var (
	SurveyReach = Define(Definition{Key: "survey.reach", Group: groupSurvey, Name: "distance that a reading speaks for beyond the read area", Unit: Length,
		Default: 152.4, Min: 0, Max: 1000, Source: "half a foot; no published value found", Tag: Proposal})
	SurveyRow = Define(Definition{Key: "survey.row", Group: groupSurvey, Name: "readings closer in height than this are one row", Unit: Length,
		Default: 12.7, Min: 0, Max: 100, Source: "half of the usual one inch grid; no published value found", Tag: Proposal})
	SurveyAboveNominal = Define(Definition{Key: "survey.above_nominal", Group: groupSurvey, Name: "largest reading accepted, over the as-new thickness", Unit: Number,
		Default: 1.10, Min: 1, Max: 2, Source: "rolling tolerance and gauge error; no published value found", Tag: Proposal})
	SurveyLeastReadings = Define(Definition{Key: "survey.least_readings", Group: groupSurvey, Name: "fewest readings in the zone above the bearing", Unit: Number,
		Default: 9, Min: 0, Max: 400, Source: "three by three; no published minimum found", Tag: Proposal})
)

// Web above the bearing.
var (
	WebPhiYielding = Define(Definition{Key: "web.phi_yielding", Group: groupWeb, Name: "resistance factor, web local yielding", Unit: Number,
		Default: 1.00, Min: 0.5, Max: 1, Source: "AASHTO LRFD BDS D6.5.2; the same in ANSI/AISC 360-22 J10.2", Tag: Memory})
	WebPhiCrippling = Define(Definition{Key: "web.phi_crippling", Group: groupWeb, Name: "resistance factor, web local crippling", Unit: Number,
		Default: 0.80, Min: 0.5, Max: 1, Source: "AASHTO LRFD BDS D6.5.3 (ANSI/AISC 360-22 J10.3 has 0.75)", Tag: Memory})
	WebGammaPatch = Define(Definition{Key: "web.gamma_patch", Group: groupWeb, Name: "partial factor, patch load", Unit: Number,
		Default: 1.0, Min: 1, Max: 1.5, Source: "1.0 to compare nominal values; EN 1993-2 recommends 1.1 for bridges", Tag: Memory})
	WebZoneHeight = Define(Definition{Key: "web.zone_height", Group: groupWeb, Name: "height of the zone above the bearing", Unit: Length,
		Default: 101.6, Min: 25.4, Max: 1000, Source: "four inches; no published value found", Tag: Proposal})
	WebZoneSearch = Define(Definition{Key: "web.zone_search", Group: groupWeb, Name: "part of the web depth searched for the thinnest row", Unit: Number,
		Default: 0.5, Min: 0, Max: 1, Source: "lower half, so that the deepest band of loss is always in the zone; no published value found", Tag: Proposal})
	WebLowestRow = Define(Definition{Key: "web.lowest_row", Group: groupWeb, Name: "height of the lowest row, above the fillet", Unit: Length,
		Default: 25.4, Min: 0, Max: 200, Source: "one inch grid; no published value found", Tag: Proposal})
	WebInteriorWhenHeld = Define(Definition{Key: "web.interior_when_held", Group: groupWeb, Name: "1: use the interior crippling formula where a diaphragm holds the end; 0: never", Unit: Number,
		Default: 0, Min: 0, Max: 1, Source: "commentary to ANSI/AISC 360-22 J10.3 intends it; corroded joints make it doubtful", Tag: Proposal})
	WebDeviationFlag = Define(Definition{Key: "web.deviation_flag", Group: groupWeb, Name: "web out of plumb, over its mean thickness, that raises a flag", Unit: Number,
		Default: 0.1, Min: 0, Max: 10, Source: "no published value found", Tag: Proposal})
	WebDeviationLimit = Define(Definition{Key: "web.deviation_limit", Group: groupWeb, Name: "web out of plumb, over its mean thickness, that the method does not cover", Unit: Number,
		Default: 0.5, Min: 0, Max: 10, Source: "no published value found", Tag: Proposal})
	WebHoleLimit = Define(Definition{Key: "web.hole_limit", Group: groupWeb, Name: "longest hole along the flange, over the bearing length", Unit: Number,
		Default: 0.5, Min: 0, Max: 2, Source: "no published value found", Tag: Proposal})
	WebThinSlenderness = Define(Definition{Key: "web.thin_slenderness", Group: groupWeb, Name: "patch load slenderness above which the web is flagged as thin", Unit: Number,
		Default: 1.2, Min: 0.5, Max: 5, Source: "no published value found", Tag: Proposal})
	WebThinLoss = Define(Definition{Key: "web.thin_loss", Group: groupWeb, Name: "part of the web lost above which it is flagged as thin", Unit: Number,
		Default: 0.4, Min: 0, Max: 1, Source: "no published value found", Tag: Proposal})
	WebFlangeLeft = Define(Definition{Key: "web.flange_left", Group: groupWeb, Name: "least part of the bottom flange left over the bearing that the rules of the web cover", Unit: Number,
		Default: 0.25, Min: 0, Max: 1, Source: "the rules count on a flange that holds the web; no published value found", Tag: Proposal})
	FlangePhi = Define(Definition{Key: "flange.phi_bending", Group: groupWeb, Name: "resistance factor, flange cantilever over the bearing", Unit: Number,
		Default: 0.90, Min: 0.5, Max: 1, Source: "AISC Design Examples v16.0, II.D-2", Tag: Read})
)

// Web shear. The three constants changed between editions (1.10, 1.38 and 1.52 in
// the first ones), which moves a slender web by three percent.
var (
	ShearPhi = Define(Definition{Key: "shear.phi", Group: groupShear, Name: "resistance factor, web shear", Unit: Number,
		Default: 1.00, Min: 0.5, Max: 1, Source: "AASHTO LRFD BDS 6.5.4.2", Tag: Memory})
	ShearPlastic = Define(Definition{Key: "shear.plastic", Group: groupShear, Name: "shear yield over yield strength", Unit: Number,
		Default: 0.58, Min: 0.5, Max: 0.6, Source: "AASHTO LRFD BDS 6.10.9.2", Tag: Memory})
	ShearStocky = Define(Definition{Key: "shear.stocky", Group: groupShear, Name: "constant of the limit below which the web yields", Unit: Number,
		Default: 1.12, Min: 1, Max: 1.2, Source: "AASHTO LRFD BDS 6.10.9.3.2, present editions", Tag: Memory})
	ShearSlender = Define(Definition{Key: "shear.slender", Group: groupShear, Name: "constant of the limit above which the web buckles elastically", Unit: Number,
		Default: 1.40, Min: 1.3, Max: 1.5, Source: "AASHTO LRFD BDS 6.10.9.3.2, present editions", Tag: Memory})
	ShearElastic = Define(Definition{Key: "shear.elastic", Group: groupShear, Name: "constant of the elastic branch", Unit: Number,
		Default: 1.57, Min: 1.4, Max: 1.7, Source: "AASHTO LRFD BDS 6.10.9.3.2, present editions", Tag: Memory})
	ShearFirst = Define(Definition{Key: "shear.first_editions", Group: groupShear, Name: "1: the three constants of the first editions; 0: of the present ones", Unit: Number,
		Default: 0, Min: 0, Max: 1, Source: "choice of the owner, by the edition that the bridge is rated to", Tag: Proposal})
	ShearStockyFirst = Define(Definition{Key: "shear.stocky_first", Group: groupShear, Name: "constant of the limit below which the web yields, first editions", Unit: Number,
		Default: 1.10, Min: 1, Max: 1.2, Source: "AASHTO LRFD BDS 6.10.7.3.3a, editions of 1994 and 1998", Tag: Memory})
	ShearSlenderFirst = Define(Definition{Key: "shear.slender_first", Group: groupShear, Name: "constant of the limit above which the web buckles elastically, first editions", Unit: Number,
		Default: 1.38, Min: 1.3, Max: 1.5, Source: "AASHTO LRFD BDS 6.10.7.3.3a, editions of 1994 and 1998", Tag: Memory})
	ShearElasticFirst = Define(Definition{Key: "shear.elastic_first", Group: groupShear, Name: "constant of the elastic branch, first editions", Unit: Number,
		Default: 1.52, Min: 1.4, Max: 1.7, Source: "AASHTO LRFD BDS 6.10.7.3.3a, editions of 1994 and 1998", Tag: Memory})
	ShearUnstiffened = Define(Definition{Key: "shear.buckling", Group: groupShear, Name: "shear buckling coefficient of a web without stiffeners", Unit: Number,
		Default: 5, Min: 4, Max: 6, Source: "AASHTO LRFD BDS 6.10.9.2", Tag: Memory})
	ShearEndPanel = Define(Definition{Key: "shear.end_panel", Group: groupShear, Name: "longest end panel that counts as stiffened, over the web depth", Unit: Number,
		Default: 1.5, Min: 1, Max: 3, Source: "AASHTO LRFD BDS 6.10.9.1", Tag: Memory})
	ShearReach = Define(Definition{Key: "shear.reach", Group: groupShear, Name: "length of web looked at for shear where there is no stiffener, over the web depth", Unit: Number,
		Default: 1.0, Min: 0.5, Max: 3, Source: "no published value found", Tag: Proposal})
)

// Bearing stiffeners.
var (
	StiffenerPhiBearing = Define(Definition{Key: "stiffener.phi_bearing", Group: groupPlates, Name: "resistance factor, bearing on fitted ends", Unit: Number,
		Default: 1.00, Min: 0.5, Max: 1, Source: "AASHTO LRFD BDS 6.5.4.2", Tag: Memory})
	StiffenerBearing = Define(Definition{Key: "stiffener.bearing", Group: groupPlates, Name: "bearing on fitted ends, over yield strength", Unit: Number,
		Default: 1.4, Min: 1, Max: 1.8, Source: "AASHTO LRFD BDS 6.10.11.2.3", Tag: Memory})
	StiffenerPhiAxial = Define(Definition{Key: "stiffener.phi_axial", Group: groupPlates, Name: "resistance factor, stiffener as a column", Unit: Number,
		Default: 0.95, Min: 0.5, Max: 1, Source: "AASHTO LRFD BDS 6.5.4.2, recent editions (0.90 in older ones)", Tag: Memory})
	StiffenerStrip = Define(Definition{Key: "stiffener.strip", Group: groupPlates, Name: "web counted each side of the stiffeners, over its thickness", Unit: Number,
		Default: 9, Min: 0, Max: 15, Source: "AASHTO LRFD BDS 6.10.11.2.4b", Tag: Memory})
	StiffenerLength = Define(Definition{Key: "stiffener.length", Group: groupPlates, Name: "effective length, over the web depth", Unit: Number,
		Default: 0.75, Min: 0.5, Max: 1, Source: "AASHTO LRFD BDS 6.10.11.2.4a; the same in ANSI/AISC 360-22 J10.8", Tag: Memory})
	StiffenerSlender = Define(Definition{Key: "stiffener.width", Group: groupPlates, Name: "constant of the projecting width limit", Unit: Number,
		Default: 0.48, Min: 0.3, Max: 0.6, Source: "AASHTO LRFD BDS 6.10.11.2.2", Tag: Memory})
)

// Yield and tensile strength where no record names the steel, by year built.
var (
	SteelFyBefore1905 = era("steel.fy_before_1905", "yield strength, built before 1905", 26)
	SteelFuBefore1905 = era("steel.fu_before_1905", "tensile strength, built before 1905", 52)
	SteelFyBefore1936 = era("steel.fy_before_1936", "yield strength, built 1905 to 1936", 30)
	SteelFuBefore1936 = era("steel.fu_before_1936", "tensile strength, built 1905 to 1936", 60)
	SteelFyBefore1963 = era("steel.fy_before_1963", "yield strength, built 1936 to 1963", 33)
	SteelFuBefore1963 = era("steel.fu_before_1963", "tensile strength, built 1936 to 1963", 66)
	SteelFySince1963  = era("steel.fy_since_1963", "yield strength, built after 1963", 36)
	SteelFuSince1963  = era("steel.fu_since_1963", "tensile strength, built after 1963", 66)
)

func era(k Key, name string, inKsi float64) Key {
	return Define(Definition{Key: k, Group: groupSteel, Name: name, Unit: Stress, Default: inKsi * ksi, Min: 100, Max: 1000,
		Source: "AASHTO Manual for Bridge Evaluation, table for unknown steel", Tag: Memory})
}

// Yield strength by grade. Years in use, and A242's thickness groups, are for the
// reader to judge.
var (
	SteelFyA7    = grade("steel.fy_a7", "yield strength of A7 (to the early 1960s)", 33, Memory)
	SteelFyA373  = grade("steel.fy_a373", "yield strength of A373 (1954 to the mid 1960s)", 32, Memory)
	SteelFyA36   = grade("steel.fy_a36", "yield strength of A36 (from 1960)", 36, Memory)
	SteelFyA94   = grade("steel.fy_a94", "yield strength of A94 silicon steel (1925 to the 1960s)", 45, Memory)
	SteelFyA242  = grade("steel.fy_a242", "yield strength of A242, A440, A441, thin plate (50, 46 or 42 ksi by thickness)", 50, Memory)
	SteelFyA572  = grade("steel.fy_a572", "yield strength of A572 grade 50 and A588 (from the mid 1960s)", 50, Memory)
	SteelFyGr36  = grade("steel.fy_gr36", "yield strength of M270/A709 grade 36", 36, Read)
	SteelFyGr50  = grade("steel.fy_gr50", "yield strength of M270/A709 grades 50, 50W, 50S", 50, Read)
	SteelFyHPS70 = grade("steel.fy_hps70", "yield strength of M270/A709 HPS 70W", 70, Read)
)

func grade(k Key, name string, inKsi float64, tag Tag) Key {
	source := "ASTM standard of the grade, as remembered"
	if tag == Read {
		source = "Missouri DOT Engineering Policy Guide 751.3"
	}
	return Define(Definition{Key: k, Group: groupSteel, Name: name, Unit: Stress, Default: inKsi * ksi, Min: 100, Max: 1000, Source: source, Tag: tag})
}
