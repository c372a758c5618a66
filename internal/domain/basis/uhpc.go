package basis

// Settings of the UHPC rules: specimens, batches, curing and release. None is a
// requirement of an agency; the contract's own figures replace them. Units are
// coherent: MPa, mm, degrees Celsius, minutes.

const (
	groupSpecimens = "UHPC specimens"
	groupBatches   = "UHPC batches"
	groupRelease   = "UHPC release and acceptance"
	ksi            = 6.894757293168361
	inch           = 25.4
)

// Factors that turn a specimen's strength into that of a 3 x 6 in cylinder.
var (
	FactorCylinder4x8 = Define(Definition{Key: "uhpc.factor_cyl_4x8", Group: groupSpecimens, Name: "4 x 8 in cylinder to 3 x 6 in cylinder",
		Unit: Number, Default: 1, Min: 0.5, Max: 1.5, Source: "about 1.00, exact figure unconfirmed; ACI Materials Journal 105-M68 (2008) takes it as the reference", Tag: Memory})
	FactorCube2in = Define(Definition{Key: "uhpc.factor_cube_2in", Group: groupSpecimens, Name: "2 in (51 mm) cube to 3 x 6 in cylinder",
		Unit: Number, Default: 0.95, Min: 0.5, Max: 1.5, Source: "0.96 from memory, taken as 0.95 to lie on the safe side; only where the contract names this cube", Tag: Proposal})
	FactorCube50 = Define(Definition{Key: "uhpc.factor_cube_50", Group: groupSpecimens, Name: "50 mm cube to 3 x 6 in cylinder",
		Unit: Number, Default: 0.95, Min: 0.5, Max: 1.5, Source: "as the 2 in cube; only where the contract names this cube", Tag: Proposal})
	FactorCube70 = Define(Definition{Key: "uhpc.factor_cube_70", Group: groupSpecimens, Name: "70.7 mm cube to 3 x 6 in cylinder",
		Unit: Number, Default: 0.95, Min: 0.5, Max: 1.5, Source: "no published value found; the cube itself is recommended by ACI Materials Journal 105-M68 (2008)", Tag: Proposal})
	FactorCube100 = Define(Definition{Key: "uhpc.factor_cube_100", Group: groupSpecimens, Name: "100 mm cube to 3 x 6 in cylinder",
		Unit: Number, Default: 0.95, Min: 0.5, Max: 1.5, Source: "no published value found; the cube itself is accepted by ACI Materials Journal 105-M68 (2008)", Tag: Proposal})
	DiameterSpread = Define(Definition{Key: "uhpc.diameter_spread", Group: groupSpecimens, Name: "largest difference of two diameters, part of their mean",
		Unit: Number, Default: 0.02, Min: 0, Max: 0.2, Source: "ASTM C39", Tag: Memory})
	DimensionSpread = Define(Definition{Key: "uhpc.dimension_spread", Group: groupSpecimens, Name: "largest difference of a measured side from the nominal one, part of it",
		Unit: Number, Default: 0.05, Min: 0, Max: 0.2, Source: "a guard against slips of typing, not a tolerance of a standard", Tag: Proposal})
	MachineReserve = Define(Definition{Key: "uhpc.machine_reserve", Group: groupSpecimens, Name: "testing machine capacity over expected load, at least",
		Unit: Number, Default: 1.25, Min: 1, Max: 5, Source: "project setting", Tag: Proposal})
	SetSize = Define(Definition{Key: "uhpc.set_size", Group: groupSpecimens, Name: "specimens in a set, at least",
		Unit: Number, Default: 3, Min: 1, Max: 20, Source: "ACI 318-14 26.12.1.1 asks for three 4 x 8 in cylinders; carried over to 3 x 6 in", Tag: Proposal})
	RangeReview = Define(Definition{Key: "uhpc.range_review", Group: groupSpecimens, Name: "range of a set over its mean that calls for review",
		Unit: Number, Default: 0.106, Min: 0.01, Max: 1, Source: "ASTM C39 acceptable range of three 4 x 8 in results", Tag: Memory})
	RangeInvalid = Define(Definition{Key: "uhpc.range_invalid", Group: groupSpecimens, Name: "range of a set over its mean beyond which it does not count",
		Unit: Number, Default: 0.15, Min: 0.01, Max: 1, Source: "EN 206 for specimens of one sample", Tag: Memory})
)

// Limits of a batch and of the weather in which it is placed.
var (
	FlowMin = Define(Definition{Key: "uhpc.flow_min", Group: groupBatches, Name: "flow, least",
		Unit: Length, Default: 7 * inch, Min: 0, Max: 20 * inch, Source: "highway special provisions", Tag: Memory})
	FlowMax = Define(Definition{Key: "uhpc.flow_max", Group: groupBatches, Name: "flow, greatest",
		Unit: Length, Default: 10 * inch, Min: 0, Max: 20 * inch, Source: "highway special provisions", Tag: Memory})
	FlowScopeMin = Define(Definition{Key: "uhpc.flow_scope_min", Group: groupBatches, Name: "flow below which ASTM C1856 does not speak",
		Unit: Length, Default: 200, Min: 0, Max: 20 * inch, Source: "ASTM C1856/C1856M-17, scope", Tag: Read})
	FlowScopeMax = Define(Definition{Key: "uhpc.flow_scope_max", Group: groupBatches, Name: "flow above which ASTM C1856 does not speak",
		Unit: Length, Default: 10 * inch, Min: 0, Max: 20 * inch, Source: "ASTM C1856/C1856M-17, scope (10 in; 250 mm in the metric text)", Tag: Read})
	FlowPossible = Define(Definition{Key: "uhpc.flow_possible", Group: groupBatches, Name: "flow beyond which an entry is taken for a slip",
		Unit: Length, Default: 16 * inch, Min: 5 * inch, Max: 40 * inch, Source: "no flow table is wider", Tag: Proposal})
	AmbientMin = Define(Definition{Key: "uhpc.ambient_min", Group: groupBatches, Name: "air or steel temperature at placing, least",
		Unit: Temperature, Default: 40.0 / 9.0, Min: -30, Max: 60, Source: "40 degF, special provisions", Tag: Memory})
	AmbientMax = Define(Definition{Key: "uhpc.ambient_max", Group: groupBatches, Name: "air or steel temperature at placing, greatest",
		Unit: Temperature, Default: 290.0 / 9.0, Min: -30, Max: 60, Source: "90 degF, special provisions", Tag: Memory})
	MixWarm = Define(Definition{Key: "uhpc.mix_warm", Group: groupBatches, Name: "mix temperature that calls for care",
		Unit: Temperature, Default: 240.0 / 9.0, Min: 0, Max: 60, Source: "80 degF at the end of mixing, FHWA-HRT-12-038, in a trade reprint", Tag: SecondHand})
	MixHot = Define(Definition{Key: "uhpc.mix_hot", Group: groupBatches, Name: "mix temperature that stops placing",
		Unit: Temperature, Default: 290.0 / 9.0, Min: 0, Max: 60, Source: "90 degF, special provisions", Tag: Memory})
	PlaceSlow = Define(Definition{Key: "uhpc.place_slow", Group: groupBatches, Name: "end of mixing to placed that calls for care",
		Unit: Minutes, Default: 20, Min: 0, Max: 240, Source: "special provisions", Tag: Memory})
	PlaceStop = Define(Definition{Key: "uhpc.place_stop", Group: groupBatches, Name: "end of mixing to placed that stops placing",
		Unit: Minutes, Default: 30, Min: 0, Max: 240, Source: "special provisions", Tag: Memory})
	BatchInterval = Define(Definition{Key: "uhpc.batch_interval", Group: groupBatches, Name: "time between batches in one form, at most",
		Unit: Minutes, Default: 20, Min: 0, Max: 240, Source: "against a cold joint", Tag: Proposal})
	FiberOff = Define(Definition{Key: "uhpc.fiber_off", Group: groupBatches, Name: "fiber mass off its target, part of it, at most",
		Unit: Number, Default: 0.02, Min: 0, Max: 1, Source: "project setting", Tag: Proposal})
	WaterOff = Define(Definition{Key: "uhpc.water_off", Group: groupBatches, Name: "water mass off its target, part of it, at most",
		Unit: Number, Default: 0.01, Min: 0, Max: 1, Source: "project setting", Tag: Proposal})
	SpareVolume = Define(Definition{Key: "uhpc.spare_volume", Group: groupBatches, Name: "volume mixed beyond the net volume, part of it",
		Unit: Number, Default: 0.10, Min: 0, Max: 1, Source: "project setting", Tag: Proposal})
)

// Strengths that release the work, and the shares that a set must reach.
var (
	StripStrength = Define(Definition{Key: "uhpc.strip_strength", Group: groupRelease, Name: "strength at which forms may be stripped and load put on",
		Unit: Stress, Default: 14 * ksi, Min: 1, Max: 300, Source: "14 ksi, FHWA-HRT-14-084 and HRT-18-036", Tag: Memory})
	FinalStrength = Define(Definition{Key: "uhpc.final_strength", Group: groupRelease, Name: "specified strength at 28 days",
		Unit: Stress, Default: 21.7 * ksi, Min: 1, Max: 300, Source: "21.7 ksi, usual for untreated cylinders", Tag: Memory})
	EachOfLimit = Define(Definition{Key: "uhpc.each_of_limit", Group: groupRelease, Name: "each specimen over the limit, at least",
		Unit: Number, Default: 0.95, Min: 0, Max: 1, Source: "project setting for release breaks", Tag: Proposal})
)
