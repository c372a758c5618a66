package repair

import (
	"fmt"
	"slices"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/uhpc"
)

// ReviewSet is the word of a named person on a set of specimens: that a wide spread
// may stand, or that the set is worth nothing. It holds for the breaks of now; any
// later one needs another look.
type ReviewSet struct {
	Pour        int     `json:"pour"`
	Batch       int     `json:"batch"`
	KindOf      string  `json:"kind"`
	Curing      string  `json:"curing"`
	Duty        string  `json:"duty"` // empty: quality control
	NominalDays float64 `json:"nominal_days"`
	Verdict     string  `json:"verdict"` // stands or void
	Reason      string  `json:"reason"`
}

// Kind implements Change.
func (ReviewSet) Kind() string { return "set.review" }

// Want implements Wanting.
func (ch ReviewSet) Want() Want { return Want{Pours: []int{ch.Pour}, Tests: true} }

// Apply implements Change.
func (ch ReviewSet) Apply(s *Scope, c Context) error {
	i, err := s.pour(ch.Pour)
	if err != nil {
		return err
	}
	p := s.Pours[i]
	duty := SpecimenSet{Duty: ch.Duty}.duty()
	sets := s.SetsOf(p)
	at := slices.IndexFunc(sets, func(x uhpc.Set) bool {
		return x.Batch == batchMark(p, ch.Batch) && string(x.Kind) == ch.KindOf && string(x.Cure) == ch.Curing && string(x.Duty) == duty && x.NominalHours == ch.NominalDays*24
	})
	if at < 0 {
		return fault.New(fault.NotFound, "pour %d has no such set of specimens", ch.Pour)
	}
	set := sets[at]
	set.Reviewed, set.Voided = "", ""
	st := set.Stats(s.Basis())
	var bad fault.Invalid
	switch {
	case ch.Verdict != "stands" && ch.Verdict != "void":
		bad.Add("verdict", ch.Verdict, "must be stands or void")
	case st.Broken == 0:
		bad.Add("verdict", ch.Verdict, "nothing of this set is broken yet")
	case ch.Verdict == "stands" && st.State == uhpc.Invalid:
		bad.Add("verdict", ch.Verdict, "this spread is too wide to stand: %s", st.Why)
	case ch.Verdict == "stands" && st.State == uhpc.TooFew:
		bad.Add("verdict", ch.Verdict, "too few of the set count: %s", st.Why)
	case ch.Verdict == "stands" && st.State == uhpc.Sound:
		bad.Add("verdict", ch.Verdict, "the set is sound and needs no review")
	}
	need(&bad, "reason", ch.Reason, "say what was looked at and found")
	tooLong(&bad, "reason", ch.Reason, 4000)
	if err := bad.Err(); err != nil {
		return err
	}
	s.SetReviews = append(s.SetReviews, SetReview{ID: c.NewID(), ProgramID: s.Program.ID, PourID: p.ID, BatchNo: ch.Batch, Kind: ch.KindOf, Curing: ch.Curing, Duty: duty,
		NominalDays: ch.NominalDays, Verdict: ch.Verdict, Reason: ch.Reason, Digest: SetDigest(set), ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), At: c.Now})
	return s.settleTests(c)
}

// SetSpecimenPlan puts another plan of the specimens to be made in place of the
// program's. It concerns no end: what was cast stays as it was made.
type SetSpecimenPlan struct {
	Sets   []PlannedSetIn `json:"sets"`
	Source string         `json:"source"`
	// From is the digest of the plan that was looked at; a plan that somebody else put in
	// its place meanwhile is not overwritten. Empty: whatever is in force.
	From string `json:"from,omitempty"`
}

// PlannedSetIn is one line of a plan as it comes in.
type PlannedSetIn struct {
	Kind        string  `json:"kind"`
	Curing      string  `json:"curing"`
	Duty        string  `json:"duty"`
	NominalDays float64 `json:"nominal_days"`
	Count       int     `json:"count"`
	Per         string  `json:"per"` // casting or batch
	Purpose     string  `json:"purpose"`
}

// Kind implements Change.
func (SetSpecimenPlan) Kind() string { return "plan.specimens" }

// Reach implements Reaching.
func (SetSpecimenPlan) Reach() Reach { return Reach{Alone: true} }

// Apply implements Change. An empty list goes back to the default plan.
func (ch SetSpecimenPlan) Apply(s *Scope, c Context) error {
	if ch.From != "" && ch.From != s.PlanDigest() {
		return fault.New(fault.Conflict, "the plan of specimens was changed by somebody else since this form was opened")
	}
	var bad fault.Invalid
	if len(ch.Sets) > 40 {
		bad.Add("sets", "", "a plan has at most 40 lines, got %d", len(ch.Sets))
	}
	sourced(&bad, ch.Source, "say where the plan is from: document and clause")
	acceptance := 0
	for i, x := range ch.Sets {
		f := fmt.Sprintf("sets-%d", i+1)
		SpecimenSet{Batch: 1, Kind: x.Kind, Curing: x.Curing, Duty: x.Duty, NominalDays: x.NominalDays, Count: x.Count, Purpose: x.Purpose}.validate(&bad, f, 1)
		if x.Per != "casting" && x.Per != "batch" {
			bad.Add(f+"-per", x.Per, "must be casting or batch")
		}
		if x.Purpose == "" {
			bad.Add(f+"-purpose", "", "say what the set is for")
		}
		if x.Purpose == string(uhpc.ForAcceptance) {
			acceptance++
			if x.Curing != string(uhpc.StandardCure) {
				bad.Add(f+"-curing", x.Curing, "acceptance is by standard-cured specimens; field-cured ones are for release (ASTM C31, scope)")
			}
		}
	}
	if err := bad.Err(); err != nil {
		return err
	}
	for i, x := range s.SpecimenPlan {
		x.Retired = true
		s.SpecimenPlan[i] = x
	}
	for i, x := range ch.Sets {
		s.SpecimenPlan = append(s.SpecimenPlan, PlannedSet{ID: c.NewID(), ProgramID: s.Program.ID, Ord: i + 1, Kind: x.Kind, Curing: x.Curing, Duty: SpecimenSet{Duty: x.Duty}.duty(),
			NominalDays: x.NominalDays, Count: x.Count, Per: x.Per, Purpose: x.Purpose, Source: ch.Source, SetBy: c.Actor.ID, SetByName: c.Actor.Name, SetAt: c.Now})
	}
	return nil
}

// Plan is what is to be made of a casting, in order, and whether it is the default
// because nobody entered the contract's.
func (s *Scope) Plan() (plan []PlannedSet, isDefault bool) {
	for _, x := range s.SpecimenPlan {
		if !x.Retired {
			plan = append(plan, x)
		}
	}
	if len(plan) > 0 {
		slices.SortFunc(plan, func(a, b PlannedSet) int { return a.Ord - b.Ord })
		return plan, false
	}
	for i, x := range uhpc.DefaultPlan() {
		per := "casting"
		if x.PerBatch {
			per = "batch"
		}
		plan = append(plan, PlannedSet{ProgramID: s.Program.ID, Ord: i + 1, Kind: string(x.Kind), Curing: string(x.Cure), Duty: string(x.Duty), NominalDays: x.NominalDays,
			Count: x.Count, Per: per, Purpose: string(x.Purpose), Source: "default, not from the contract"})
	}
	return plan, true
}

// PlanDigest is the digest of the plan in force.
func (s *Scope) PlanDigest() string {
	plan, isDefault := s.Plan()
	if isDefault {
		return digestOf("default")
	}
	return digestOf(plan)
}

// PlannedFor is what the plan asks to be made of one batch, where the sets that are
// made once a casting come from the batch named for them.
func PlannedFor(plan []PlannedSet, batch int, ofCasting bool) []SpecimenSet {
	var out []SpecimenSet
	for _, x := range plan {
		if x.Per == "batch" || ofCasting {
			out = append(out, SpecimenSet{Batch: batch, Kind: x.Kind, Curing: x.Curing, Duty: x.Duty, NominalDays: x.NominalDays, Count: x.Count, Purpose: x.Purpose})
		}
	}
	return out
}
