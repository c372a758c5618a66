// Package design shows the repair of a girder end: the desk where a layout is
// drawn, and the sheet of one revision. Components take ready texts; what passes
// and what does not is decided elsewhere.
package design

import (
	"github.com/a-h/templ"

	"endcast/internal/domain/fault"
	"endcast/views/ui"
)

// Head is what stands over every page about a design.
type Head struct {
	Title   string // "Design of 2F-3"
	Reading string // "Pier 2, back face"
	State   ui.Mark
	Links   []ui.Crumb
}

// Desk is the page where a design is made.
type Desk struct {
	Head   Head
	Notice string // what saving will do to which revision
	Said   Said
	Live   Live
	Form   Form
	Tools  Tools
}

// Said is what the program has to say about what was sent.
type Said struct {
	Bad      *fault.Invalid
	Problem  string
	Done     string
	Conflict *Conflict
	NoLayout *NoLayout
}

// Conflict tells of an edit that somebody else made meanwhile.
type Conflict struct {
	Text        string // who, when
	Stored      string // name of what is stored now
	StoredHref  string
	Differences []Changed // between what is stored and what was typed
}

// Changed is one thing that differs between two designs.
type Changed struct {
	What, Was, Is, By string
	Mark              ui.Mark
}

// NoLayout is the reason why no layout could be proposed.
type NoLayout struct {
	Reason  string
	Nearest string // what the layout that comes nearest carries; "" when there is none
}

// Live is what follows from the design: drawn and computed anew at every preview.
type Live struct {
	Figure   templ.Component
	Checks   Checks
	Cautions []string
	Waits    []fault.Field // what must be mended before there are checks
	Spoken   string        // the outcome in one sentence, for a screen reader
}

// Checks is the outcome of an evaluation.
type Checks struct {
	Verdict   ui.Mark
	Capacity  string
	Demand    string
	Ratio     string
	Governing string
	Facts     []Fact
	Groups    []Group
	Notes     []string
	SheetHref string
}

// Fact is a labelled value.
type Fact struct{ Label, Value string }

// Group is checks of one kind: those to look at, and those that pass without
// needing a look.
type Group struct {
	Title  string
	Rows   []Check
	Folded []Check
	Summed string // line over the folded ones
}

// Check is one check.
type Check struct {
	Name, Against, Ratio string
	Mark                 ui.Mark
	Unmet                []string
	Clause               string
	Governs              bool
}

// Form is the fields of the desk, as typed.
type Form struct {
	ID                  string
	SaveHref            string
	PreviewHref         string
	SubmitHref          string // "" for somebody who may not submit
	Entry               string
	Version             int
	Materials, Panel    []ui.Field
	Pattern             []ui.Field
	Studs               []Stud
	Faces               []ui.Option
	Note                ui.Field
	Length              string // unit of lengths
	Nearest             bool   // offers the layout that comes nearest
	SubmitLabel         string
	SaveLabel           string
	Guarded             bool // something is typed that is not stored
	MoreStuds, StudsBad string
}

// Stud is one row of the table of studs.
type Stud struct {
	N                          string
	Mark, Row, Col, X, Z, Face string
	Reasons                    map[string]string // by column
}

// Tools is what scripts need to move studs in the drawing.
type Tools struct {
	Unit  string
	PerMM string // reader's unit in mm
	Steps []ui.Option
	Step  string
}
