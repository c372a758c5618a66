package casting

import (
	"endcast/views/sheet"
	"endcast/views/ui"
)

// Quantity is what a casting takes, before a bag is opened.
type Quantity struct {
	Action, Self, Sheet, Open string
	Program, Zone             string
	Choices                   []EndChoice // ID is the name of the end
	Windows                   ui.Field
	Unknown, Refused          string
	Standings                 []ui.Standing // of the approvals of the ends
	Ready                     bool          // there are numbers
	Names                     []string
	Facts, Times              []Fact
	Forms                     []FormRow
	Masses                    []MassRow
	Settings                  []Setting
	Specimens                 []PlanRow
	PlanFrom                  string
	Findings                  []CheckLine
	Sheets                    []Working
	Window, LastBatch         string
	Batches                   []string // their numbers, for the batch sheet
}

// Fact is a name and a value.
type Fact struct{ Name, Value string }

// FormRow is the form of one end and what the material does to it.
type FormRow struct {
	Name, Href, Reading, Revision string
	State, FormCheck              ui.Mark
	Net, Size, Plan               string
	Rise, RiseNote                string
	Head, Foot, Side, Third       string
	Uplift                        string
}

// MassRow is one part of the mix.
type MassRow struct{ Name, Batch, All, Href string }

// Setting is a value of the design basis with whose it is.
type Setting struct {
	Name, Value, From, Href string
	Mark                    ui.Mark
}

// PlanRow is one set of specimens to be made.
type PlanRow struct{ Count, Kind, Curing, Age, Per, Purpose, Due string }

// Working is a part of the sheet behind the numbers.
type Working struct {
	Title string
	Lines []sheet.Line
}
