// Package ends shows lists of girder ends: sorted, filtered and paged by the
// store, so that a list is as quick with a hundred thousand ends as with fifty.
package ends

import "endcast/views/ui"

// Row is one end of a list, ready to print.
type Row struct {
	Name, Href                       string
	Support, Section, Access         string
	Step                             string
	Blocked                          ui.Mark
	Actor, Since                     string
	Loss, Capacity, Repaired, Demand string
	Condition                        ui.Mark
	Design                           ui.Mark
	OutOfDate                        bool
	NCR                              string
}

// Filter is what the form above a list holds.
type Filter struct {
	Query, Step, Track, Reason, Support, Access, Show, Order string
	Steps, Tracks, Supports, Accesses, Shows, Orders         []ui.Option
}

// List is what the page shows.
type List struct {
	Action  string
	Filter  Filter
	Active  []Narrowing // what narrows the list, each with a way to drop it
	Columns []ui.Column
	Rows    []Row
	Pager   ui.PagerView
	Force   string // unit of forces
}

// Narrowing is one condition in force.
type Narrowing struct{ Label, Drop string }
