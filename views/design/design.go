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
	// Unfolded shows them all the same: one of them has a mark to look at.
	Unfolded bool
}

// Check is one check.
type Check struct {
	Name, Against, Ratio string
	Mark                 ui.Mark
	Unmet                []string
	Clause               string
	Governs              bool
	Key                  string     // of the check
	ID                   string     // of the row, where questions may be pinned to it
	Marks                []LineMark // questions that are
}

// LineMark is a question that is pinned to a line of the sheet.
type LineMark struct {
	Label, Href string
	Mark        ui.Mark
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

// Moved is what a design stands on as it was at a moment, beside what is known
// now.
type Moved struct {
	Since    string // "the approval of 2030-05-02 08:00"
	Text     string // in a sentence
	Facts    []Changed
	Readings []Changed // the worst
	Rest     []Changed // further ones, folded away
	More     string    // line over the folded ones
	Was, Is  string    // heads of the columns: "Survey 1", "Survey 2"
}

// Empty reports whether nothing can be shown to have moved.
func (m Moved) Empty() bool { return len(m.Facts) == 0 && len(m.Readings) == 0 }

// Digest is what a revision was decided on, and whether it is so still.
type Digest struct {
	Label, When, Value string
	Mark               ui.Mark
}

// Review is one decision on a revision.
type Review struct {
	Decision                         ui.Mark
	By, When, Meaning, Reasons, Sign string
}

// Revision is one revision as it stands on record.
type Revision struct {
	Head     Head
	Moved    *Moved // what an approved revision no longer agrees with
	NextHref string // where it is reviewed or confirmed
	Next     string
	Figure   templ.Component
	Over     string // what the drawing shows the design over
	Cautions []string
	Checks   Checks
	Source   string // where the checks come from
	Facts    []Fact
	Note     string
	Studs    []StudRow
	Length   string
	Digests  []Digest
	Reviews  []Review
	Others   []Other
}

// StudRow is one stud to read.
type StudRow struct{ Mark, Row, Col, X, Z, Face, Collar string }

// Other is another revision of the end.
type Other struct {
	Label, Href string
	Mark        ui.Mark
	Current     bool
}
