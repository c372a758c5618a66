package sequence

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/units"
)

// Unmet is a requirement that the facts do not meet, with the reason in words.
type Unmet struct {
	Requirement Requirement
	Block       Block
	// ToDo: doing the step itself brings it, so it is no reason to wait.
	ToDo bool
}

// unmet lists what step i lacks: an earlier hold, its own requirements, and the
// nonconformances that stop it by number.
func unmet(all []Standing, i int, f Facts, since time.Time) []Unmet {
	s := all[i].Step
	var out []Unmet
	add := func(r Requirement, b Block, todo bool) {
		b.StepID = s.ID
		if info, ok := b.Reason.Info(); ok {
			b.Track = info.Track
		}
		if b.Since.IsZero() {
			b.Since = since
		}
		out = append(out, Unmet{r, b, todo})
	}
	asksPrevious := false
	for _, r := range s.Requires {
		asksPrevious = asksPrevious || r.Condition == PreviousSteps
	}
	// The rule of a hold needs no requirement to be written: nobody passes it.
	if b, ok := earlier(all, i, asksPrevious); !ok {
		add(Requirement{Condition: PreviousSteps}, b, false)
	}
	if r := (Requirement{Condition: ApprovedCurrentDesign}); stopped(all, i, f) && len(f.Waived(s.ID, r)) == 0 {
		b, _ := designMeets(f.Design)
		add(r, b, false)
	}
	for _, r := range s.Requires {
		if r.Condition == PreviousSteps {
			continue
		}
		if r.Condition != TickList && r.Condition != CastingRelease && len(f.Waived(s.ID, r)) > 0 {
			continue
		}
		if b, ok := meets(r, s, f); !ok {
			add(r, b, ownEvidence(all, i, r.Condition) || releasedHere(r, s))
		}
	}
	return out
}

// stopped reports whether what moved under the approved design stops step i, which
// does not ask for that design itself but comes after one that does.
func stopped(all []Standing, i int, f Facts) bool {
	if !f.Design.Stops || f.Pours > 0 {
		return false
	}
	asks := func(s Step) bool {
		return slices.ContainsFunc(s.Requires, func(r Requirement) bool { return r.Condition == ApprovedCurrentDesign })
	}
	return !asks(all[i].Step) && slices.ContainsFunc(all[:i], func(p Standing) bool {
		return p.State != RetiredStep && p.State != NotChosen && asks(p.Step)
	})
}

// releasedHere reports whether a requirement is the release that a hold is there for:
// it answers the request, and cannot be asked for before it.
func releasedHere(r Requirement, s Step) bool { return r.Condition == CastingRelease && s.Hold }

// earlier returns the block of the first step before i that is not finished:
// any step if every one counts, else only holds.
func earlier(all []Standing, i int, every bool) (Block, bool) {
	for _, p := range all[:i] {
		if !p.waits() || !(every || p.Step.Hold) {
			continue
		}
		b := Block{Reason: StepBefore, Detail: p.Step.Name}
		actors := p.Step.Performer
		if p.State == Requested {
			b.Detail += ", waiting for its release"
			b.Since = p.Completed.At
			actors = p.Step.Releaser
		}
		if len(actors) > 0 {
			b.Actor = actors[0]
		}
		return b, false
	}
	return Block{}, true
}

// ownEvidence reports whether condition c is what doing step i brings: work or
// its record, which no earlier step has already asked for. A decision of someone
// else (a design, a strength, a verdict) is never the step's own.
func ownEvidence(all []Standing, i int, c Condition) bool {
	switch c {
	case TickList, Photo:
		return true
	case SurveyAsFound, CleaningAccepted, SurveyAfterCleaning, StudsAccounted, PourRecorded, CuringRecorded, HardenedAccepted, GaugesZeroed, TestStudsAccepted, FormAccepted, CoresAccepted:
	default:
		return false
	}
	for _, p := range all[:i] {
		if p.State == RetiredStep || p.State == NotChosen {
			continue
		}
		for _, r := range p.Step.Requires {
			if r.Condition == c {
				return false
			}
		}
	}
	return true
}

// meets reads one condition from the facts. Reason, detail and actor of the block
// are set when it is not met.
func meets(r Requirement, s Step, f Facts) (Block, bool) {
	performer := Role("")
	if len(s.Performer) > 0 {
		performer = s.Performer[0]
	}
	simple := func(ok bool, reason Reason, actor Role) (Block, bool) {
		return Block{Reason: reason, Actor: actor}, ok
	}
	switch r.Condition {
	case SurveyAsFound:
		b, ok := simple(f.SurveyAsFound, SurveyMissing, Inspector)
		b.Detail = "as found"
		return b, ok
	case CleaningAccepted:
		return simple(f.CleaningAccepted, CleaningMissing, Inspector)
	case SurveyAfterCleaning:
		b, ok := simple(f.SurveyAfterCleaning, SurveyMissing, Inspector)
		b.Detail = "after cleaning"
		return b, ok
	case ApprovedCurrentDesign:
		return designMeets(f.Design)
	case StudsAccounted:
		return studsMeet(f)
	case TestStudsAccepted:
		b, ok := simple(f.TestStudsAccepted, InspectionMissing, Inspector)
		b.Detail = "test studs"
		return b, ok
	case FormAccepted:
		b, ok := simple(f.FormAccepted, InspectionMissing, Inspector)
		b.Detail = "form"
		return b, ok
	case CoresAccepted:
		b, ok := simple(f.CoresAccepted, InspectionMissing, Inspector)
		b.Detail = "cores of the deck"
		return b, ok
	case MockupAccepted:
		return simple(f.MockupAccepted, MockupMissing, Engineer)
	case CastingRelease:
		return releaseMeets(s, f.CastingRelease)
	case PourRecorded:
		return simple(f.Pours > 0, PourMissing, Inspector)
	case BatchesAccepted:
		b, ok := simple(f.BatchesUndecided == 0, BatchUndecided, Engineer)
		b.Detail = count(f.BatchesUndecided, "batch", "batches")
		return b, ok
	case CuringRecorded:
		return simple(f.CuringComplete, CuringMissing, Contractor)
	case StrengthReached, DesignStrengthReached:
		return strengthMeets(r, f)
	case StripGate:
		return gateMeets(f.Strip)
	case TrafficGate:
		return gateMeets(f.Traffic)
	case HardenedAccepted:
		return simple(f.HardenedAccepted, InspectionMissing, Inspector)
	case GaugesZeroed:
		b, ok := simple(f.GaugesPlanned > 0 && f.GaugesZeroed >= f.GaugesPlanned, GaugesMissing, Inspector)
		b.Detail = fmt.Sprintf("%d of %d", f.GaugesZeroed, f.GaugesPlanned)
		return b, ok
	case VerdictEngaged:
		return verdictMeets(f.Verdict, f.VerdictWhy)
	case VerdictConfirmed:
		return verdictMeets(f.Confirmed, f.ConfirmedWhy)
	case NoOpenNonconformance:
		return nonconformancesMeet(s, f)
	case Photo:
		want := max(1, int(r.Value))
		b, ok := simple(f.Photos[s.ID] >= want, PhotoMissing, performer)
		b.Detail = fmt.Sprintf("%d of %d", f.Photos[s.ID], want)
		return b, ok
	case TickList:
		return ticksMeet(r, s, f, performer)
	}
	return Block{Reason: OtherReason, Actor: Administrator,
		Detail: fmt.Sprintf("the sequence asks for %q, which this version does not know", string(r.Condition))}, false
}

func verdictMeets(v Verdict, why string) (Block, bool) {
	switch v {
	case Engaged:
		return Block{}, true
	case NotYet:
		return Block{Reason: NotEngaged, Actor: Engineer, Detail: why}, false
	case Undecided:
		if why == "" {
			why = "the records do not decide"
		}
		return Block{Reason: VerdictMissing, Actor: Engineer, Detail: why}, false
	}
	if why != "" {
		return Block{Reason: VerdictMissing, Actor: Engineer, Detail: why}, false
	}
	return Block{Reason: VerdictMissing, Actor: Inspector}, false
}

func designMeets(d Design) (Block, bool) {
	b := Block{Since: d.Since, Detail: d.Revision}
	switch {
	case d.State == NoDesign, d.State == Draft:
		b.Reason, b.Actor = DesignNotIssued, Designer
	case d.State == Submitted:
		b.Reason, b.Actor = ReviewPending, Engineer
	case d.State == SentBack:
		b.Reason, b.Actor = DesignReturned, Designer
	case d.OutOfDate:
		b.Reason, b.Actor = DesignOutOfDate, Designer
		if d.Answers != "" {
			b.Actor = d.Answers
		}
		if d.Why != "" {
			b.Detail = strings.TrimPrefix(d.Revision+": "+d.Why, ": ")
		}
	case d.State == Approved:
		return Block{}, true
	default:
		b.Reason, b.Actor = DesignNotIssued, Designer
	}
	return b, false
}

func studsMeet(f Facts) (Block, bool) {
	c := f.Studs
	switch {
	case c.Rejected > 0:
		return Block{Reason: StudsRejected, Actor: Contractor, Detail: fmt.Sprintf("%d of %d", c.Rejected, c.Total)}, false
	case c.Total <= 0:
		return Block{Reason: StudsMissing, Actor: Designer, Detail: "no studs are designed"}, false
	case c.Unaccounted > 0 || c.Accepted < c.Total:
		return Block{Reason: StudsMissing, Actor: Inspector,
			Detail: fmt.Sprintf("%d of %d without an accepted collar", c.Total-c.Accepted, c.Total)}, false
	}
	return Block{}, true
}

func strengthMeets(r Requirement, f Facts) (Block, bool) {
	want := r.Value
	if r.Condition == DesignStrengthReached {
		want = float64(f.Design.Strength)
		if want <= 0 {
			return Block{Reason: DesignNotIssued, Actor: Designer, Detail: "the design names no strength"}, false
		}
	}
	best, tested := 0.0, false
	for _, s := range f.Strengths {
		if s.AgeDays < r.AgeDays {
			continue
		}
		if float64(s.Value) >= want {
			return Block{}, true
		}
		best, tested = max(best, float64(s.Value)), true
	}
	detail := strconv.FormatFloat(want, 'f', 2, 64) + " MPa"
	if r.AgeDays > 0 {
		detail += " at " + strconv.FormatFloat(r.AgeDays, 'g', -1, 64) + " days"
	}
	gap := &StrengthGap{Reached: units.Stress(best), Wanted: units.Stress(want), AgeDays: r.AgeDays}
	switch {
	case tested && r.AgeDays > 0:
		return Block{Reason: StrengthLow, Actor: Engineer, Gap: gap,
			Detail: fmt.Sprintf("%.2f of %s", best, detail)}, false
	case f.Overdue > 0:
		return Block{Reason: TestMissing, Actor: Laboratory, Gap: gap,
			Detail: detail + "; " + count(f.Overdue, "specimen", "specimens") + " overdue"}, false
	case tested:
		detail = fmt.Sprintf("%.2f of %s", best, detail)
	}
	return Block{Reason: WaitingStrength, Actor: Laboratory, Detail: detail, Gap: gap}, false
}

func gateMeets(g Gate) (Block, bool) {
	if g.Passed {
		return Block{}, true
	}
	if g.Waits.Reason == "" {
		return Block{Reason: WaitingStrength, Actor: Laboratory}, false
	}
	return g.Waits, false
}

func releaseMeets(s Step, g Gate) (Block, bool) {
	if g.Passed {
		return Block{}, true
	}
	b := g.Waits
	if b.Reason == "" {
		b.Reason = ReleaseMissing
	}
	if b.Actor == "" {
		b.Actor = Engineer
		if s.Hold && len(s.Releaser) > 0 {
			b.Actor = s.Releaser[0]
		}
	}
	return b, false
}

func nonconformancesMeet(s Step, f Facts) (Block, bool) {
	var b Block
	var numbers []string
	for _, n := range f.Nonconformances {
		if !n.stops(s.ID) {
			continue
		}
		numbers = append(numbers, n.Number)
		if b.Since.IsZero() || n.Since.Before(b.Since) {
			b.Since, b.Actor = n.Since, n.Actor
		}
	}
	if len(numbers) == 0 {
		return Block{}, true
	}
	b.Reason = NonconformanceOpen
	b.Detail = strings.Join(numbers, ", ")
	if b.Actor == "" {
		b.Actor = Engineer
	}
	return b, false
}

func ticksMeet(r Requirement, s Step, f Facts, performer Role) (Block, bool) {
	ticked := map[string]bool{}
	for _, w := range f.Waived(s.ID, r) {
		ticked[w.Line] = true
	}
	for _, t := range f.Ticks[s.ID] {
		ticked[strings.TrimSpace(t)] = true
	}
	var missing []string
	for _, item := range r.Items() {
		if !ticked[item] {
			missing = append(missing, item)
		}
	}
	if len(missing) == 0 {
		return Block{}, true
	}
	return Block{Reason: ListUnfinished, Actor: performer, Detail: strings.Join(missing, "; ")}, false
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}
