package repair

import (
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// waiting notes in the state of an end what waits for the owner's engineer: a
// submitted revision, or an approved one that something moved under.
func (r *Record) waiting(s *Scope, moved Movement, st *State) {
	st.Questions = len(r.OpenQuestions(""))
	if st.OutOfDate = moved.Effect > Unmoved; st.OutOfDate {
		st.Stale = moved.Effect.Key()
		if w, ok := moved.Worst(); ok {
			st.StaleWhy = w.Line(units.System(s.Program.Units))
		}
		since := r.movedSince(r.moves(s, moved.Since.At), moved.Since.At)
		if since.IsZero() {
			since = moved.Since.At
		}
		st.WaitsSince = &since
	}
	d := r.LatestDesign()
	if d == nil || d.State != DesignSubmitted {
		return
	}
	if d.SubmittedAt != nil {
		at := *d.SubmittedAt
		st.WaitsSince = &at
	}
	st.WaitsLayout = r.LayoutDigest(s, d)
}

// LayoutDigest names the layout of a revision with the section that it is on: two
// ends with one digest are repaired alike.
func (r *Record) LayoutDigest(s *Scope, d *Design) string {
	return calc.Digest([]any{r.Geometry(s).Section, r.DesignOf(d)})
}

// Urgency is why a revision stands where it stands among those that wait.
type Urgency uint8

// Urgencies, the most urgent first. Within each the order is that of its own measure.
const (
	WorkStopped  Urgency = iota // what moved stops the work: longest first
	MissesWindow                // a window begins soon: nearest first
	WaitsLong                   // longest first
	FallsShort                  // the end carries less than it must: largest shortfall first
	InTurn                      // longest first
)

// ReviewLimits are the owner's limits of the order in which revisions wait.
type ReviewLimits struct{ WindowNear, WaitLong time.Duration }

// ReviewLimitsFrom reads them from a design basis.
func ReviewLimitsFrom(b basis.Basis) ReviewLimits {
	days := func(set basis.Key) time.Duration { return time.Duration(b.Value(set) * 24 * float64(time.Hour)) }
	return ReviewLimits{WindowNear: days(basis.ReviewWindowNear), WaitLong: days(basis.ReviewWaitLong)}
}
