package repair

import (
	"slices"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/sequence"
)

// Actor is the person who makes a change, in the role in which it is made.
type Actor struct {
	ID   string
	Name string
	Role sequence.Role
	// Through is the name of the token by which a program acts for the person; empty for
	// the person at a page.
	Through string `json:",omitempty"`
}

// Context is what a change may know of the world: who, when, and a source of
// new identifiers. Captured is when the thing was seen or done, by the clock of
// the device; Now is when it arrived.
type Context struct {
	Actor    Actor
	Now      time.Time
	Captured time.Time
	NewID    func() string
}

// StepRow is one step of the program's sequence as stored.
type StepRow struct {
	ID           string                 `db:"id" json:"id"`
	ProgramID    string                 `db:"program_id" json:"program_id"`
	Ord          int                    `db:"ord" json:"ord"`
	Code         string                 `db:"code" json:"code"`
	Name         string                 `db:"name" json:"name"`
	Hold         bool                   `db:"hold" json:"hold"`
	Performers   []string               `db:"performers" json:"performers"`
	Releasers    []string               `db:"releasers" json:"releasers"`
	AppliesToAll bool                   `db:"applies_to_all" json:"applies_to_all"`
	WindowKind   string                 `db:"window_kind" json:"window_kind"`
	Requires     []sequence.Requirement `db:"requires" json:"requires"`
	Retired      bool                   `db:"retired" json:"retired"`
	AddedAt      *time.Time             `db:"added_at" json:"added_at"`
	HoldSince    *time.Time             `db:"hold_since" json:"hold_since"`
}

// Record is one girder end with everything known of it.
type Record struct {
	End             End
	Surveys         []Survey
	Readings        []Reading
	Holes           []Hole
	Designs         []Design
	Studs           []Stud
	Reviews         []Review
	ReviewNotes     []ReviewNote
	Questions       []ReviewQuestion
	Answers         []ReviewAnswer
	StepRecords     []StepRecord
	Cleanings       []Cleaning
	Collars         []Collar
	Inspections     []Inspection
	Nonconformances []Nonconformance
	Photos          []Photo
	TestStuds       []TestStud
	FormChecks      []FormCheck
	DeckCores       []DeckCore

	Gates    []GateDecision
	Waivers  []Waiver
	Ticks    []StepTick
	Releases []ReleaseDecision

	Sensors     []Sensor
	Recordings  []Recording
	StrainSetup []StrainSetup // none or one
	Verdicts    []StrainVerdict

	EndDemands []EndDemand // none where the factored total is by hand, else one

	// Derived by Recompute.
	State   []State // none for an end that was never computed, else one
	Results []Result
	Outlook []Outlook  // as State
	Tally   []EndTally // as State
}

// Scope is what one change sees and may alter: the program, and the ends it
// names with the pours that reached them.
type Scope struct {
	Program   Program
	Settings  []BasisSetting
	Steps     []StepRow
	Supports  []Support
	Spans     []Span
	Sections  []Section
	Windows   []Window
	Ends      []*Record
	Pours     []Pour
	PourEnds  []PourEnd
	Batches   []Batch
	Specimens []Specimen

	// SpanDemands and LoadParts are those of the spans of Ends, or of all spans in a
	// scope without ends.
	SpanDemands []SpanDemand
	LoadParts   []LoadPart
	Trucks      []Truck
	Procedures  []Procedure
	Assumptions []Assumptions // none or one

	// The castings of mock-ups are among Pours, whatever the ends.
	Mockups         []Mockup
	MockupDecisions []MockupDecision
	SpecimenPlan    []PlannedSet
	LoggerMaps      []LoggerMap

	// Shifts is brought only for changes that want it.
	Shifts     Shifts
	BatchEnds  []BatchEnd
	SetReviews []SetReview
	CuringLogs []CuringLog
	// Tests are all tests of the program, for a change that wants them; else none.
	Tests []StrengthTest
	// HandReadings are those on record of the one log that a change wants to add to.
	HandReadings []CuringReading

	// Documents and their Signatures are those that a change wants, and States those of all
	// ends; none otherwise. NextDocument is the next free number, and EntriesSince how many
	// entries of the journal bear on the end since the one that the document names.
	Documents    []Document
	Signatures   []Signature
	States       []State
	NextDocument int
	EntriesSince int

	// NextPour and NextNonconformance are the next free numbers of the program.
	NextPour, NextNonconformance int
	// Blobs are pictures that the change brought with it, RawFiles files kept as they
	// came, and Readings the temperatures of a log.
	Blobs    []Blob
	RawFiles []RawFile
	Readings *Readings
	// Stored are the samples of recordings that the change puts on record.
	Stored []StoredSamples

	basis    basis.Basis
	basisSet bool
	steps    []sequence.Step
	vehicles []demand.Truck
}

// One returns the single end of the scope.
func (s *Scope) One() (*Record, error) {
	if len(s.Ends) != 1 {
		return nil, fault.New(fault.Malformed, "this entry concerns one end, got %d", len(s.Ends))
	}
	return s.Ends[0], nil
}

// Basis is the program's design basis: defaults with the program's settings.
// A stored setting that the program no longer knows is left out.
func (s *Scope) Basis() basis.Basis {
	if !s.basisSet {
		b := basis.Basis{}
		for _, c := range s.Settings {
			if nb, err := b.With(basis.Key(c.Key), c.Value); err == nil {
				b = nb
			}
		}
		s.basis, s.basisSet = b, true
	}
	return s.basis
}

// Sequence is the program's steps in order, retired ones included.
func (s *Scope) Sequence() []sequence.Step {
	if s.steps == nil {
		for _, r := range s.Steps {
			s.steps = append(s.steps, r.Step())
		}
		s.steps = sequence.Ordered(s.steps)
	}
	return s.steps
}

// StepsForChosen are the codes of the steps in force that are meant for chosen
// ends.
func (s *Scope) StepsForChosen() []string {
	out := []string{}
	for _, st := range s.Sequence() {
		if !st.Retired && !st.AppliesToAll {
			out = append(out, st.Code)
		}
	}
	return out
}

// Changed forgets what was derived from settings, steps or vehicles after they moved.
func (s *Scope) Changed() { s.basisSet, s.steps, s.vehicles = false, nil, nil }

// Step turns the stored row into the step that package sequence reads.
func (r StepRow) Step() sequence.Step {
	st := sequence.Step{ID: r.ID, Code: r.Code, Order: r.Ord, Name: r.Name, Hold: r.Hold,
		Requires: r.Requires, AppliesToAll: r.AppliesToAll, Window: r.WindowKind, Retired: r.Retired}
	for _, p := range r.Performers {
		st.Performer = append(st.Performer, sequence.Role(p))
	}
	for _, p := range r.Releasers {
		st.Releaser = append(st.Releaser, sequence.Role(p))
	}
	if r.AddedAt != nil {
		st.Added = *r.AddedAt
	}
	if r.HoldSince != nil {
		st.HoldSince = *r.HoldSince
	}
	return st
}

// RowOfStep turns a step into its row.
func RowOfStep(programID string, st sequence.Step) StepRow {
	r := StepRow{ID: st.ID, ProgramID: programID, Ord: st.Order, Code: st.Code, Name: st.Name, Hold: st.Hold,
		Performers: []string{}, Releasers: []string{}, AppliesToAll: st.AppliesToAll, WindowKind: st.Window,
		Requires: st.Requires, Retired: st.Retired}
	if r.Requires == nil {
		r.Requires = []sequence.Requirement{}
	}
	for _, p := range st.Performer {
		r.Performers = append(r.Performers, string(p))
	}
	for _, p := range st.Releaser {
		r.Releasers = append(r.Releasers, string(p))
	}
	if !st.Added.IsZero() {
		t := st.Added
		r.AddedAt = &t
	}
	if !st.HoldSince.IsZero() {
		t := st.HoldSince
		r.HoldSince = &t
	}
	return r
}

// Section returns the section row of an end.
func (s *Scope) Section(id string) (Section, bool) {
	i := slices.IndexFunc(s.Sections, func(x Section) bool { return x.ID == id })
	if i < 0 {
		return Section{}, false
	}
	return s.Sections[i], true
}

// Support returns a support row by its identifier.
func (s *Scope) Support(id string) (Support, bool) {
	i := slices.IndexFunc(s.Supports, func(x Support) bool { return x.ID == id })
	if i < 0 {
		return Support{}, false
	}
	return s.Supports[i], true
}

// LatestSurvey is the survey with the highest number, nil without one.
func (r *Record) LatestSurvey() *Survey {
	var out *Survey
	for i := range r.Surveys {
		if out == nil || r.Surveys[i].Number > out.Number {
			out = &r.Surveys[i]
		}
	}
	return out
}

// SurveyOf returns the survey row of an identifier, nil when there is none.
func (r *Record) SurveyOf(id string) *Survey {
	for i := range r.Surveys {
		if r.Surveys[i].ID == id {
			return &r.Surveys[i]
		}
	}
	return nil
}

// LatestDesign is the highest revision, nil without one.
func (r *Record) LatestDesign() *Design {
	var out *Design
	for i := range r.Designs {
		if out == nil || r.Designs[i].Revision > out.Revision {
			out = &r.Designs[i]
		}
	}
	return out
}

// DesignInForce is the highest approved revision; without one, the latest.
func (r *Record) DesignInForce() *Design {
	var out *Design
	for i := range r.Designs {
		d := &r.Designs[i]
		if (d.State == DesignApproved || d.State == DesignApprovedNoted) && (out == nil || d.Revision > out.Revision) {
			out = d
		}
	}
	if out == nil {
		return r.LatestDesign()
	}
	return out
}

// StudsOf returns the studs that a revision has now, by mark.
func (r *Record) StudsOf(designID string) []Stud {
	var out []Stud
	for _, s := range r.Studs {
		if s.DesignID == designID && !s.Removed {
			out = append(out, s)
		}
	}
	slices.SortFunc(out, func(a, b Stud) int {
		if a.Face != b.Face {
			if a.Face < b.Face {
				return -1
			}
			return 1
		}
		if a.Row != b.Row {
			return a.Row - b.Row
		}
		return a.Col - b.Col
	})
	return out
}

// States of a design revision.
const (
	DesignDraft         = "draft"
	DesignSubmitted     = "submitted"
	DesignApproved      = "approved"
	DesignApprovedNoted = "approved_as_noted"
	DesignReturned      = "returned"
	DesignSuperseded    = "superseded"
)

// Clone copies a scope so deeply that a change applied to the copy leaves the
// original as it was; rows are values and are never changed in place inside.
func (s *Scope) Clone() *Scope {
	c := *s
	c.Settings, c.Steps = slices.Clone(s.Settings), slices.Clone(s.Steps)
	c.Supports, c.Spans, c.Sections = slices.Clone(s.Supports), slices.Clone(s.Spans), slices.Clone(s.Sections)
	c.Windows = slices.Clone(s.Windows)
	c.Pours, c.PourEnds = slices.Clone(s.Pours), slices.Clone(s.PourEnds)
	c.Batches, c.Specimens = slices.Clone(s.Batches), slices.Clone(s.Specimens)
	c.SpanDemands, c.LoadParts, c.Trucks = slices.Clone(s.SpanDemands), slices.Clone(s.LoadParts), slices.Clone(s.Trucks)
	c.Procedures, c.Assumptions = slices.Clone(s.Procedures), slices.Clone(s.Assumptions)
	c.Mockups, c.MockupDecisions = slices.Clone(s.Mockups), slices.Clone(s.MockupDecisions)
	c.Shifts = s.Shifts.clone()
	c.SpecimenPlan, c.LoggerMaps = slices.Clone(s.SpecimenPlan), slices.Clone(s.LoggerMaps)
	c.BatchEnds, c.SetReviews = slices.Clone(s.BatchEnds), slices.Clone(s.SetReviews)
	c.CuringLogs, c.Tests = slices.Clone(s.CuringLogs), slices.Clone(s.Tests)
	c.Documents, c.Signatures = slices.Clone(s.Documents), slices.Clone(s.Signatures)
	c.Ends = make([]*Record, len(s.Ends))
	for i, e := range s.Ends {
		n := *e
		n.Surveys, n.Readings, n.Holes = slices.Clone(e.Surveys), slices.Clone(e.Readings), slices.Clone(e.Holes)
		n.Designs, n.Studs, n.Reviews = slices.Clone(e.Designs), slices.Clone(e.Studs), slices.Clone(e.Reviews)
		n.ReviewNotes, n.Questions, n.Answers = slices.Clone(e.ReviewNotes), slices.Clone(e.Questions), slices.Clone(e.Answers)
		n.StepRecords, n.Cleanings = slices.Clone(e.StepRecords), slices.Clone(e.Cleanings)
		n.Collars, n.Inspections = slices.Clone(e.Collars), slices.Clone(e.Inspections)
		n.Nonconformances, n.Photos = slices.Clone(e.Nonconformances), slices.Clone(e.Photos)
		n.Gates, n.Waivers = slices.Clone(e.Gates), slices.Clone(e.Waivers)
		n.Ticks, n.Releases = slices.Clone(e.Ticks), slices.Clone(e.Releases)
		n.TestStuds, n.FormChecks, n.DeckCores = slices.Clone(e.TestStuds), slices.Clone(e.FormChecks), slices.Clone(e.DeckCores)
		n.Sensors, n.Recordings = slices.Clone(e.Sensors), slices.Clone(e.Recordings)
		n.StrainSetup, n.Verdicts = slices.Clone(e.StrainSetup), slices.Clone(e.Verdicts)
		n.EndDemands, n.Outlook = slices.Clone(e.EndDemands), slices.Clone(e.Outlook)
		n.State, n.Results = slices.Clone(e.State), slices.Clone(e.Results)
		c.Ends[i] = &n
	}
	return &c
}

// Change is one thing that may be done. Apply alters the scope or refuses with a
// fault; it never does both.
type Change interface {
	// Kind names the change in the journal, for example "survey.record".
	Kind() string
	Apply(s *Scope, c Context) error
}

// Reach is which ends a change concerns, where that follows from the change and
// is not for an entry to name.
type Reach struct {
	Program bool   // every end of the program
	Span    string // every end of this span, by identifier
	// Alone is for a change of what the program shares that concerns no end: it
	// waits for all other edits of the program, and they for it.
	Alone bool
}

// Reaching is a Change that says itself what it reaches.
type Reaching interface {
	Change
	Reach() Reach
}

// Want is what a change reads beyond its ends.
type Want struct {
	// Marks are those of specimens and Pours numbers of castings: the store brings
	// every end that these castings served.
	Marks []string
	Pours []int
	// Tests: it also brings all strength tests of the program, and the ends of the
	// castings whose tests stand beside those of these.
	Tests bool
	// Shifts: it also brings what windows are planned with.
	Shifts bool
	// HandLog is the log whose readings on record the change adds to.
	HandLog string
	// Papers: the number of the next document, and how many entries of the journal bear on
	// the end after Since; with Document also that document, by its number, its signatures,
	// and the entries after the one that it names. States are those of all ends.
	Papers   bool
	Since    int64
	Document int
	States   bool
}

// Wanting is a Change that needs more of the record than the ends it is entered for.
type Wanting interface {
	Change
	Want() Want
}
