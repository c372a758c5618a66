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
