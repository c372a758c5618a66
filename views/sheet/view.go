// Package sheet prints the calculation of a girder end as an engineer's own
// sheet: what it starts from, every formula with its numbers, every limit of the
// method, and what the method, the design basis and the inputs were.
package sheet

import (
	"github.com/a-h/templ"

	"endcast/views/ui"
)

// View is what the sheet shows. Mathematics comes as MathML made by package calc.
type View struct {
	Name, Reading string
	Units         string
	OtherUnits    string
	OtherHref     string
	BackHref      string
	Block         ui.TitleBlock

	Stored  Stored
	Summary []Summary
	Figure  templ.Component // nil for none
	Inputs  []Inputs
	Parts   []Part

	Grid     *Grid // nil without a survey
	Holes    [][]string
	Studs    [][]string
	Basis    []Setting
	Unset    string // says how many settings stand at their defaults
	Lengths  string // unit of lengths in the tables
	Digest   string
	Method   string
	Printed  string
	Prepared string
}

// Stored says whether the sheet agrees with the result on record.
type Stored struct {
	Agrees bool
	Lines  []string // each difference in words
}

// Summary is one condition in a line.
type Summary struct {
	ID, Subject, On, Capacity, Demand, Ratio, Governs string
	Verdict                                           ui.Mark
}

// Inputs is a group of values that the calculation starts from.
type Inputs struct {
	Title  string
	Origin string // of every row that names none
	Rows   []Input
}

// Input is one value with where it comes from.
type Input struct{ Name, Value, Origin string }

// Part is one condition of the end with its checks, the governing one first.
type Part struct {
	ID, Letter, Subject, On string
	Verdict                 ui.Mark
	Capacity, Demand, Ratio string
	Governs                 string
	Band                    string
	Digest                  string
	Flags                   []string
	Starts                  []Line // what the checks of the part start from
	Checks                  []Check
	Open                    bool
}

// Check is one check with its working.
type Check struct {
	ID, Number, Name   string
	Clause, Tag        string
	Verdict            ui.Mark
	Sentence           string // the outcome in words
	Demand, Resistance string
	Ratio              string
	Governs, Informs   bool
	Outside            bool
	Lines              []Line
	Limits             []Limit
}

// Limit is one limit of validity of the method.
type Limit struct {
	Text string
	Mark ui.Mark
}

// Line is one line of working.
type Line struct {
	Name    string
	Formula string // MathML; "" for a given value
	Working string // MathML
	Origin  string
	Note    string // plain words; then nothing else is set
	Long    bool   // needs the whole width
}

// computedOnly are the lines with a formula.
func computedOnly(ls []Line) []Line {
	var out []Line
	for _, l := range ls {
		if l.Formula != "" {
			out = append(out, l)
		}
	}
	return out
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
	Cells []string
}

// Setting is one value of the design basis.
type Setting struct {
	Name, Value, Default, Source, Tag string
	Changed                           bool
}
