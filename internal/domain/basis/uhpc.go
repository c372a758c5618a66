package basis

// Settings of the UHPC rules: specimens, batches, curing and release. None is a
// requirement of an agency; the contract's own figures replace them. Units are
// coherent: MPa, mm, degrees Celsius, minutes.

// Groups of the settings that a casting is held to, with GroupMix and GroupCasting.
const (
	GroupSpecimens = "UHPC specimens"
	GroupBatches   = "UHPC batches"
	GroupRelease   = "UHPC release and acceptance"
	GroupCuring    = "UHPC curing"
	groupCleaning  = "cleaning"
	ksi            = 6.894757293168361
	inch           = 25.4
)

// Factors that turn a specimen's strength into that of a 3 x 6 in cylinder.
var (
	FactorCylinder4x8 = Define(Definition{Key: "uhpc.factor_cyl_4x8", Group: GroupSpecimens, Name: "4 x 8 in cylinder to 3 x 6 in cylinder",
		Unit: Number, Default: 1, Min: 0.5, Max: 1.5, Source: "about 1.00, exact figure unconfirmed; ACI Materials Journal 105-M68 (2008) takes it as the reference", Tag: Memory})
	FactorCube2in = Define(Definition{Key: "uhpc.factor_cube_2in", Group: GroupSpecimens, Name: "2 in (51 mm) cube to 3 x 6 in cylinder",
		Unit: Number, Default: 0.95, Min: 0.5, Max: 1.5, Source: "0.96 from memory, taken as 0.95 to lie on the safe side; only where the contract names this cube", Tag: Proposal})
	FactorCube50 = Define(Definition{Key: "uhpc.factor_cube_50", Group: GroupSpecimens, Name: "50 mm cube to 3 x 6 in cylinder",
		Unit: Number, Default: 0.95, Min: 0.5, Max: 1.5, Source: "as the 2 in cube; only where the contract names this cube", Tag: Proposal})
	FactorCube70 = Define(Definition{Key: "uhpc.factor_cube_70", Group: GroupSpecimens, Name: "70.7 mm cube to 3 x 6 in cylinder",
		Unit: Number, Default: 0.95, Min: 0.5, Max: 1.5, Source: "no published value found; the cube itself is recommended by ACI Materials Journal 105-M68 (2008)", Tag: Proposal})
	FactorCube100 = Define(Definition{Key: "uhpc.factor_cube_100", Group: GroupSpecimens, Name: "100 mm cube to 3 x 6 in cylinder",
		Unit: Number, Default: 0.95, Min: 0.5, Max: 1.5, Source: "no published value found; the cube itself is accepted by ACI Materials Journal 105-M68 (2008)", Tag: Proposal})
	DiameterSpread = Define(Definition{Key: "uhpc.diameter_spread", Group: GroupSpecimens, Name: "largest difference of two diameters, part of their mean",
		Unit: Number, Default: 0.02, Min: 0, Max: 0.2, Source: "ASTM C39", Tag: Memory})
	DimensionSpread = Define(Definition{Key: "uhpc.dimension_spread", Group: GroupSpecimens, Name: "largest difference of a measured side from the nominal one, part of it",
		Unit: Number, Default: 0.05, Min: 0, Max: 0.2, Source: "a guard against slips of typing, not a tolerance of a standard", Tag: Proposal})
	MachineReserve = Define(Definition{Key: "uhpc.machine_reserve", Group: GroupSpecimens, Name: "testing machine capacity over expected load, at least",
		Unit: Number, Default: 1.25, Min: 1, Max: 5, Source: "project setting", Tag: Proposal})
	StrengthPossible = Define(Definition{Key: "uhpc.strength_possible", Group: GroupSpecimens, Name: "strength beyond which an entry is taken for a slip",
		Unit: Stress, Default: 400, Min: 100, Max: 1000, Source: "a guard against slips of typing", Tag: Proposal})
	SlenderMin = Define(Definition{Key: "uhpc.slender_min", Group: GroupSpecimens, Name: "height over diameter of a cylinder, at least",
		Unit: Number, Default: 1.75, Min: 1, Max: 2, Source: "ASTM C39, below which a correction is due", Tag: Memory})
	AgeTolerance1d = Define(Definition{Key: "uhpc.age_tolerance_1d", Group: GroupSpecimens, Name: "age of a break at 1 day, plus or minus",
		Unit: Hours, Default: 0.5, Min: 0, Max: 24, Source: "ASTM C39", Tag: Memory})
	AgeTolerance3d = Define(Definition{Key: "uhpc.age_tolerance_3d", Group: GroupSpecimens, Name: "age of a break at 3 days, plus or minus",
		Unit: Hours, Default: 2, Min: 0, Max: 48, Source: "ASTM C39", Tag: Memory})
	AgeTolerance7d = Define(Definition{Key: "uhpc.age_tolerance_7d", Group: GroupSpecimens, Name: "age of a break at 7 days, plus or minus",
		Unit: Hours, Default: 6, Min: 0, Max: 72, Source: "ASTM C39", Tag: Memory})
	AgeTolerance28d = Define(Definition{Key: "uhpc.age_tolerance_28d", Group: GroupSpecimens, Name: "age of a break at 28 days, plus or minus",
		Unit: Hours, Default: 20, Min: 0, Max: 168, Source: "ASTM C39", Tag: Memory})
	AgeTolerance90d = Define(Definition{Key: "uhpc.age_tolerance_90d", Group: GroupSpecimens, Name: "age of a break at 90 days, plus or minus",
		Unit: Hours, Default: 48, Min: 0, Max: 336, Source: "ASTM C39", Tag: Memory})
	SetSize = Define(Definition{Key: "uhpc.set_size", Group: GroupSpecimens, Name: "specimens in a set, at least",
		Unit: Number, Default: 3, Min: 1, Max: 20, Source: "ACI 318-14 26.12.1.1 asks for three 4 x 8 in cylinders; carried over to 3 x 6 in", Tag: Proposal})
	RangeReview = Define(Definition{Key: "uhpc.range_review", Group: GroupSpecimens, Name: "range of a set over its mean that calls for review",
		Unit: Number, Default: 0.106, Min: 0.01, Max: 1, Source: "ASTM C39 acceptable range of three 4 x 8 in results", Tag: Memory})
	RangeInvalid = Define(Definition{Key: "uhpc.range_invalid", Group: GroupSpecimens, Name: "range of a set over its mean beyond which it does not count",
		Unit: Number, Default: 0.15, Min: 0.01, Max: 1, Source: "EN 206 for specimens of one sample", Tag: Memory})
)

// Limits of a batch and of the weather in which it is placed.
var (
	FlowMin = Define(Definition{Key: "uhpc.flow_min", Group: GroupBatches, Name: "flow, least",
		Unit: Length, Default: 7 * inch, Min: 0, Max: 20 * inch, Source: "highway special provisions", Tag: Memory})
	FlowMax = Define(Definition{Key: "uhpc.flow_max", Group: GroupBatches, Name: "flow, greatest",
		Unit: Length, Default: 10 * inch, Min: 0, Max: 20 * inch, Source: "highway special provisions", Tag: Memory})
	FlowScopeMin = Define(Definition{Key: "uhpc.flow_scope_min", Group: GroupBatches, Name: "flow below which ASTM C1856 does not speak",
		Unit: Length, Default: 200, Min: 0, Max: 20 * inch, Source: "ASTM C1856/C1856M-17, scope", Tag: Read})
	FlowScopeMax = Define(Definition{Key: "uhpc.flow_scope_max", Group: GroupBatches, Name: "flow above which ASTM C1856 does not speak",
		Unit: Length, Default: 10 * inch, Min: 0, Max: 20 * inch, Source: "ASTM C1856/C1856M-17, scope (10 in; 250 mm in the metric text)", Tag: Read})
	FlowPossible = Define(Definition{Key: "uhpc.flow_possible", Group: GroupBatches, Name: "flow beyond which an entry is taken for a slip",
		Unit: Length, Default: 16 * inch, Min: 5 * inch, Max: 40 * inch, Source: "no flow table is wider", Tag: Proposal})
	AmbientMin = Define(Definition{Key: "uhpc.ambient_min", Group: GroupBatches, Name: "air or steel temperature at placing, least",
		Unit: Temperature, Default: 40.0 / 9.0, Min: -30, Max: 60, Source: "40 degF, special provisions", Tag: Memory})
	AmbientMax = Define(Definition{Key: "uhpc.ambient_max", Group: GroupBatches, Name: "air or steel temperature at placing, greatest",
		Unit: Temperature, Default: 290.0 / 9.0, Min: -30, Max: 60, Source: "90 degF, special provisions", Tag: Memory})
	MixWarm = Define(Definition{Key: "uhpc.mix_warm", Group: GroupBatches, Name: "mix temperature that calls for care",
		Unit: Temperature, Default: 240.0 / 9.0, Min: 0, Max: 60, Source: "80 degF at the end of mixing, FHWA-HRT-12-038, in a trade reprint", Tag: SecondHand})
	MixHot = Define(Definition{Key: "uhpc.mix_hot", Group: GroupBatches, Name: "mix temperature that stops placing",
		Unit: Temperature, Default: 290.0 / 9.0, Min: 0, Max: 60, Source: "90 degF, special provisions", Tag: Memory})
	PlaceSlow = Define(Definition{Key: "uhpc.place_slow", Group: GroupBatches, Name: "end of mixing to placed that calls for care",
		Unit: Minutes, Default: 20, Min: 0, Max: 240, Source: "special provisions", Tag: Memory})
	PlaceStop = Define(Definition{Key: "uhpc.place_stop", Group: GroupBatches, Name: "end of mixing to placed that stops placing",
		Unit: Minutes, Default: 30, Min: 0, Max: 240, Source: "special provisions", Tag: Memory})
	BatchInterval = Define(Definition{Key: "uhpc.batch_interval", Group: GroupBatches, Name: "time between batches in one form, at most",
		Unit: Minutes, Default: 20, Min: 0, Max: 240, Source: "against a cold joint", Tag: Proposal})
	FiberOff = Define(Definition{Key: "uhpc.fiber_off", Group: GroupBatches, Name: "fiber mass off its target, part of it, at most",
		Unit: Number, Default: 0.02, Min: 0, Max: 1, Source: "project setting", Tag: Proposal})
	WaterOff = Define(Definition{Key: "uhpc.water_off", Group: GroupBatches, Name: "water mass off its target, part of it, at most",
		Unit: Number, Default: 0.01, Min: 0, Max: 1, Source: "project setting", Tag: Proposal})
	SpareVolume = Define(Definition{Key: "uhpc.spare_volume", Group: GroupBatches, Name: "volume mixed beyond the net volume, part of it",
		Unit: Number, Default: 0.10, Min: 0, Max: 1, Source: "project setting", Tag: Proposal})
	VolumeOff = Define(Definition{Key: "uhpc.volume_off", Group: GroupBatches, Name: "volume that went into a form off the design's, part of it, beyond which a void or a leak is looked for",
		Unit: Number, Default: 0.10, Min: 0.01, Max: 1, Source: "common practice, no source", Tag: Common})
)

// Strengths that release the work, and the shares that a set must reach.
var (
	StripStrength = Define(Definition{Key: "uhpc.strip_strength", Group: GroupRelease, Name: "strength at which forms may be stripped and load put on",
		Unit: Stress, Default: 14 * ksi, Min: 1, Max: 300, Source: "14 ksi, FHWA-HRT-14-084 and HRT-18-036", Tag: Memory})
	FinalStrength = Define(Definition{Key: "uhpc.final_strength", Group: GroupRelease, Name: "specified strength at 28 days",
		Unit: Stress, Default: 21.7 * ksi, Min: 1, Max: 300, Source: "21.7 ksi, usual for untreated cylinders", Tag: Memory})
	EachOfLimit = Define(Definition{Key: "uhpc.each_of_limit", Group: GroupRelease, Name: "each specimen over the limit, at least",
		Unit: Number, Default: 0.95, Min: 0, Max: 1, Source: "project setting for release breaks", Tag: Proposal})
	SingleOfSpecified = Define(Definition{Key: "uhpc.single_of_specified", Group: GroupRelease, Name: "a single test over the specified strength, at least",
		Unit: Number, Default: 0.90, Min: 0, Max: 1, Source: "ACI 318-14 26.12, above 5000 psi", Tag: SecondHand})
)

// Curing and maturity. No published activation energy or datum for UHPC was
// found: a supplier's or a fitted value replaces these.
var (
	MaturityDatum = Define(Definition{Key: "uhpc.maturity_datum", Group: GroupCuring, Name: "datum of the temperature-time factor",
		Unit: Temperature, Default: -10, Min: -30, Max: 30, Source: "Iowa DOT IM 383, for ordinary concrete", Tag: Read})
	MaturityQ = Define(Definition{Key: "uhpc.maturity_q", Group: GroupCuring, Name: "activation energy over the gas constant, in kelvin",
		Unit: Number, Default: 5000, Min: 1000, Max: 20000, Source: "ASTM C1074 default, for ordinary concrete", Tag: Memory})
	MaturityReference = Define(Definition{Key: "uhpc.maturity_reference", Group: GroupCuring, Name: "reference temperature of the equivalent age",
		Unit: Temperature, Default: 20, Min: 0, Max: 40, Source: "ASTM C1074", Tag: Memory})
	CuringGapLow = Define(Definition{Key: "uhpc.curing_gap_low", Group: GroupCuring, Name: "gap in the log beyond which its lower end counts",
		Unit: Hours, Default: 2, Min: 0, Max: 240, Source: "project setting", Tag: Proposal})
	CuringGapVoid = Define(Definition{Key: "uhpc.curing_gap_void", Group: GroupCuring, Name: "gap in the log that voids the maturity",
		Unit: Hours, Default: 6, Min: 0, Max: 240, Source: "project setting", Tag: Proposal})
	CuringHot = Define(Definition{Key: "uhpc.curing_hot", Group: GroupCuring, Name: "temperature under field heat, at most",
		Unit: Temperature, Default: 60, Min: 20, Max: 120, Source: "140 degF, field heat", Tag: Memory})
	CuringStop = Define(Definition{Key: "uhpc.curing_stop", Group: GroupCuring, Name: "temperature that is never passed",
		Unit: Temperature, Default: 70, Min: 20, Max: 120, Source: "158 degF, against delayed ettringite in ordinary concrete", Tag: Memory})
	CuringRise = Define(Definition{Key: "uhpc.curing_rise", Group: GroupCuring, Name: "rise of temperature in an hour, at most, in Celsius degrees",
		Unit: Number, Default: 200.0 / 9.0, Min: 1, Max: 100, Source: "40 degF an hour, highway steam curing", Tag: Memory})
	GainStart = Define(Definition{Key: "uhpc.gain_start", Group: GroupCuring, Name: "age at which strength begins",
		Unit: Days, Default: 0.9, Min: 0, Max: 28, Source: "FHWA-HRT-06-103, untreated", Tag: Memory})
	GainScale = Define(Definition{Key: "uhpc.gain_scale", Group: GroupCuring, Name: "scale of the strength curve",
		Unit: Days, Default: 3, Min: 0.01, Max: 365, Source: "FHWA-HRT-06-103, untreated", Tag: Memory})
	GainShape = Define(Definition{Key: "uhpc.gain_shape", Group: GroupCuring, Name: "shape of the strength curve",
		Unit: Number, Default: 0.6, Min: 0.05, Max: 10, Source: "FHWA-HRT-06-103, untreated", Tag: Memory})
	UnitWeightUHPC = Define(Definition{Key: "uhpc.unit_weight", Group: GroupCuring, Name: "unit weight for form pressure, in kN per cubic metre",
		Unit: Number, Default: 155 * 4448.2216152605e-6 / (0.3048 * 0.3048 * 0.3048), Min: 10, Max: 50, Source: "155 lb/ft3, usual for this material", Tag: Memory})
)

// Cleaning of the steel under the panel. Levels rank the grades by what may
// remain: 0 solvent only, 1 SP 2, 2 SP 3 or SP 7, 3 SP 6 or SP 15, 4 SP 10 or
// SP 11, 5 SP 5.
var (
	CleanStuds = Define(Definition{Key: "cleaning.level_studs", Group: groupCleaning, Name: "level asked at the stud positions (4: SP 10 or SP 11)",
		Unit: Number, Default: 4, Min: 0, Max: 5, Source: "bright metal where studs are welded", Tag: Proposal})
	CleanEncased = Define(Definition{Key: "cleaning.level_encased", Group: groupCleaning, Name: "level asked on the rest of the encased area (2: SP 3 or SP 7)",
		Unit: Number, Default: 2, Min: 0, Max: 5, Source: "project setting", Tag: Proposal})
	CleanOutside = Define(Definition{Key: "cleaning.level_outside", Group: groupCleaning, Name: "level asked outside the panel, where recorded",
		Unit: Number, Default: 0, Min: 0, Max: 5, Source: "the paint's own data sheet governs", Tag: Proposal})
	CleanProfile = Define(Definition{Key: "cleaning.profile", Group: groupCleaning, Name: "profile of power tool grades, at least",
		Unit: Length, Default: 0.0254, Min: 0, Max: 1, Source: "0.001 in, SP 11 and SP 15 in published tables of surface cleanliness", Tag: SecondHand})
	CleanDewMargin = Define(Definition{Key: "cleaning.dew_margin", Group: groupCleaning, Name: "steel above the dew point, in Celsius degrees",
		Unit: Number, Default: 3, Min: 0, Max: 20, Source: "coating practice, 5 degF", Tag: Memory})
	CleanHours = Define(Definition{Key: "cleaning.hours_to_weld", Group: groupCleaning, Name: "from the end of cleaning to welding, at most",
		Unit: Hours, Default: 24, Min: 0, Max: 8760, Source: "against flash rust", Tag: Proposal})
)
