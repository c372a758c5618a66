package basis

// The two gates, the acceptance rule and the laboratory's hours.
var (
	TrafficStrength = Define(Definition{Key: "uhpc.traffic_strength", Group: GroupRelease, Name: "strength at which traffic may return",
		Unit: Stress, Default: 14 * ksi, Min: 1, Max: 300, Source: "as the strength to strip until the contract states its own", Tag: Proposal})
	Governing = Define(Definition{Key: "uhpc.governing", Group: GroupRelease, Name: "batch whose breaks decide a gate (0: last placed and coldest each, 1: last placed, 2: coldest)",
		Unit: Number, Default: 0, Min: 0, Max: 2, Source: "project setting for release breaks", Tag: Proposal})
	AcceptanceRule = Define(Definition{Key: "uhpc.acceptance_rule", Group: GroupRelease, Name: "rule of acceptance (1: running mean of three, 2: identity of a few results, 3: continuous production)",
		Unit: Number, Default: 1, Min: 1, Max: 3, Source: "1: ACI 318-14 26.12; 2 and 3: EN 206:2013, only where the contract calls it up", Tag: SecondHand})
	IdentitySingle = Define(Definition{Key: "uhpc.identity_single", Group: GroupRelease, Name: "EN 206: a single result below the specified strength, at most by",
		Unit: Stress, Default: 4, Min: 0, Max: 50, Source: "EN 206:2013, annex B and 8.2, in guidance on it", Tag: SecondHand})
	IdentityFew = Define(Definition{Key: "uhpc.identity_few", Group: GroupRelease, Name: "EN 206: mean of two to four results above the specified strength, at least by",
		Unit: Stress, Default: 1, Min: 0, Max: 50, Source: "EN 206:2013, annex B, in guidance on it", Tag: SecondHand})
	IdentityMore = Define(Definition{Key: "uhpc.identity_more", Group: GroupRelease, Name: "EN 206: mean of five or six results above the specified strength, at least by",
		Unit: Stress, Default: 2, Min: 0, Max: 50, Source: "EN 206:2013, annex B", Tag: Memory})
	IdentityDays = Define(Definition{Key: "uhpc.identity_days", Group: GroupRelease, Name: "EN 206: castings taken as one defined volume, from the first on",
		Unit: Days, Default: 7, Min: 0.5, Max: 366, Source: "EN 206:2013, annex B, what comes to a site within a week", Tag: Memory})
	ProductionInitial = Define(Definition{Key: "uhpc.production_initial", Group: GroupRelease, Name: "EN 206: initial production, mean of three above the specified strength, at least by",
		Unit: Stress, Default: 4, Min: 0, Max: 50, Source: "EN 206:2013, 8.2.1.3, in guidance on it", Tag: SecondHand})
	ProductionFactor = Define(Definition{Key: "uhpc.production_factor", Group: GroupRelease, Name: "EN 206: continuous production, standard deviations between the mean and the specified strength, at least",
		Unit: Number, Default: 1.48, Min: 0, Max: 5, Source: "EN 206:2013, 8.2.1.3, in guidance on it", Tag: SecondHand})
	ProductionResults = Define(Definition{Key: "uhpc.production_results", Group: GroupRelease, Name: "EN 206: results in the mean of continuous production, at least",
		Unit: Number, Default: 15, Min: 3, Max: 100, Source: "EN 206:2013, 8.2.1.3, in guidance on it", Tag: SecondHand})
	ProductionDeviationResults = Define(Definition{Key: "uhpc.production_deviation_results", Group: GroupRelease, Name: "EN 206: results from which the standard deviation of production is first taken, at least",
		Unit: Number, Default: 35, Min: 3, Max: 200, Source: "EN 206:2013, 8.2.1.3, in guidance on it", Tag: SecondHand})
	RequiredMeanFactor = Define(Definition{Key: "uhpc.required_mean_factor", Group: GroupRelease, Name: "required average: standard deviations above the specified strength",
		Unit: Number, Default: 1.34, Min: 0, Max: 5, Source: "ACI 214R", Tag: Memory})
	RequiredSingleFactor = Define(Definition{Key: "uhpc.required_single_factor", Group: GroupRelease, Name: "required average: standard deviations above the least single test",
		Unit: Number, Default: 2.33, Min: 0, Max: 5, Source: "ACI 214R", Tag: Memory})
	DeviationTests = Define(Definition{Key: "uhpc.deviation_tests", Group: GroupRelease, Name: "tests from which a standard deviation is taken as known, at least",
		Unit: Number, Default: 30, Min: 2, Max: 200, Source: "ACI 318, 30 consecutive tests", Tag: Memory})
	ChartSigmas = Define(Definition{Key: "uhpc.chart_sigmas", Group: GroupRelease, Name: "limits of the control charts, standard deviations from the center line",
		Unit: Number, Default: 3, Min: 1, Max: 6, Source: "usual for control charts", Tag: Common})
	OutlierLevel = Define(Definition{Key: "uhpc.outlier_level", Group: GroupSpecimens, Name: "chance of calling a sound specimen an outlier",
		Unit: Number, Default: 0.05, Min: 0.001, Max: 0.2, Source: "usual for ASTM E178", Tag: Common})

	AgeTolerance4d = Define(Definition{Key: "uhpc.age_tolerance_4d", Group: GroupSpecimens, Name: "age of a break at 4 days, plus or minus",
		Unit: Hours, Default: 3, Min: 0, Max: 48, Source: "between the ages that ASTM C39 lists", Tag: Proposal})
	AgeTolerance14d = Define(Definition{Key: "uhpc.age_tolerance_14d", Group: GroupSpecimens, Name: "age of a break at 14 days, plus or minus",
		Unit: Hours, Default: 32.0 / 3, Min: 0, Max: 168, Source: "between the ages that ASTM C39 lists", Tag: Proposal})
	LabOpens = Define(Definition{Key: "uhpc.lab_opens", Group: GroupSpecimens, Name: "hour of the day at which the laboratory opens",
		Unit: Hours, Default: 7, Min: 0, Max: 24, Source: "project setting", Tag: Proposal})
	LabCloses = Define(Definition{Key: "uhpc.lab_closes", Group: GroupSpecimens, Name: "hour of the day at which the laboratory closes",
		Unit: Hours, Default: 17, Min: 0, Max: 24, Source: "project setting", Tag: Proposal})
	LabDays = Define(Definition{Key: "uhpc.lab_days", Group: GroupSpecimens, Name: "days of the week from Monday on which the laboratory works",
		Unit: Number, Default: 5, Min: 0, Max: 7, Source: "project setting", Tag: Proposal})
)
