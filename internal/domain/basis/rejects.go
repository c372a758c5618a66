package basis

// RejectRisk is the chance at which a count of rejected studs is called a signal,
// both tails together: that of three standard deviations of a normal distribution.
var RejectRisk = Define(Definition{Key: "quality.reject_risk", Group: "Collars", Name: "Chance of a false signal of the reject chart", Unit: Number, Default: 0.0027, Min: 0.0001, Max: 0.2,
	Source: "control charts at three standard deviations", Tag: Common})
