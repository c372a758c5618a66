package sequence

import (
	"sort"
	"strings"
	"time"
)

// Requirement is one thing that a step asks for before it may be completed.
// Which of the fields count depends on the condition: see ConditionInfo.
type Requirement struct {
	Condition Condition
	// Value is a stress in MPa for strengths and a count for photos.
	Value float64
	// AgeDays is the nominal age of a strength; zero means at whatever age.
	AgeDays float64
	// Text holds the items of a tick list, one a line.
	Text string
}

// Items are the lines of a tick list, trimmed, without blanks or repeats.
func (r Requirement) Items() []string {
	var out []string
	seen := map[string]bool{}
	for _, line := range strings.Split(r.Text, "\n") {
		line = strings.TrimSpace(line)
		if line != "" && !seen[line] {
			seen[line] = true
			out = append(out, line)
		}
	}
	return out
}

// OwnWindow as a step's Window means a window of the end's own access class.
const OwnWindow = "own"

// Step is one step of the owner's sequence.
type Step struct {
	ID    string // never changes and is never used again
	Code  string // short, shown in tables
	Order int
	Name  string
	// Performer lists who may complete the step.
	Performer []Role
	// Hold: nobody passes this step before one of Releaser has released it. The
	// completion is then the request to proceed and the release the notice to
	// proceed: a pair of dated records.
	Hold     bool
	Releaser []Role
	Requires []Requirement
	// AppliesToAll is false for a step that only chosen ends go through.
	AppliesToAll bool
	// Window is the kind of window in which the step must be worked: empty for
	// none, OwnWindow, or the name of an access class of the program.
	Window string
	// Retired steps ask nothing of anyone; what was recorded on them stays.
	Retired bool
	// Added is when the step joined the sequence; zero means from the start. An
	// end that had finished a later step before then is not sent back for it.
	Added time.Time
	// HoldSince is when the step became a hold; zero means from the start. A
	// completion made before then needs no release.
	HoldSince time.Time
}

// clone copies the step with its own slices.
func (s Step) clone() Step {
	s.Performer = append([]Role(nil), s.Performer...)
	s.Releaser = append([]Role(nil), s.Releaser...)
	s.Requires = append([]Requirement(nil), s.Requires...)
	return s
}

// Ordered returns the steps by Order, then ID. The argument is left alone.
func Ordered(steps []Step) []Step {
	out := append([]Step(nil), steps...)
	sort.SliceStable(out, func(i, j int) bool {
		if out[i].Order != out[j].Order {
			return out[i].Order < out[j].Order
		}
		return out[i].ID < out[j].ID
	})
	return out
}

// RecordKind is what a person did with a step.
type RecordKind string

// Kinds of record.
const (
	Completed RecordKind = "completed" // on a hold: the request to proceed
	Released  RecordKind = "released"  // the notice to proceed
	Returned  RecordKind = "returned"  // the request was not granted
	Reopened  RecordKind = "reopened"  // a finished step is to be done again
)

// Words is the kind in plain words.
func (k RecordKind) Words() string {
	switch k {
	case Completed:
		return "completed"
	case Released:
		return "released"
	case Returned:
		return "request returned"
	case Reopened:
		return "reopened"
	}
	return string(k)
}

// Record is one dated act on one step of one end.
type Record struct {
	ID     string
	StepID string
	Kind   RecordKind
	By     string // who, by the key of the person
	Name   string // who, as shown
	Role   Role   // in which role
	At     time.Time
	Reason string // asked for on Returned and Reopened
}
