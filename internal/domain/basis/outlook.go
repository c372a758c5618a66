package basis

const (
	groupChance  = "Uncertainty of capacity"
	groupDecline = "Loss in time"
)

func outlookSetting(key Key, group, name string, unit Unit, def, low, high float64, tag Tag, source string) Key {
	return Define(Definition{Key: key, Group: group, Name: name, Unit: unit, Default: def, Min: low, Max: high, Source: source, Tag: tag})
}

// Scatter of what the capacity of a corroded end is computed from. Standard
// deviations, unless the name says otherwise.
var (
	ChanceCaliper = outlookSetting("chance.caliper", groupChance, "error of one reading with a caliper, standard deviation", Length,
		0.15, 0, 3, Proposal, "no published value found for rough steel")
	ChanceUltrasonic = outlookSetting("chance.ultrasonic", groupChance, "error of one ultrasonic reading, standard deviation", Length,
		0.30, 0, 3, Proposal, "no published value found for rough steel; about 0.1 mm is remembered for clean parallel plate")
	ChancePitGauge = outlookSetting("chance.pit_gauge", groupChance, "error of one reading with a pit gauge, standard deviation", Length,
		0.50, 0, 3, Proposal, "no published value found; the depth of a pit is read, not what is left")
	ChanceCalibration = outlookSetting("chance.calibration", groupChance, "error that all readings of one survey share, standard deviation", Length,
		0.05, 0, 1, Memory, "instrument accuracy of about 0.1 mm, taken as two standard deviations")
	// The bias is off by default: a survey that prepared the surface does not have it.
	ChanceBiasLow = outlookSetting("chance.bias_low", groupChance, "least that ultrasonic readings are too thick, all of a survey alike", Length,
		0, 0, 5, Read, "off; unprepared corroded steel read 0.6 to 2.2 mm too thick on average, J. Japanese Society for Non-Destructive Inspection 53(5) p. 294, abstract")
	ChanceBiasHigh = outlookSetting("chance.bias_high", groupChance, "most that ultrasonic readings are too thick, all of a survey alike", Length,
		0, 0, 5, Read, "off; unprepared corroded steel read 0.6 to 2.2 mm too thick on average, J. Japanese Society for Non-Destructive Inspection 53(5) p. 294, abstract")
	ChanceMapEstimate = outlookSetting("chance.map_estimate", groupChance, "1: scatter of the web between readings from the readings themselves; 0: as set", Number,
		1, 0, 1, Proposal, "how far readings lie off the line through their neighbors")
	ChanceMapScatter = outlookSetting("chance.map_scatter", groupChance, "scatter of the web between readings where the readings cannot tell, standard deviation", Length,
		0.5, 0, 5, Proposal, "no published value found")
	ChanceMapFewest = outlookSetting("chance.map_fewest", groupChance, "fewest readings with a neighbor on each side to tell the scatter of the web", Number,
		6, 1, 400, Proposal, "no published value found")
	ChanceYieldMean = outlookSetting("chance.yield_mean", groupChance, "mean yield strength over the one on record", Number,
		1, 0.5, 1.5, Proposal, "1: no credit for strength above the one on record; mill tests usually give more")
	ChanceYieldScatter = outlookSetting("chance.yield_scatter", groupChance, "scatter of yield strength, standard deviation over mean", Number,
		0.10, 0, 0.3, Memory, "Ravindra and Galambos, Load and resistance factor design for steel, 1978: 0.10 to 0.11")
	ChanceModelMean = outlookSetting("chance.model_mean", groupChance, "mean strength in tests over the one of the rules", Number,
		1, 0.2, 3, Proposal, "1: none; no test of a corroded end with complete data was found to compare with")
	ChanceModelScatter = outlookSetting("chance.model_scatter", groupChance, "scatter of strength in tests over the one of the rules, standard deviation over mean", Number,
		0, 0, 0.5, Proposal, "0: none; no test of a corroded end with complete data was found to compare with")
)

// Loss in time.
var (
	DeclineHorizon = outlookSetting("decline.horizon", groupDecline, "years ahead that are looked at", Number,
		100, 1, 200, Proposal, "beyond it a straight line says nothing")
	DeclineApart = outlookSetting("decline.years_apart", groupDecline, "least years between two surveys that can tell a rate", Number,
		1, 0.25, 20, Proposal, "in a shorter time the loss is less than the error of a reading; no published value found")
	DeclineMatched = outlookSetting("decline.matched", groupDecline, "fewest places read in both surveys", Number,
		5, 2, 400, Proposal, "no published value found")
	DeclineCoating = outlookSetting("decline.coating_life", groupDecline, "years that the coating protected the steel, from new", Number,
		20, 0, 80, Common, "coating systems of old bridges lasted 15 to 25 years")
	DeclineFaces = outlookSetting("decline.faces", groupDecline, "faces of a plate that corrode", Number,
		2, 1, 2, Proposal, "2: both faces wet")
	DeclineLow = outlookSetting("decline.iso_low", groupDecline, "first year loss of a face, lower end of the band", Length,
		0.050, 0, 2, SecondHand, "ISO 9223, carbon steel, lower limit of class C4")
	DeclineHigh = outlookSetting("decline.iso_high", groupDecline, "first year loss of a face, upper end of the band", Length,
		0.700, 0, 2, Memory, "ISO 9223, carbon steel, upper limit of class CX")
	DeclineExponent = outlookSetting("decline.iso_exponent", groupDecline, "exponent of loss over years", Number,
		0.523, 0.3, 1, SecondHand, "ISO 9224, carbon steel")
	DeclineSpan = outlookSetting("decline.iso_years", groupDecline, "years over which first year loss is spread to a yearly one", Number,
		20, 1, 20, SecondHand, "ISO 9224: the power law is meant for up to about 20 years")
)
