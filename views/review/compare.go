package review

import (
	"endcast/views/design"
	"endcast/views/drawing"
	"endcast/views/ui"
)

// Compare is two revisions of one end over each other.
type Compare struct {
	Reading         string
	Links           []ui.Crumb
	Action          string
	Was, Is         ui.Field // which two
	Empty           string   // why nothing is compared
	HeadWas, HeadIs string   // heads of the columns
	Sides           []design.Fact
	Said            string // the outcome in one sentence
	Figure          drawing.EndData
	Layout          []design.Changed
	Results         []design.Changed
	Checks          []CheckChange
	Alike           string
	Inputs          []design.Changed
	Steel           design.Moved
	Moved           []Ruled // what moved under the approval, by the owner's rules
}

// CheckChange is a check whose value or result differs.
type CheckChange struct {
	Name, By string
	Was, Is  CheckSide
}

// CheckSide is a check as one of two revisions has it. Value and Limit are empty where
// they were not kept.
type CheckSide struct {
	Ratio, Value, Limit string
	Mark                ui.Mark
}

// Ruled is one thing that moved, with what it means.
type Ruled struct {
	What, Was, Is, Why string
	Means              ui.Mark
}
