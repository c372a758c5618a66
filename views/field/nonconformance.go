package field

import "endcast/views/ui"

// Raise is the form that raises a nonconformance at an end.
type Raise struct {
	Head Head
	Sent
	Action                          string
	Requirement, Found, Containment ui.Field
	Proposed                        ui.Field
	Stops                           []Stop
	Critical                        bool
	Photo                           ui.Field
	PhotoHint                       string
	At                              Moment
}

// Stop is a step that a nonconformance may stop.
type Stop struct {
	Code, Name string
	On         bool
}

// Nonconformances is one page of the nonconformances of a program.
type Nonconformances struct {
	Show   []Tab
	End    string // only of this end
	Action string
	Rows   []NonconformanceRow
	Pager  ui.PagerView
}

// Tab is one narrowing of a list.
type Tab struct {
	Label, Href string
	Current     bool
}

// NonconformanceRow is one line of the list.
type NonconformanceRow struct {
	Number, Href             string
	End, EndHref, Reading    string
	Requirement, Found       string
	State                    ui.Mark
	Critical                 bool
	Days, Acts, Raised, Stop string
}

// Nonconformance is the page of one.
type Nonconformance struct {
	Head     Head
	Number   string
	Critical bool
	Open     bool
	State    ui.Mark
	Acts     string
	Days     string
	Facts    []Fact
	Stale    *Stale
	Decide   *DecideForm // nil for those who may not
	Close    *CloseForm
	Why      string // why the reader may do nothing here
	Problem  string // why what was sent was refused
	Pictures []Picture
}

// Fact is one labelled text of a record, with who and when.
type Fact struct{ Label, Text, By string }

// Stale tells that somebody else changed the record after the form was opened.
type Stale struct{ By, At string }

// DecideForm is the decision on a nonconformance.
type DecideForm struct {
	Sent
	Action, Version     string
	Disposition         ui.Field
	Means               []Fact
	Instructions, Cause ui.Field
	Again               bool // a decision is on record already
}

// CloseForm ends a nonconformance.
type CloseForm struct {
	Sent
	Action, Version string
	Reinspection    ui.Field
	Cause           ui.Field // without a name where the decision tells it
}
