// Package casting shows pours, the form that records one, and the laboratory's
// list of breaks. Components get texts that are ready to print.
package casting

import (
	"endcast/internal/domain/fault"
	"endcast/views/tablet"
	"endcast/views/ui"
)

// Link is a text that leads somewhere.
type Link struct{ Text, Href string }

// List is the page of a program's pours.
type List struct {
	New        string // where to record one; "" for somebody who may not
	Quantities string // what one takes
	Rows       []ListRow
	Pager      ui.PagerView
	Zone       string
	Curve      string // address of the strength curve
	Open       string // where to open one
	Limits     string
	Laboratory string

	Action      string // address of the list, for the form that narrows it
	Show, Order ui.Field
	Filtered    bool
	Bounded     string // what was not looked through
}

// Need is one thing that a pour waits for, with where it is done.
type Need struct {
	Mark ui.Mark
	Href string // empty where nothing is waited for
}

// ListRow is one pour of the list.
type ListRow struct {
	Number, Href   string
	When, Span     string
	Night          bool
	Ends           []Link
	Batches        string
	Refused        string
	Outside        string // how many batches lie outside a limit
	Flow, Unit     string
	Strengths      []Strength
	Volume         string
	SpecimensBroke string
	Needs          []Need // what it still waits for
	Releases       []ReleaseMark
}

// Strength is what a set of specimens says against its limit.
type Strength struct {
	Age, Value, Against string
	Mark                ui.Mark
	Href                string // page of the gate that hangs on it, if one does
}

// New is the page on which a pour is recorded.
type New struct {
	Action, Preview string
	Entry           string
	Bad             *fault.Invalid
	Refused         string // why the record does not take it now
	StepName        string
	Zone            string
	EndsWhy         string
	Ready, Others   []EndChoice
	Query, Found    string
	Started, Ended  ui.Field
	Note            ui.Field
	BatchesWhy      string
	Batches         []BatchRow
	Sets            []SetRow
	Checks          Checks
}

// EndChoice is an end that may have been cast.
type EndChoice struct {
	ID, Name, Reading, Step string
	On                      bool
	Volume                  ui.Field
	Release                 ui.Mark // whether it is released for casting
	ReleaseHref             string
}

// BatchRow is one row of batches in the form.
type BatchRow struct {
	Number                               string
	Mixed, Placed, Flow, MixTemp, AirTmp ui.Field
	RefusedName                          string
	Refused                              bool
	Why                                  ui.Field
}

// SetRow is one row of specimens in the form.
type SetRow struct {
	Number                                 string
	Batch, Kind, Curing, Duty, Days, Count ui.Field
	Purpose                                ui.Field
}

// Checks is what the design basis says of a pour as far as it is typed.
type Checks struct {
	Sentence ui.Mark
	Lines    []CheckLine
	Due      []DueLine
	Faults   []fault.Field
}

// CheckLine is one finding in words, with where its limit comes from.
type CheckLine struct {
	Mark              ui.Mark
	Where, Text, From string
}

// DueLine is an age at which specimens come due.
type DueLine struct {
	What, When string
	Mark       ui.Mark
}

// Pour is the page of one pour.
type Pour struct {
	Capacities                   []CapacityRow
	Number, When, By, Note, Zone string
	Night                        bool
	Card, Laboratory, Curing     string
	Live                         string // where its batches come in, while it is open
	Open                         bool
	Facts                        []Fact // window, weather, head, last batch by
	Ends                         []EndRow
	Batches                      []Batch
	Gaps                         []CheckLine
	Chart                        *Chart
	Sets                         []Set
	Due                          []DueLine
	Specimens                    []Specimen
	Photos                       []Photo
	PhotoHint                    []Link
	FlowUnit, TempUnit           string
	StressUnit, ForceUnit        string
	Differ                       bool
	Releases                     []ReleaseMark
}

// EndRow is an end of a pour and what its panel has reached.
type EndRow struct {
	Name, Href, Reading string
	Volume, Designed    string
	Off                 ui.Mark
	Reached             []Strength
}

// CapacityRow is what one end of a pour carries now.
type CapacityRow struct {
	Name, Href             string
	Demand, Steel          string
	ProvenStrength, Proven string
	Expected, Promised     string
	Band                   []string
	Mark                   ui.Mark // what is proven against the demand; empty where no demand is on record
}

// Batch is one mix of a pour.
type Batch struct {
	Number, Mixed, Placed, Minutes string
	Flow, MixTemp, AirTemp         string
	Mark                           ui.Mark
	Findings                       []CheckLine
	Why                            string
	Href, Decided, Corrected       string
	Masses, Ends                   string
	Facts                          []Fact // all that is on record of it
}

// Set is one set of specimens with its statistics.
type Set struct {
	Batch, Kind, Curing, Duty, Age string
	Counted, Mean, Range           string
	MeanBroken, Least              string
	Mark                           ui.Mark
	Against, Why                   string
}

// Specimen is one specimen of a pour.
type Specimen struct {
	Mark, Batch, Kind, Curing, Nominal, Due string
	Broken, Age, Load, Raw, Factor, Value   string
	FactorFrom, Tag                         string
	State                                   ui.Mark
	Why                                     []string
	TestedBy                                string
}

// Photo is a picture taken at the casting.
type Photo struct{ Src, Thumb, Alt, Caption, When string }

// Limit is one limit of the design basis for the card.
type Limit struct{ Name, Value, From string }

// Card is what the printed sheet of a pour shows. An empty text is a box for the pen.
type Card struct {
	Program, Number                          string
	Back, Labels                             string // addresses
	Code                                     tablet.Code
	Facts                                    []Fact
	Ends                                     []CardEnd
	Standings                                []ui.Standing // of the approvals of the ends
	Batches                                  []CardBatch
	Blank                                    []string // numbers of batches that are still to come
	Gaps                                     []CheckLine
	Sets                                     []CardSet
	Limits                                   []Setting
	FlowUnit, TempUnit, MassUnit, StressUnit string
	Zone, Release                            string
	Open                                     bool
}

// CardEnd is one form of the card.
type CardEnd struct {
	Name, Reading                string
	Revision, Panel, Thick, Form string
	Head, Foot, Rise             string
	Designed, Volume, Filled     string
	Cured, CureEnd               string
	Gates                        []CardGate
	Open                         []string // numbers of nonconformances
}

// CardGate is a gate at an end.
type CardGate struct{ Name, Limit, Decided string }

// CardBatch is one batch of the card.
type CardBatch struct {
	Number                                     string
	Bags, Premix, Water, Fiber, Admixture, Ice string
	Lot                                        string
	MixFrom, MixTo, PlaceFrom, PlaceTo         string
	Flow, Mix, Air, Steel                      string
	Ends                                       string
	Mark                                       ui.Mark
	Refused                                    bool
	Words                                      []string
}

// CardSet is one set of specimens of the card.
type CardSet struct {
	Marks, Batch, Kind, Curing, For, Age, Due, Demolded, Result string
}

// Label is one sticker for a mold.
type Label struct {
	Mark, Program, Ends, Cast, Kind, Curing, Age, Due, Pour string
}

// Laboratory is the page of breaks.
type Laboratory struct {
	May          bool
	Action       string
	Paste        Paste
	Bad          *fault.Invalid
	Refused      *Refused
	Groups       []Group
	Recent       []Specimen
	Today, Zone  string
	Widths, Load string // units
	Stress       string
	Later        string
	Links        []Link
}

// Refused is a break that the record does not take, with what it holds instead.
type Refused struct {
	Message       string
	Typed, Stored []Pair
}

// Pair is a name and a value.
type Pair struct{ Name, Value string }

// Group is the sets of one part of the list.
type Group struct {
	ID, Title, Lead string
	Sets            []DueSet
}

// DueSet is the specimens that come due together.
type DueSet struct {
	ID, Title, Pour, Href string
	Ends                  []Link
	Due, Window, Note     string
	AgeNow, Suggest       string
	Report                string
	Mark                  ui.Mark
	Rows                  []DueRow
}

// DueRow is one specimen with the boxes for its break.
type DueRow struct {
	Mark, Entry, Form string
	Href              string
	Cube              bool
	Inputs            []Input
	Fractures         Input
	GroundName        string
	Ground            bool
	Reasons           []fault.Field
}

// Input is one box of a row.
type Input struct {
	ID, Name, Label, Value, Unit, Type, Mode string
	Bad                                      bool
	Options                                  []ui.Option
}

// Paste is a table of breaks as text, and what was read in it.
type Paste struct {
	Action, Confirm   string
	Entry, Text, Why  string
	Columns, Example  string
	Head              []string
	Rows              []PasteRow
	Good, Wrong       int
	Ignored           string
	Laboratory        string
	Unread            string
	LoadUnit, Lengths string
	Zone              string
	Stress            string
}

// PasteRow is one row as it was read.
type PasteRow struct {
	Line, Mark, Broken, Nominal, Actual string
	Timing                              ui.Mark
	Load, Raw, Value                    string
	State                               ui.Mark
	Why                                 []string
	Problems                            []PasteProblem
}

// PasteProblem is one value that cannot be taken.
type PasteProblem struct {
	Column, Typed, Reason string
	Near                  []string
}
