package sequence

import (
	"fmt"
	"time"

	"endcast/internal/domain/units"
)

// Track is which of the three things that run side by side stops an end.
type Track string

// The tracks.
const (
	Paper            Track = "paper"              // design, review, test result, nonconformance
	SteelAndConcrete Track = "steel_and_concrete" // the work itself
	Access           Track = "access"             // no window
)

// Words is the track in plain words.
func (t Track) Words() string {
	switch t {
	case Paper:
		return "paper"
	case SteelAndConcrete:
		return "steel and concrete"
	case Access:
		return "access"
	}
	return string(t)
}

// Reason is why an end does not move. The list is closed.
type Reason string

// The reasons.
const (
	CriticalFinding    Reason = "critical_finding"
	HoldNotReleased    Reason = "hold_not_released"
	NonconformanceOpen Reason = "nonconformance_open"
	DesignNotIssued    Reason = "design_not_issued"
	ReviewPending      Reason = "review_pending"
	DesignReturned     Reason = "design_returned"
	DesignOutOfDate    Reason = "design_out_of_date"
	SubmittalNotFinal  Reason = "submittal_not_final"
	QuestionOpen       Reason = "question_open"
	MockupMissing      Reason = "mockup_not_accepted"
	ReleaseMissing     Reason = "casting_not_released"
	OutsideReview      Reason = "outside_review"
	TestMissing        Reason = "test_missing"
	StrengthLow        Reason = "strength_low"
	VerdictMissing     Reason = "verdict_missing"
	NotEngaged         Reason = "not_engaged"
	PhotoMissing       Reason = "photo_missing"
	ListUnfinished     Reason = "list_unfinished"
	BatchUndecided     Reason = "batch_undecided"
	GateUndecided      Reason = "gate_undecided"
	SetHeld            Reason = "set_held"

	StepBefore        Reason = "step_before"
	SurveyMissing     Reason = "survey_missing"
	CleaningMissing   Reason = "cleaning_not_accepted"
	StudsMissing      Reason = "studs_unaccounted"
	StudsRejected     Reason = "studs_rejected"
	PourMissing       Reason = "pour_missing"
	CuringMissing     Reason = "curing_missing"
	WaitingStrength   Reason = "waiting_strength"
	InspectionMissing Reason = "inspection_missing"
	GaugesMissing     Reason = "gauges_missing"
	JackingFirst      Reason = "jacking_first"
	CrewNotFree       Reason = "crew_not_free"
	WelderNotCurrent  Reason = "welder_not_current"
	MaterialMissing   Reason = "material_missing"

	WindowNotGranted   Reason = "window_not_granted"
	WindowLost         Reason = "window_lost"
	IsolationMissing   Reason = "isolation_not_confirmed"
	FlaggerMissing     Reason = "flagger_not_assigned"
	LaneClosureRefused Reason = "lane_closure_not_granted"
	Weather            Reason = "weather"
	OtherReason        Reason = "other"
)

// ReasonInfo describes a reason. Raised tells that a person may enter it by hand;
// the others are computed.
type ReasonInfo struct {
	Reason Reason
	Track  Track
	Words  string
	Raised bool
}

// reasons are in the order in which the one line picks among several: danger
// first, then what only a decision can lift, then work, then access.
var reasons = []ReasonInfo{
	{CriticalFinding, Paper, "critical finding", true},
	{HoldNotReleased, Paper, "hold not released", false},
	{NonconformanceOpen, Paper, "nonconformance open", false},
	{DesignOutOfDate, Paper, "design out of date", false},
	{DesignNotIssued, Paper, "no design issued", false},
	{DesignReturned, Paper, "design returned", false},
	{ReviewPending, Paper, "design review pending", false},
	{SubmittalNotFinal, Paper, "submittal not final", true},
	{QuestionOpen, Paper, "question not answered", true},
	{OutsideReview, Paper, "review by the railway or another access owner", true},
	{MockupMissing, Paper, "mock-up not accepted", false},
	{ReleaseMissing, Paper, "not released for casting", false},
	{StrengthLow, Paper, "strength below the limit", false},
	{TestMissing, Paper, "test late or missing", false},
	{NotEngaged, Paper, "repair not engaged", false},
	{VerdictMissing, Paper, "no verdict of engagement", false},
	{SetHeld, Paper, "set of specimens held for review", false},
	{GateUndecided, Paper, "gate not decided", false},
	{BatchUndecided, Paper, "batch outside its limits, not decided", false},
	{StepBefore, SteelAndConcrete, "step before not done", false},
	{CleaningMissing, SteelAndConcrete, "cleaning not accepted", false},
	{SurveyMissing, SteelAndConcrete, "survey missing", false},
	{StudsRejected, SteelAndConcrete, "studs rejected", false},
	{StudsMissing, SteelAndConcrete, "studs not accounted for", false},
	{GaugesMissing, SteelAndConcrete, "gauges not read at zero", false},
	{PourMissing, SteelAndConcrete, "no pour recorded", false},
	{CuringMissing, SteelAndConcrete, "curing record incomplete", false},
	{WaitingStrength, SteelAndConcrete, "waiting for strength", false},
	{InspectionMissing, SteelAndConcrete, "hardened inspection not accepted", false},
	{JackingFirst, SteelAndConcrete, "bearing or jacking work needed first", true},
	{CrewNotFree, SteelAndConcrete, "crew not free", true},
	{WelderNotCurrent, SteelAndConcrete, "welder or welding procedure not current", true},
	{MaterialMissing, SteelAndConcrete, "material or certificate missing", true},
	{WindowLost, Access, "window lost", false},
	{WindowNotGranted, Access, "no window", false},
	{IsolationMissing, Access, "isolation not confirmed", true},
	{FlaggerMissing, Access, "flagger not assigned", true},
	{LaneClosureRefused, Access, "lane closure not granted", true},
	{Weather, Access, "weather", true},
	{ListUnfinished, SteelAndConcrete, "tick list not finished", false},
	{PhotoMissing, SteelAndConcrete, "photographs missing", false},
	{OtherReason, Paper, "other", true},
}

// Reasons lists every reason, most pressing first.
func Reasons() []ReasonInfo { return append([]ReasonInfo(nil), reasons...) }

// Info returns the description of a reason, and false if it is unknown.
func (r Reason) Info() (ReasonInfo, bool) {
	for _, i := range reasons {
		if i.Reason == r {
			return i, true
		}
	}
	return ReasonInfo{}, false
}

// Words is the reason in plain words.
func (r Reason) Words() string {
	if i, ok := r.Info(); ok {
		return i.Words
	}
	return "unknown reason"
}

func (r Reason) rank() int {
	for n, i := range reasons {
		if i.Reason == r {
			return n
		}
	}
	return len(reasons)
}

// Block is one thing that stops an end, in the shape of the one-line answer:
// the track, the reason, who must act and since when.
type Block struct {
	Track  Track
	Reason Reason
	Detail string
	Actor  Role
	Since  time.Time
	StepID string // the step that is stopped
	// Gap carries the numbers of a strength, for a page to show in the reader's
	// units; Detail has them in MPa.
	Gap *StrengthGap
}

// StrengthGap is a strength that is waited for. Reached is zero where nothing
// has been tested; AgeDays is zero where no age is named.
type StrengthGap struct {
	Reached, Wanted units.Stress
	AgeDays         float64
}

// String is the block as one line, without its date (which the reader's own
// clock zone decides).
func (b Block) String() string {
	s := fmt.Sprintf("%s: %s", b.Track.Words(), b.Reason.Words())
	if b.Detail != "" {
		s += " (" + b.Detail + ")"
	}
	if b.Actor != "" {
		s += "; " + RoleWords(b.Actor) + " to act"
	}
	return s
}
