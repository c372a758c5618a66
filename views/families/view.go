// Package families shows layouts proposed for many ends at once, with like ends
// joined so that they share one layout and one form.
package families

import (
	"github.com/a-h/templ"

	"endcast/internal/domain/fault"
	"endcast/views/ui"
)

// View is a plan of families and what it was asked for.
type View struct {
	Action, Prices string
	Fields         []ui.Field
	Typed          map[string]string
	All            bool
	Bad            *fault.Invalid
	Problem        string

	Ready    bool
	Plan     string // names what the plan follows from
	Finding  string
	Left     string
	Bills    []Bill
	Families []Family
	Unplaced []Unplaced
	MayDraft bool
}

// Bill is what some ends take.
type Bill struct {
	Name, Ends, Studs, Volume, Layouts, Forms, Price string
}

// Family is ends that share one layout.
type Family struct {
	Name, Title, Form, Saves, Draft string
	Drawing                         templ.Component
	Members                         []Member
	Drafts                          int // ends that may take a draft
}

// Member is one end of a family.
type Member struct {
	Href, Name, Demand, Capacity, Ratio, Governs string
	Own, More, Volume, Price, Stands             string
}

// Unplaced is an end without a layout.
type Unplaced struct {
	Href, Name, Reason, Nearest string
}
