package basis

// Groups of the mix and of its placing.
const (
	GroupMix     = "UHPC mix of record"
	GroupCasting = "UHPC casting"

	cubicFoot     = 304.8 * 304.8 * 304.8
	perCubicYard  = 0.45359237 / (27 * cubicFoot) // lb/yd3 in kg/mm3
	mixOfRecord   = "FHWA-HRT-13-060, chapter 2, Table 1"
	mostOfDensity = 5e-6 // kg/mm3, 5000 kg/m3: nothing in the mix but steel is denser
)

// The mix of record, mass of each part in a volume of placed material. A contract
// enters the proportions that its supplier prints; these are one published mix.
var (
	MixCement = Define(Definition{Key: "uhpc.mix_cement", Group: GroupMix, Name: "cement in the mix",
		Unit: Density, Default: 1200 * perCubicYard, Min: 0, Max: mostOfDensity, Source: mixOfRecord, Tag: Read})
	MixSand = Define(Definition{Key: "uhpc.mix_sand", Group: GroupMix, Name: "fine sand in the mix",
		Unit: Density, Default: 1720 * perCubicYard, Min: 0, Max: mostOfDensity, Source: mixOfRecord, Tag: Read})
	MixSilicaFume = Define(Definition{Key: "uhpc.mix_silica_fume", Group: GroupMix, Name: "silica fume in the mix",
		Unit: Density, Default: 390 * perCubicYard, Min: 0, Max: mostOfDensity, Source: mixOfRecord, Tag: Read})
	MixQuartz = Define(Definition{Key: "uhpc.mix_quartz", Group: GroupMix, Name: "ground quartz in the mix",
		Unit: Density, Default: 355 * perCubicYard, Min: 0, Max: mostOfDensity, Source: mixOfRecord, Tag: Read})
	MixReducer = Define(Definition{Key: "uhpc.mix_reducer", Group: GroupMix, Name: "water reducer in the mix",
		Unit: Density, Default: 51.8 * perCubicYard, Min: 0, Max: mostOfDensity, Source: mixOfRecord, Tag: Read})
	MixAccelerator = Define(Definition{Key: "uhpc.mix_accelerator", Group: GroupMix, Name: "accelerator in the mix",
		Unit: Density, Default: 50.5 * perCubicYard, Min: 0, Max: mostOfDensity, Source: mixOfRecord, Tag: Read})
	MixFiber = Define(Definition{Key: "uhpc.mix_fiber", Group: GroupMix, Name: "steel fiber in the mix",
		Unit: Density, Default: 263 * perCubicYard, Min: 0, Max: mostOfDensity, Source: mixOfRecord, Tag: Read})
	MixWater = Define(Definition{Key: "uhpc.mix_water", Group: GroupMix, Name: "water in the mix",
		Unit: Density, Default: 184 * perCubicYard, Min: 0, Max: mostOfDensity, Source: mixOfRecord, Tag: Read})
	FiberDensity = Define(Definition{Key: "uhpc.fiber_density", Group: GroupMix, Name: "density of the fiber's steel",
		Unit: Density, Default: 7850e-9, Min: 1e-6, Max: 2e-5, Source: "7850 kg/m3, usual for steel", Tag: Common})
	BagMass = Define(Definition{Key: "uhpc.bag_mass", Group: GroupMix, Name: "dry premix in a bag",
		Unit: Mass, Default: 50 * 0.45359237, Min: 1, Max: 2000, Source: "50 lb; the supplier's data sheet replaces it", Tag: Memory})
	BagYield = Define(Definition{Key: "uhpc.bag_yield", Group: GroupMix, Name: "volume that a bag makes (0: from its mass and the dry parts of the mix)",
		Unit: Volume, Default: 0, Min: 0, Max: 100 * cubicFoot, Source: "the supplier's data sheet", Tag: Memory})
	SpareBags = Define(Definition{Key: "uhpc.spare_bags", Group: GroupMix, Name: "bags on site beyond those to be mixed, part of them (never less than a batch)",
		Unit: Number, Default: 0.10, Min: 0, Max: 2, Source: "project setting", Tag: Proposal})
)

// The casting: the mixer, the times of a batch, the form.
var (
	MixerVolume = Define(Definition{Key: "uhpc.mixer_volume", Group: GroupCasting, Name: "volume that the mixer takes in one batch",
		Unit: Volume, Default: 4 * cubicFoot, Min: 0.1 * cubicFoot, Max: 300 * cubicFoot, Source: "project setting: the mixer's plate", Tag: Proposal})
	Mixers = Define(Definition{Key: "uhpc.mixers", Group: GroupCasting, Name: "mixers at work at once, the spare one not counted",
		Unit: Number, Default: 1, Min: 1, Max: 20, Source: "project setting", Tag: Proposal})
	MixTime = Define(Definition{Key: "uhpc.mix_time", Group: GroupCasting, Name: "loading and mixing a batch",
		Unit: Minutes, Default: 20, Min: 1, Max: 240, Source: "10 to 20 min in a pan mixer", Tag: Memory})
	PlaceTime = Define(Definition{Key: "uhpc.place_time", Group: GroupCasting, Name: "placing a batch",
		Unit: Minutes, Default: 10, Min: 1, Max: 240, Source: "project setting", Tag: Proposal})
	FinishTime = Define(Definition{Key: "uhpc.finish_time", Group: GroupCasting, Name: "topping up, closing and covering after the last batch",
		Unit: Minutes, Default: 20, Min: 0, Max: 240, Source: "project setting", Tag: Proposal})
	HandBack = Define(Definition{Key: "uhpc.hand_back", Group: GroupCasting, Name: "clearing the work before the window ends",
		Unit: Minutes, Default: 30, Min: 0, Max: 480, Source: "project setting", Tag: Proposal})
	Standpipe = Define(Definition{Key: "uhpc.standpipe", Group: GroupCasting, Name: "head of the hopper or standpipe above the top of the panel",
		Unit: Length, Default: 12 * inch, Min: 0, Max: 240 * inch, Source: "project setting", Tag: Proposal})
	FlowTestsABatch = Define(Definition{Key: "uhpc.flow_tests", Group: GroupCasting, Name: "flow tests of a batch",
		Unit: Number, Default: 1, Min: 0, Max: 10, Source: "flow on every batch, highway special provisions", Tag: Memory})
)
