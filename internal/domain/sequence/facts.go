package sequence

import (
	"time"

	"endcast/internal/domain/units"
)

// Facts is what the conditions read about one end. Maps are keyed by step ID. A
// zero Facts is an end at which nothing has happened.
type Facts struct {
	// Started is when the end joined the program: the earliest "since".
	Started time.Time
	// Chosen lists the steps, not meant for all ends, that this end goes through.
	Chosen []string
	// Records are in the order in which they were accepted, oldest first.
	Records []Record

	Design Design

	SurveyAsFound       bool
	SurveyAfterCleaning bool // newer than the latest cleaning
	CleaningAccepted    bool

	Studs StudCount

	// The checks of the shift on the platform, as last recorded.
	TestStudsAccepted, FormAccepted, CoresAccepted bool

	MockupAccepted bool

	Pours            int
	BatchesUndecided int // placed, outside a stop limit, nobody decided
	CuringComplete   bool

	// Strengths are the valid sets of the governing batch.
	Strengths []Strength
	// Overdue counts specimens whose day has passed without a break.
	Overdue int

	HardenedAccepted bool

	// Strip and Traffic are the two gates that hang on strength.
	Strip, Traffic Gate
	// CastingRelease is the release on the list before casting.
	CastingRelease Gate
	// Waivers are those that hold.
	Waivers []Waiver

	GaugesPlanned, GaugesZeroed int
	// Verdict is that of the strain records once strain was recorded at the end, else
	// what the engineer signed for; Confirmed is the former alone.
	Verdict, Confirmed       Verdict
	VerdictWhy, ConfirmedWhy string

	Nonconformances []OpenNonconformance

	// Photos counts photographs and Ticks lists the ticked lines, both since the
	// step was last reopened.
	Photos map[string]int
	Ticks  map[string][]string

	// Window is that of the end's own access class, and Windows those of the access
	// classes that steps name. A class that is not in the map asks for no window.
	Window  Window
	Windows map[string]Window

	// Raised are reasons that a person entered.
	Raised []Raised
}

// DesignState is where the design in force stands.
type DesignState string

// States of a design.
const (
	NoDesign  DesignState = ""
	Draft     DesignState = "draft"
	Submitted DesignState = "submitted"
	Approved  DesignState = "approved"
	SentBack  DesignState = "returned"
)

// Design is the latest design revision of the end.
type Design struct {
	Revision string
	State    DesignState
	// OutOfDate: something that the revision stands on has moved. Why says what.
	OutOfDate bool
	Why       string
	// Stops: what moved stops the work at every step from the first that asks for an
	// approved design on, until the concrete is in.
	Stops bool
	// Answers is who must act on a design out of date; empty for the designer.
	Answers Role
	Since   time.Time
	// Strength is the UHPC strength that it counts on.
	Strength units.Stress
}

// StudCount says how the studs of the design in force stand.
type StudCount struct{ Total, Accepted, Rejected, Unaccounted int }

// Strength is the mean of a valid set of specimens at its nominal age.
type Strength struct {
	Set     string
	Value   units.Stress
	AgeDays float64
}

// Gate is where a gate stands: passed on the evidence of now, or what it waits for.
type Gate struct {
	Passed bool
	Waits  Block
}

// Waiver is a condition of a step that somebody did without, for this end; of a tick
// list, one line of it.
type Waiver struct {
	StepID    string
	Condition Condition
	Line      string
	By        string // name and role
	Reason    string
	At        time.Time
}

// Words is the waiver as it is shown beside what it waives.
func (w Waiver) Words() string { return "waived by " + w.By + ": " + w.Reason }

// Waived returns the waivers of one requirement of a step, those of its lines
// included.
func (f Facts) Waived(stepID string, r Requirement) []Waiver {
	info, ok := r.Condition.Info()
	if !ok || !info.Waivable {
		return nil
	}
	var out []Waiver
	for _, w := range f.Waivers {
		if w.StepID == stepID && w.Condition == r.Condition {
			out = append(out, w)
		}
	}
	return out
}

// Verdict is what the records of strain say.
type Verdict string

// Verdicts.
const (
	NoVerdict Verdict = ""
	Engaged   Verdict = "engaged"
	NotYet    Verdict = "not_engaged"
	Undecided Verdict = "undecided"
)

// OpenNonconformance is one that is not closed. Stops lists the steps it stops;
// empty means every step that asks for none.
type OpenNonconformance struct {
	Number string
	Stops  []string
	Actor  Role
	Since  time.Time
}

func (n OpenNonconformance) stops(stepID string) bool {
	if len(n.Stops) == 0 {
		return true
	}
	for _, s := range n.Stops {
		if s == stepID {
			return true
		}
	}
	return false
}

// Window is the next window in which the end may be worked.
type Window struct {
	Granted bool
	Start   time.Time
	// Lost tells that the last one granted was lost, with the party and reason.
	Lost  bool
	Why   string
	Since time.Time
}

// window is the window that a step is worked in.
func (f Facts) window(s Step) Window {
	if s.Window == OwnWindow {
		return f.Window
	}
	if w, ok := f.Windows[s.Window]; ok {
		return w
	}
	return Window{Granted: true}
}

// Raised is a reason entered by a person, until lifted.
type Raised struct {
	Reason Reason
	Detail string
	Actor  Role
	Since  time.Time
	// StepID limits it to one step; empty stops the end at whatever step it is.
	StepID string
}
