package basis

// Maturity and the forecast of strength: what the settings beside the curing
// limits need. None is a requirement of anybody until an owner enters it as such.
var (
	MaturityDatumWarm = Define(Definition{Key: "uhpc.maturity_datum_warm", Group: GroupCuring, Name: "second datum of the temperature-time factor, the cautious one in the cold",
		Unit: Temperature, Default: 0, Min: -30, Max: 30, Source: "ASTM C1074, Type I cement without admixture", Tag: Memory})
	CuringCold = Define(Definition{Key: "uhpc.curing_cold", Group: GroupCuring, Name: "temperature of the concrete while it cures, at least",
		Unit: Temperature, Default: 23.0 / 1.8, Min: -20, Max: 40, Source: "55 degF, ACI 306, sections thinner than 12 in", Tag: Memory})
	CuringEveryEarly = Define(Definition{Key: "uhpc.curing_every_early", Group: GroupCuring, Name: "time between readings in the first days, at most",
		Unit: Minutes, Default: 30, Min: 1, Max: 1440, Source: "project setting", Tag: Proposal})
	CuringEveryLate = Define(Definition{Key: "uhpc.curing_every_late", Group: GroupCuring, Name: "time between readings after the first days, at most",
		Unit: Minutes, Default: 60, Min: 1, Max: 1440, Source: "project setting", Tag: Proposal})
	CuringEarlyHours = Define(Definition{Key: "uhpc.curing_early_hours", Group: GroupCuring, Name: "how long the first days of a curing log are",
		Unit: Hours, Default: 48, Min: 0, Max: 672, Source: "project setting", Tag: Proposal})
	CuringSensors = Define(Definition{Key: "uhpc.curing_sensors", Group: GroupCuring, Name: "sensors in the concrete of one placement, at least",
		Unit: Number, Default: 2, Min: 1, Max: 20, Source: "project setting, one at the coldest point", Tag: Proposal})
	GainTemperature = Define(Definition{Key: "uhpc.gain_temperature", Group: GroupCuring, Name: "curing temperature that the ages of the strength curve belong to",
		Unit: Temperature, Default: 23, Min: 0, Max: 95, Source: "73 degF, standard curing of ASTM C31", Tag: Memory})
	CurveDoubt = Define(Definition{Key: "uhpc.curve_doubt", Group: GroupCuring, Name: "doubt of a curve that is not fitted to the program's own breaks, part of its value",
		Unit: Number, Default: 0.20, Min: 0, Max: 0.9, Source: "spread of published mixes at 1 to 3 days about their middle", Tag: Proposal})
	CurveDoubtOwn = Define(Definition{Key: "uhpc.curve_doubt_own", Group: GroupCuring, Name: "doubt of the program's own curve beyond its error, part of its value",
		Unit: Number, Default: 0.05, Min: 0, Max: 0.9, Source: "another casting than those tested", Tag: Proposal})
	FitAges = Define(Definition{Key: "uhpc.fit_ages", Group: GroupCuring, Name: "ages tested before a strength curve is fitted, at least",
		Unit: Number, Default: 4, Min: 3, Max: 20, Source: "project setting", Tag: Proposal})
	FitError = Define(Definition{Key: "uhpc.fit_error", Group: GroupCuring, Name: "standard error of a fitted curve over its strength at 28 days, at most",
		Unit: Number, Default: 0.05, Min: 0, Max: 1, Source: "project setting", Tag: Proposal})
	FitReach = Define(Definition{Key: "uhpc.fit_reach", Group: GroupCuring, Name: "a fitted curve is used up to this many times its last tested age",
		Unit: Number, Default: 2, Min: 1, Max: 10, Source: "project setting", Tag: Proposal})
	ForecastAhead = Define(Definition{Key: "uhpc.forecast_ahead", Group: GroupCuring, Name: "temperature of the concrete expected after its last reading, where that is not lower",
		Unit: Temperature, Default: 20, Min: -20, Max: 60, Source: "project setting", Tag: Proposal})
	ForecastChance = Define(Definition{Key: "uhpc.forecast_chance", Group: GroupCuring, Name: "chance that the strength is not below the band of a fitted curve",
		Unit: Number, Default: 0.95, Min: 0.5, Max: 0.999, Source: "project setting", Tag: Proposal})
	SensorApart = Define(Definition{Key: "uhpc.sensor_apart", Group: GroupCuring, Name: "a strength sensor in the concrete and what it stands beside, the forecast or broken specimens, are apart above this part of the latter",
		Unit: Number, Default: 0.10, Min: 0.02, Max: 0.5, Source: "a maturity curve is usually made anew when breaks lie off it by more than a tenth again and again", Tag: Common})
)
