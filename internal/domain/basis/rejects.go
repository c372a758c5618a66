package basis

// RejectRisk is the chance at which a count of rejected studs is called a signal,
// both tails together: that of three standard deviations of a normal distribution.
var RejectRisk = Define(Definition{Key: "quality.reject_risk", Group: "Collars", Name: "Chance of a false signal of the reject chart", Unit: Number, Default: 0.0027, Min: 0.0001, Max: 0.2,
	Source: "control charts at three standard deviations", Tag: Common})

// NearFlange is how near to a flange a stud is grouped as welded beside it, where the
// gun finds little room and the arc is blown aside.
var NearFlange = Define(Definition{Key: "quality.near_flange", Group: "Collars", Name: "Stud counted as beside a flange, up to", Unit: Length, Default: 4 * inch, Min: 25, Max: 300,
	Source: "room for a stud gun beside a flange", Tag: Proposal})
