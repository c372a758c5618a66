package basis

// What moves an approval, and by how much, is for each owner to say: no published
// rule tells when a design must be looked at again. The defaults are ours.
const (
	groupReview = "Review and approval"
	ownChoice   = "owner's choice"
)

var (
	ReviewNoise = Define(Definition{Key: "review.noise", Group: groupReview, Name: "steel thinner than approved that merely confirms, up to (what gauges repeat to)",
		Unit: Length, Default: 0.03 * inch, Min: 0, Max: 10, Source: ownChoice, Tag: Proposal})
	ReviewStopLoss = Define(Definition{Key: "review.stop_loss", Group: groupReview, Name: "steel thinner than approved that stops the work, more than",
		Unit: Length, Default: 0.125 * inch, Min: 0.1, Max: 50, Source: ownChoice, Tag: Proposal})
	ReviewHoleStops = Define(Definition{Key: "review.hole_stops", Group: groupReview, Name: "a hole that is new or grew stops the work (1), or asks for a second look (0)",
		Unit: Number, Default: 1, Min: 0, Max: 1, Source: ownChoice, Tag: Proposal})
	ReviewBowed = Define(Definition{Key: "review.bowed", Group: groupReview, Name: "web further out of plane, or further off its flange, than approved that stops the work, more than",
		Unit: Length, Default: 0.125 * inch, Min: 0, Max: 100, Source: ownChoice, Tag: Proposal})
	ReviewRatioRise = Define(Definition{Key: "review.ratio_rise", Group: groupReview, Name: "ratio of a check that rose since the approval and asks for a second look, by more than",
		Unit: Number, Default: 0.05, Min: 0, Max: 1, Source: ownChoice, Tag: Proposal})
	ReviewCapacityDrop = Define(Definition{Key: "review.capacity_drop", Group: groupReview, Name: "share of the repaired capacity lost since the approval that asks for a second look, more than",
		Unit: Number, Default: 0.05, Min: 0, Max: 1, Source: ownChoice, Tag: Proposal})
	ReviewDemandRise = Define(Definition{Key: "review.demand_rise", Group: groupReview, Name: "share by which the demand rose since the approval that asks for a second look, more than",
		Unit: Number, Default: 0.02, Min: 0, Max: 1, Source: ownChoice, Tag: Proposal})
	ReviewConfirmsWaits = Define(Definition{Key: "review.confirms_waits", Group: groupReview, Name: "work waits for the engineer's signature where what was found merely confirms (1), or goes on meanwhile (0)",
		Unit: Number, Default: 1, Min: 0, Max: 1, Source: ownChoice, Tag: Proposal})
	ReviewQuestionsHold = Define(Definition{Key: "review.questions_hold", Group: groupReview, Name: "open questions that hold an approval (0: none, 1: those asked so, 2: all)",
		Unit: Number, Default: 1, Min: 0, Max: 2, Source: ownChoice, Tag: Proposal})
	ReviewWindowNear = Define(Definition{Key: "review.window_near", Group: groupReview, Name: "reviews that would miss a window come first, window within",
		Unit: Days, Default: 14, Min: 0, Max: 365, Source: ownChoice, Tag: Proposal})
	ReviewWaitLong = Define(Definition{Key: "review.wait_long", Group: groupReview, Name: "reviews that wait long come next, longer than",
		Unit: Days, Default: 7, Min: 0, Max: 365, Source: ownChoice, Tag: Proposal})
)
