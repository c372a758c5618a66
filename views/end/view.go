// Package end shows one girder end: what it can carry, the design that mends it,
// where it stands in the sequence, and everything found and done there.
package end

import (
	"github.com/a-h/templ"

	"endcast/internal/domain/fault"
	"endcast/views/ui"
)

// View is what the page of an end shows. Texts are ready to print.
type View struct {
	Name    string // 2F-3
	Reading string // Pier 2, back face
	Alias   string

	Standing Standing
	Facts    []Fact
	Figure   templ.Component // the elevation; nil before there is anything to draw
	Bars     templ.Component // capacity against demand as bars; nil for none

	// Sections of package outlook; nil for none.
	Outlook, Share, Stages templ.Component

	Today *Today // while the panel hardens; nil before it is cast and once the end is closed

	Capacity []Capacity
	Checks   []CheckGroup
	Surveys  []Survey
	Design   *Design
	Steps    []Step
	Shared   StepShared

	Cleanings       []Cleaning
	Collars         *Collars
	Inspections     []Inspection
	ShiftChecks     []ShiftCheck
	Tablet          []TabletEntry // what tablets sent and somebody should look at
	Besides         []Beside      // surveys of two people at the same places
	Nonconformances []Nonconformance
	Pours           []Pour
	Photos          templ.Component // the list of package photo
	PhotosHref      string
	Policy          string  // what is done about metadata
	Upload          *Upload // nil where this person adds none

	SheetHref   string
	StrainHref  string
	HistoryHref string
	EditHref    string // "" where this person may not
	SurveyHref  string
	DesignHref  string
	Others      []Link // further pages of this end

	// Problem says what was wrong with something sent from this page.
	Problem string
}

// Link leads to another page.
type Link struct{ Label, Href string }

// Fact is one line of what is known of the end as built.
type Fact struct{ Label, Value, Note string }

// Standing is the short answer to "where is it, and what stops it".
type Standing struct {
	Mark     ui.Mark
	Step     string // name of the step that is next; "" when closed
	Since    string
	Next     string
	Progress string // "4 of 14 steps done"
	Blocks   []Block
	Closed   bool
}

// Block is one thing that stops the end, in words.
type Block struct {
	Mark   ui.Mark // the track
	Text   string
	Actor  string
	Since  string
	AnchID string // of the step that is stopped
	Href   string // where it is dealt with; "" where no page of its own is
	Link   string
}

// Capacity is one condition of the end against what it must carry.
type Capacity struct {
	Subject   string
	On        string // the survey or revision that it follows from
	Capacity  string
	Demand    string
	Ratio     string
	Verdict   ui.Mark
	Governing string
	Sheet     string // address of its part of the sheet
}

// CheckGroup is the checks of one condition.
type CheckGroup struct {
	ID, Subject string
	Open        bool
	Mark        ui.Mark
	Rows        []Check
}

// Check is one check as stored.
type Check struct {
	Name       string
	Demand     string
	Resistance string
	Ratio      string
	Verdict    ui.Mark
	Clause     string
	Tag        string
	Limits     []string // those that are not met
	Governs    bool
	Sheet      string
}

// Survey is one visit's findings in short.
type Survey struct {
	Number, Kind, When, By, Method, Readings, Holes string
	EditHref                                        string // "" unless it may be corrected
}

// Design is the revisions of the repair and what was decided about them.
type Design struct {
	OutOfDate string // what moved since the approval; "" while current
	Revisions []Revision
}

// Revision is one revision with its reviews.
type Revision struct {
	Number   string
	State    ui.Mark
	Layout   string // studs and panel in a line
	By, When string
	Digest   string
	Note     string
	Reviews  []Review
	InForce  bool
	Href     string // its own page; "" where there is none
	Review   *Link  // where it is decided on, for those who decide
}

// Review is one decision.
type Review struct {
	Decision ui.Mark
	Meaning  string
	Reasons  string
	By, Role string
	When     string
	Digest   string
}

// Step is one step of the sequence at this end.
type Step struct {
	ID, Code, Name string
	Order          string
	State          ui.Mark
	Current        bool
	Quiet          bool // nothing asked of this end: shown small
	Hold           bool
	Who            string // who completes, and who releases
	Records        []Record
	Blocks         []Block
	ToDo           []string
	Form           *StepForm // nil: nothing this person may do now
	Why            string    // why this person may not, where that helps
	Page           *Link     // the page on which the step is decided, nil where it has none
}

// Record is one dated act on a step.
type Record struct{ Kind, By, Role, When, Note, Ticks string }

// StepShared is what the forms of every step carry.
type StepShared struct {
	Action  string // the step's id follows
	Version string
	Zone    string
}

// StepForm is what a person may do with a step now.
type StepForm struct {
	Action  string
	Entry   string // "" draws a new one
	Ticks   []Tick
	Note    string
	At      string
	Needs   bool // a reason is needed for every act offered
	Acts    []Act
	Folded  bool // behind a fold: rarely wanted
	Problem string
}

// Tick is one line of a tick list.
type Tick struct {
	Text string
	On   bool // ticked on the form
	Done bool // ticked before
}

// Act is one button.
type Act struct{ Value, Label, Kind string }

// Cleaning is the grade reached in one zone.
type Cleaning struct{ Zone, Grade, When, By, Air, Note string }

// Collars sums up what was found at the studs of the design in force.
type Collars struct {
	Revision string
	Counts   []Count
	Missed   []Collar // those that do not count, and those with a note
}

// Count is a number of studs with one outcome.
type Count struct {
	Mark  ui.Mark
	Count string
}

// Collar is one finding at a stud.
type Collar struct{ Mark, Outcome, Detail, When, By string }

// Inspection is a finding that somebody signed for.
type Inspection struct {
	Subject, Note, By, When string
	Outcome                 ui.Mark
}

// TabletEntry is an entry of a tablet that was kept aside, taken with a remark, or made
// by a clock that was wrong.
type TabletEntry struct {
	What, By         string
	Told, Off, Right string // Off and Right are "" for a clock that was right
	Arrived, Remark  string
	Mark             ui.Mark
}

// Beside is a survey beside another of the same places by another person.
type Beside struct {
	Title, That, Says string
	Readings          int
	Rows              []BesideRow
}

// BesideRow is one place that both read.
type BesideRow struct {
	Place, Mine, That, Differs string
}

// ShiftCheck is one check of the shift as last recorded.
type ShiftCheck struct {
	Title, Href string
	Mark        ui.Mark
	Columns     []ui.Column
	Rows        []CheckRow
	Against     []string // what falls short
}

// CheckRow is one that counts: a welder's test, a face, a core.
type CheckRow struct {
	Title string
	Mark  ui.Mark
	Cells []string
}

// Nonconformance is one requirement that was not met.
type Nonconformance struct {
	Number, Requirement, Found, Containment string
	Proposed, Disposition, Decided          string
	Reinspection, Closed, Raised, Stops     string
	State                                   ui.Mark
	Critical                                bool
}

// Pour is one casting of this end.
type Pour struct {
	Number, When, Volume, Note string
	Href                       string
	Batches                    []Batch
	Sets                       []Set
}

// Batch is one mix.
type Batch struct {
	Number, Mixed, Placed, Flow, MixTemp, AirTemp string
	State                                         ui.Mark
	Why                                           string
}

// Set is the specimens of one batch, kind, curing and age.
type Set struct {
	Batch, Kind, Curing, Age string
	Broken                   string // "3 of 3"
	Raw, Mean                string // means over the valid ones
	Held                     string
	Due                      string
	Waiting                  bool
}

// Upload is the form that adds a picture.
type Upload struct {
	Action   string
	Entry    string
	Caption  string
	Subject  string
	At       string
	Face     string
	X, Z     string
	Unit     string
	Zone     string
	Subjects []ui.Option
	Bad      *fault.Invalid
	Problem  string
}
