package basis

// Planning of windows and the forecast of the finish.
const groupPlanning = "planning"

// Figures of the forecast and of a window's plan. They decide nothing about steel or concrete.
var (
	ForecastRuns = Define(Definition{Key: "forecast.runs", Group: groupPlanning, Name: "runs of the forecast",
		Unit: Number, Default: 4000, Min: 200, Max: 100000, Source: "common practice, no source", Tag: Common})
	ForecastSample = Define(Definition{Key: "forecast.sample", Group: groupPlanning, Name: "past windows below which a forecast is called thin",
		Unit: Number, Default: 10, Min: 2, Max: 100, Source: "common practice, no source", Tag: Common})
	ForecastClosing = Define(Definition{Key: "forecast.closing", Group: groupPlanning, Name: "from the last test to a closed end",
		Unit: Hours, Default: 14 * 24, Min: 0, Max: 365 * 24, Source: "project setting", Tag: Proposal})
	ShiftMinutes = Define(Definition{Key: "shift.step_hours", Group: groupPlanning, Name: "time a step takes a crew where nothing else is said",
		Unit: Hours, Default: 2, Min: 0.1, Max: 100, Source: "project setting", Tag: Proposal})
	ShiftShortfall = Define(Definition{Key: "shift.shortfall", Group: groupPlanning, Name: "weight of an end's shortfall of capacity beside one step finished",
		Unit: Number, Default: 10, Min: 0, Max: 1000, Source: "common practice, no source", Tag: Common})
)
