package sequence

// DefaultSequence is the sequence that a new program starts from. It is common
// practice, no source: an owner edits it.
func DefaultSequence() []Step {
	cond := func(list ...Condition) []Requirement {
		out := make([]Requirement, len(list))
		for i, c := range list {
			out[i] = Requirement{Condition: c}
		}
		return out
	}
	ticks := func(text string) Requirement { return Requirement{Condition: TickList, Text: text} }
	photos := func(n float64) Requirement { return Requirement{Condition: Photo, Value: n} }
	site := []Role{Contractor}
	inspector := []Role{Inspector}
	engineer := []Role{Engineer}
	steps := []Step{
		{ID: "access", Code: "ACC", Name: "Access set", Performer: site, AppliesToAll: true, Window: OwnWindow,
			Requires: []Requirement{ticks("platform and containment inspected\nworker exposure and waste plan in force\nbearing, jacking and temporary support as the design needs")}},
		{ID: "cleaned", Code: "CLN", Name: "Cleaned", Performer: []Role{Contractor, Inspector}, AppliesToAll: true, Window: OwnWindow,
			Requires: append(cond(PreviousSteps, SurveyAsFound, CleaningAccepted), photos(2))},
		{ID: "measured", Code: "MSR", Name: "Measured again", Performer: inspector, AppliesToAll: true, Window: OwnWindow,
			Requires: append(cond(PreviousSteps, SurveyAfterCleaning), photos(2))},
		{ID: "design", Code: "DES", Name: "Design confirmed or revised", Performer: []Role{Designer, Engineer}, AppliesToAll: true,
			Hold: true, Releaser: engineer, Requires: cond(PreviousSteps, ApprovedCurrentDesign)},
		{ID: "welded", Code: "WLD", Name: "Studs welded", Performer: []Role{Contractor, Inspector}, AppliesToAll: true, Window: OwnWindow,
			Requires: append(cond(PreviousSteps, ApprovedCurrentDesign), ticks("test studs of the shift bent and accepted\nhot-work permit in force\nreturn lead clamped to the same girder"))},
		{ID: "collars", Code: "COL", Name: "Collars accepted", Performer: inspector, AppliesToAll: true,
			Hold: true, Releaser: []Role{Inspector, Engineer}, Requires: append(cond(PreviousSteps, ApprovedCurrentDesign, StudsAccounted, NoOpenNonconformance), photos(1))},
		{ID: "gauges", Code: "GAU", Name: "Gauges installed", Performer: []Role{Contractor, Inspector}, Window: OwnWindow,
			Requires: cond(PreviousSteps, GaugesZeroed)},
		{ID: "cored", Code: "COR", Name: "Deck cored", Performer: site, AppliesToAll: true, Window: OwnWindow,
			Requires: append(cond(PreviousSteps), ticks("bars located before coring\nno bar cut without leave\nfall of cores guarded below"))},
		{ID: "form", Code: "FRM", Name: "Form fitted, sealed, locked", Performer: site, AppliesToAll: true, Window: OwnWindow,
			Requires: append(cond(PreviousSteps, StudsAccounted), ticks("dimensions and cover to studs checked\nbraced for the full head\nseals tight under the water test\nbearing free of the form\nfeed and vent holes clear"), photos(2))},
		{ID: "released", Code: "REL", Name: "Released for casting", Performer: site, AppliesToAll: true,
			Hold: true, Releaser: []Role{Inspector, Engineer},
			Requires: append(cond(PreviousSteps, MockupAccepted, ApprovedCurrentDesign, StudsAccounted, NoOpenNonconformance),
				ticks("revision on the card is the approved one\nsteel and mix temperatures within limits\nspare mixer, power and material on site\nmolds marked with the end\nlaboratory pick-up booked\nwatch for leaks posted below\ntime of the last batch agreed"))},
		{ID: "cast", Code: "CST", Name: "Cast", Performer: []Role{Inspector, Contractor}, AppliesToAll: true, Window: OwnWindow,
			Requires: append(cond(PreviousSteps, PourRecorded, BatchesAccepted), photos(1))},
		{ID: "cured", Code: "CUR", Name: "Cured", Performer: []Role{Contractor, Inspector}, AppliesToAll: true,
			Requires: cond(PreviousSteps, CuringRecorded)},
		{ID: "strength", Code: "STR", Name: "Strength accepted, form stripped", Performer: []Role{Contractor, Inspector}, AppliesToAll: true, Window: OwnWindow,
			Hold: true, Releaser: []Role{Inspector, Engineer},
			Requires: cond(PreviousSteps, NoOpenNonconformance, StripGate)},
		{ID: "hardened", Code: "HRD", Name: "Hardened inspection", Performer: inspector, AppliesToAll: true, Window: OwnWindow,
			Requires: append(cond(PreviousSteps, HardenedAccepted), photos(2))},
		{ID: "traffic", Code: "TRF", Name: "Returned to traffic", Performer: []Role{Contractor, Inspector}, AppliesToAll: true,
			Hold: true, Releaser: engineer, Requires: cond(PreviousSteps, HardenedAccepted, NoOpenNonconformance, TrafficGate)},
		{ID: "loadpath", Code: "LDP", Name: "Load path verified", Performer: engineer,
			Requires: cond(PreviousSteps, VerdictEngaged)},
		{ID: "closed", Code: "CLS", Name: "Closed", Performer: []Role{Inspector, Engineer}, AppliesToAll: true,
			Hold: true, Releaser: engineer,
			Requires: append(cond(PreviousSteps, ApprovedCurrentDesign, NoOpenNonconformance),
				Requirement{Condition: DesignStrengthReached, AgeDays: 28},
				ticks("as-built record complete\ncores patched and surfaces coated\ncause of the leak above dealt with"))},
	}
	for i := range steps {
		steps[i].Order = i + 1
	}
	return steps
}
