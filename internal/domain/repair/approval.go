package repair

import (
	"strconv"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
)

// Standing is how the approval of a design stands.
type Standing uint8

// Standings, the best first.
const (
	ApprovalInForce   Standing = iota
	ApprovalNoted              // in force, with notes to be worked to
	ApprovalConfirms           // what was found merely confirms it; the engineer signs that it holds
	ApprovalLook               // needs a second look of the engineer
	ApprovalOutOfDate          // what was found stops the work
	ApprovalNone
)

var standingWords = [...]string{"in force", "in force with notes", "to be confirmed", "needs a second look", "out of date", "none"}

// Words is the standing for a reader.
func (x Standing) Words() string { return standingWords[min(x, ApprovalNone)] }

// Approval is how the approval of the design stands that an end is built to, for every
// sheet that somebody works by.
type Approval struct {
	Standing Standing
	Revision int        // in force; without an approval the latest, 0 without a design
	State    string     // of that revision
	At       *time.Time // last approval or confirmation
	By       string
	Because  string   // what moved, or why there is none
	Notes    []string // that the approval asks for
	GoesOn   bool     // by the owner's setting work goes on until it is confirmed
}

// Builds reports whether work to the design may go on.
func (a Approval) Builds() bool {
	return a.Standing <= ApprovalNoted || a.Standing == ApprovalConfirms && a.GoesOn
}

// ApprovalNow is how the approval of the design in force stands, with quantities in a
// system of units.
func (r *Record) ApprovalNow(s *Scope, sys units.System) Approval {
	d := r.DesignInForce()
	if d == nil {
		return approvalOf(0, "", Unmoved, "")
	}
	m := r.Movement(s, d)
	because := ""
	if m.Effect > Unmoved {
		because = wordsOf(r.moves(s, m.Since.At))
		if w, ok := m.Worst(); ok && w.Effect > Confirms {
			because += "; " + w.Line(sys)
		}
	}
	a := approvalOf(d.Revision, d.State, m.Effect, because)
	if x := r.lastApproval(d); x != nil && a.Standing != ApprovalNone {
		a.At, a.By = &x.At, x.ReviewerName
	}
	a.Notes = r.NotesOf(d)
	a.GoesOn = s.Basis().Value(basis.ReviewConfirmsWaits) < 1
	return a
}

// ApprovalInList is ApprovalNow from what lists keep: the state of an end, and the
// revision that is approved with its state, zero without one.
func ApprovalInList(st State, revision int, state string) Approval {
	if revision == 0 {
		if st.DesignRevision == nil {
			return approvalOf(0, "", Unmoved, "")
		}
		return approvalOf(*st.DesignRevision, st.DesignState, Unmoved, "")
	}
	effect := Unmoved
	if st.OutOfDate {
		effect = EffectOf(st.Stale)
	}
	return approvalOf(revision, state, effect, st.StaleWhy)
}

func approvalOf(revision int, state string, effect Effect, because string) Approval {
	a := Approval{Revision: revision, State: state, Because: because}
	switch {
	case revision == 0:
		a.Standing, a.Because = ApprovalNone, "this end has no design"
	case state != DesignApproved && state != DesignApprovedNoted:
		a.Standing, a.Because = ApprovalNone, "revision "+strconv.Itoa(revision)+" is "+waitingWords[state]
	case effect == Stops:
		a.Standing = ApprovalOutOfDate
	case effect == SecondLook:
		a.Standing = ApprovalLook
	case effect == Confirms:
		a.Standing = ApprovalConfirms
	case state == DesignApprovedNoted:
		a.Standing = ApprovalNoted
	}
	return a
}

var waitingWords = map[string]string{DesignDraft: "a draft", DesignSubmitted: "submitted and waits for review", DesignReturned: "returned", DesignSuperseded: "superseded"}
