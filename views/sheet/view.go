// Package sheet prints the calculation of a girder end as an engineer's own
// sheet: the answer first, then what it starts from, every formula with its
// numbers, every limit of the method, and what the method, the design basis and
// the inputs were.
package sheet

import (
	"github.com/a-h/templ"

	"endcast/views/design"
	"endcast/views/ui"
)

// View is what the sheet shows. Mathematics comes as MathML made by package calc.
type View struct {
	Name, Reading string
	Units         string
	OtherUnits    string
	OtherHref     string
	BackHref      string
	DocumentsHref string // where the sheet is made into a document to sign
	WholeHref     string // the sheet with every condition in full, or without
	Whole         bool
	PaperHref     string // style sheet of the running head
	Block         ui.TitleBlock
	Standing      ui.Standing // of the approval

	Stored  Stored
	Answer  []Answer
	Flags   []Flag
	Figure  templ.Component // nil for none
	Inputs  []Inputs
	Visits  []Visit
	Changed []Setting // settings that differ from their defaults
	Others  string    // says what stands at its default
	Parts   []Part
	Before  []Chapter // between what it starts from and the checks: what the end must carry
	More    []Chapter // behind the checks: rating, outlook and the like

	Grid     *Grid // nil without a survey
	Holes    [][]string
	Studs    [][]string
	Sources  []Source
	Symbols  []Symbol
	Settings []Setting // read by this calculation
	Lengths  string    // unit of lengths in the tables
	Digest   string
	Method   string
	Printed  string
	Prepared string
	Journal  string // number and hash of the last entry that bears on the end
}

// Stored says whether the sheet agrees with the result on record.
type Stored struct {
	Agrees bool
	Lines  []string // each difference in words
}

// Answer is one condition in a line.
type Answer struct {
	ID, Letter, Subject, On, Capacity, Demand, Ratio, Governs string
	Verdict                                                   ui.Mark
	Words                                                     string // what the verdict means, where it is no pass
}

// Flag is what a reader must know beside the numbers of a part.
type Flag struct{ Letter, Text string }

// Inputs is a group of values that the calculation starts from.
type Inputs struct {
	Title  string
	Origin string // of every row that names none
	Rows   []Input
}

// Input is one value with where it comes from.
type Input struct{ Name, Value, Origin string }

// Visit is one survey: who read what, when and with what.
type Visit struct {
	Number, Kind, When, By, How, Read string
	Counts                            bool // the calculation stands on it
}

// Part is one condition of the end with its checks, the governing one first.
type Part struct {
	ID, Letter, Subject, On string
	Verdict                 ui.Mark
	Capacity, Demand, Ratio string
	Governs                 string
	Band                    string
	Digest                  string
	Notes                   []string // words among what the part starts from
	Starts                  []Given
	Derived                 []Line  // computed before the first check
	Checks                  []Check // in full
	Details                 []Check // rules of layout and detail that are met, in a table
	Brief                   string  // not empty: results only, and why
	Same                    bool    // not even those: they are the results of another part
}

// All are the checks of the part in the order of their numbers.
func (p Part) All() []Check { return append(append([]Check(nil), p.Checks...), p.Details...) }

// Given is a group of given values of one origin.
type Given struct {
	Origin string
	Lines  []Line
}

// Check is one check with its working.
type Check struct {
	ID, Number, Name   string
	Clause, Tag        string
	Verdict            ui.Mark
	Sentence           string // the outcome in words, where the mark does not say it all
	Demand, Resistance string
	Ratio              string
	Governs, Informs   bool
	Outside            bool
	Lines              []Line
	Met                []string // limits of validity that are met
	Unmet              []string
	Marks              []design.LineMark // questions pinned to this line
}

// Line is one line of working.
type Line struct {
	Name    string
	Formula string // MathML; "" for a given value
	Working string // MathML
	Origin  string
	Note    string // plain words; then nothing else is set
	Fit     string // class name: how much room the mathematics needs
}

// Grid is the readings of a survey by place: the least of the faces at each.
type Grid struct {
	Caption string
	X       []string
	Rows    []GridRow
}

// GridRow is the readings at one height.
type GridRow struct {
	Z     string
	Cells []Reading
}

// Reading is one place of a grid.
type Reading struct {
	Text  string
	Least bool // of the whole grid
}

// Source is a document that the sheet cites.
type Source struct{ Document, Clauses, Tag string }

// Symbol is a symbol with what it stands for.
type Symbol struct{ Math, Name string }

// Setting is one value of the design basis.
type Setting struct {
	Name, Value, Default, Source, Tag string
	By                                string // who set it and when; "" for a default
	Doubt                             bool   // from memory or our proposal
}

// Chapter is a section of the sheet behind the checks, with whatever of its
// parts it has.
type Chapter struct {
	ID, Title string
	Mark      *ui.Mark // the outcome, beside the title
	Words     []string
	Facts     []Input
	Lines     []Line
	Tables    []Table
	Figures   []templ.Component
}

// Table is a plain table of texts. The first column is the head of its row; a
// column of Words is set as words, any other as figures.
type Table struct {
	Caption string
	Heads   []Head
	Rows    [][]string
}

// Head is the head of a column.
type Head struct {
	Label string
	Words bool
}

// limitsMet says how many limits of validity are met.
func limitsMet(n int) string {
	if n == 1 {
		return "limit met"
	}
	return "limits met"
}
