package casting

import (
	"endcast/internal/domain/fault"
	"endcast/views/settings"
	"endcast/views/ui"
)

// Limits is every limit that a casting is held to, and what is made of one.
type Limits struct {
	Basis    string // address of the whole design basis
	Sentence string // how many are defaults that nobody confirmed
	Groups   []settings.BasisGroup
	PlanFrom string
	IsOwn    bool         // the plan was entered, and is not the default
	Preview  *PlanPreview // by the plan in force
	Would    *PlanPreview // by the plan in the form; nil where none was previewed
	Form     *PlanForm    // nil for somebody who may not
	Log      []settings.LogLine
}

// PlanPreview is what a plan makes of a casting, batch by batch.
type PlanPreview struct {
	Title, Total string
	Rows         []PlannedRow
}

// PlannedRow is one set.
type PlannedRow struct {
	Batch, Count, Kind, Curing, Age, Purpose, Duty string
}

// PlanForm is the form of the plan.
type PlanForm struct {
	Action, Entry, From string
	Notice, Refused     string
	Bad                 *fault.Invalid
	Rows                []PlanLine
	Source, Batches     ui.Field
}

// PlanLine is one line of the form.
type PlanLine struct {
	Number string
	Boxes  []ui.Field
}
