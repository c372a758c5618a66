package sequence

// Condition names one kind of thing that a step may ask for. The list is closed:
// an owner chooses from it and sets its numbers, and every condition is computed
// from facts, never ticked by hand (a tick list is the one that is).
type Condition string

// The conditions.
const (
	PreviousSteps         Condition = "previous_steps"
	SurveyAsFound         Condition = "survey_as_found"
	CleaningAccepted      Condition = "cleaning_accepted"
	SurveyAfterCleaning   Condition = "survey_after_cleaning"
	ApprovedCurrentDesign Condition = "approved_current_design"
	StudsAccounted        Condition = "studs_accounted"
	MockupAccepted        Condition = "mockup_accepted"
	PourRecorded          Condition = "pour_recorded"
	BatchesAccepted       Condition = "batches_accepted"
	CuringRecorded        Condition = "curing_recorded"
	StrengthReached       Condition = "strength_reached"
	DesignStrengthReached Condition = "design_strength_reached"
	StripGate             Condition = "strip_gate"
	TrafficGate           Condition = "traffic_gate"
	HardenedAccepted      Condition = "hardened_accepted"
	GaugesZeroed          Condition = "gauges_zeroed"
	VerdictEngaged        Condition = "verdict_engaged"
	VerdictConfirmed      Condition = "verdict_confirmed"
	NoOpenNonconformance  Condition = "no_open_nonconformance"
	Photo                 Condition = "photo"
	TickList              Condition = "tick_list"
	TestStudsAccepted     Condition = "test_studs_accepted"
	FormAccepted          Condition = "form_accepted"
	CoresAccepted         Condition = "cores_accepted"
	CastingRelease        Condition = "casting_release"
)

// ConditionInfo describes a condition to the person who edits the sequence.
type ConditionInfo struct {
	Condition Condition
	Name      string
	Explains  string
	// UsesValue, UsesAge and UsesText tell which fields of a Requirement count.
	UsesValue, UsesAge, UsesText bool
	// Waivable: somebody with authority may do without it at one end; of a tick list,
	// line by line. Steel, strength and nonconformances are never waived.
	Waivable bool
}

var conditions = []ConditionInfo{
	{Condition: PreviousSteps, Name: "every step before is done",
		Explains: "Each earlier step that applies to the end is complete, and released where it is a hold. Without this a step still cannot pass an earlier hold."},
	{Condition: SurveyAsFound, Name: "a survey as found",
		Explains: "A survey of the steel as found, before cleaning, is on record."},
	{Condition: CleaningAccepted, Name: "cleaning accepted",
		Explains: "The latest cleaning record is accepted in every zone that the repair covers."},
	{Condition: SurveyAfterCleaning, Name: "a survey after cleaning",
		Explains: "A survey taken on cleaned steel, after the latest cleaning, is on record."},
	{Condition: ApprovedCurrentDesign, Name: "an approved and current design",
		Explains: "The design in force is approved and nothing that it stands on has moved since."},
	{Condition: StudsAccounted, Name: "every stud accounted for",
		Explains: "Each stud of the design in force is welded and its collar accepted; none is rejected and none is without a finding."},
	{Condition: TestStudsAccepted, Name: "test studs accepted",
		Explains: "The last set-up test of every stud welder at this end is accepted."},
	{Condition: CoresAccepted, Name: "cores of the deck accepted",
		Explains: "Every core through the deck on record at this end is accepted, and there is one."},
	{Condition: FormAccepted, Name: "form accepted",
		Explains: "The last check of the form is accepted for each face that the design casts against."},
	{Condition: MockupAccepted, Waivable: true, Name: "mock-up accepted",
		Explains: "A trial casting of like size and shape has been accepted for this program."},
	{Condition: CastingRelease, Waivable: true, Name: "released for casting on its list",
		Explains: "A named person has released the end on the list before casting: evidence from the record, ticks and waivers. Once something on the list moves, it is released anew. At a hold it is asked for at the release, not at the request."},
	{Condition: PourRecorded, Name: "a pour record",
		Explains: "A casting of this end is on record with its batches."},
	{Condition: BatchesAccepted, Name: "batches within their limits",
		Explains: "No batch that was placed at this end is outside a stop limit without a decision."},
	{Condition: CuringRecorded, Waivable: true, Name: "a curing record",
		Explains: "Temperatures are on record from placing to the end of curing, without a gap that voids them, or a person has signed for them."},
	{Condition: StrengthReached, Name: "a strength reached by any set", UsesValue: true, UsesAge: true,
		Explains: "Any sound set of specimens has reached the strength, whatever its curing and batch, at the age named or at whatever age if none is named. It is no gate: it does not ask for the governing batch, for field curing or for a signature."},
	{Condition: StripGate, Name: "the gate to strip passed",
		Explains: "A named person has passed the gate on the breaks of the governing batch, and nothing that it stood on has changed since."},
	{Condition: TrafficGate, Name: "the gate to traffic passed",
		Explains: "As the gate to strip, with its own limit, its own signer, and the hardened inspection accepted."},
	{Condition: DesignStrengthReached, Name: "the design's strength reached", UsesAge: true,
		Explains: "A valid set of the age named has reached the strength that the design in force counts on."},
	{Condition: HardenedAccepted, Name: "hardened inspection accepted",
		Explains: "The stripped panel has been sounded and looked over, and what was found is accepted or mended."},
	{Condition: GaugesZeroed, Name: "gauges read at zero",
		Explains: "Every gauge planned for this end has a reading taken before casting."},
	{Condition: VerdictEngaged, Name: "a verdict that the repair is engaged",
		Explains: "The records of strain before and after show that the repair takes load, as the engineer confirmed it. Where no strain was recorded at the end, the finding that the engineer signed for counts."},
	{Condition: VerdictConfirmed, Name: "a confirmed verdict on strain records",
		Explains: "Strain was recorded at the end before and after, its verdict is engaged, the engineer confirmed it and nothing that it stands on has moved since. A signed finding without records does not count."},
	{Condition: NoOpenNonconformance, Name: "no open nonconformance",
		Explains: "No open nonconformance at this end stops this step."},
	{Condition: Photo, Waivable: true, Name: "photographs", UsesValue: true,
		Explains: "At least the given number of photographs is attached to this step."},
	{Condition: TickList, Waivable: true, Name: "a tick list", UsesText: true,
		Explains: "Every line of the list is ticked by a named person."},
}

// Conditions lists every condition with its words.
func Conditions() []ConditionInfo { return append([]ConditionInfo(nil), conditions...) }

// Info returns the description of a condition, and false if it is unknown.
func (c Condition) Info() (ConditionInfo, bool) {
	for _, i := range conditions {
		if i.Condition == c {
			return i, true
		}
	}
	return ConditionInfo{}, false
}

// Words is the condition in plain words.
func (c Condition) Words() string {
	if i, ok := c.Info(); ok {
		return i.Name
	}
	return string(c)
}
