// Package planning is what the manager and the superintendent plan with: the forecast, the plan of one window, the weeks
// ahead.
package planning

import (
	"endcast/views/settings"
	"endcast/views/ui"
)

// Forecast is when the program will be done.
type Forecast struct {
	Lead, Verdict string
	Mark          ui.Mark
	Dates         []FinishDate
	Months        []FinishMonth
	Kinds         []ForecastKind
	Ifs           []WhatIf
	Outside       string
	Action        string
	May           bool
	Window        ui.Field
	Reason        ui.Field
	Assumptions   []string
	Method, Basis string
	settings.Form
}

// FinishDate is one line of dates.
type FinishDate struct{ Label, Plain, If string }

// FinishMonth is one bar.
type FinishMonth struct {
	Name, Share, By, Due string
	Bar                  int // percent of the longest
}

// ForecastKind is one kind of access.
type ForecastKind struct {
	Name, Href, Anchor, EndsHref, Ends, Left, Windows, Lost, Mean, Every, Naive, P50, P85, Latest, Said, Sample string

	Past []PastWindow
}

// PastWindow is one window behind.
type PastWindow struct {
	Starts, Href, Steps, Why, Out string
	State                         ui.Mark
}

// WhatIf is the question for one kind.
type WhatIf struct {
	Kind           string
	Windows, Yield ui.Field
}

// Setup is what windows are planned with: kinds of access, crews, what steps take, what is on hand.
type Setup struct {
	Action string
	May    bool
	Parts  []SetupPart
	Open   *SetupForm // the one form that is open; nil for none
}

// SetupPart is one list of the setup.
type SetupPart struct {
	Anchor, Title, Lead, Empty string
	Columns                    []ui.Column
	Rows                       []SetupRow
	Add                        string // address of the form for a new one, empty where none is added
	AddLabel                   string
}

// SetupRow is one line of a list; the first cell is its name.
type SetupRow struct {
	Cells   []string
	Edit    string
	Retired bool
}

// SetupForm is the form of one line.
type SetupForm struct {
	Title, Part, Of, Cancel string
	Fields                  []ui.Field
	Retire                  bool // offers the box
	Retired                 bool
	settings.Form
}
