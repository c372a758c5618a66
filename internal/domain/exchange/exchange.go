// Package exchange reads a bridge and its surveys from tables and writes the same
// tables back: CSV files, a zip of them, or one workbook (XLSX).
//
// An import is all or nothing: every wrong cell is named with its table, row,
// column, value and limit, and nothing is taken unless all is right. What was
// typed is kept beside every value, with its unit, so that 5/16 in comes back as
// 5/16 in; a value that nobody typed is written so that it reads back to the
// last bit.
package exchange

import (
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Limits of one import. They bound time and memory, whatever the file claims.
const (
	MaxBytes    = 20 << 20  // of the files as they arrive
	MaxUnpacked = 100 << 20 // of an archive's content
	MaxFiles    = 200       // in an archive
	MaxRows     = 200_000   // of one table
	maxColumns  = 100
	maxText     = 4000 // characters of a cell
	maxQuantity = 48   // characters of a quantity, its unit not counted
)

// Typed holds, by column, what was typed for a quantity, with its unit. A missing
// entry means that nobody typed it.
type Typed map[string]string

// Bridge is everything that the tables hold.
type Bridge struct {
	Supports []Support
	Spans    []Span
	Sections []Section
	Ends     []End
	Surveys  []Survey
}

// Support is an abutment, pier or bent.
type Support struct {
	Code    string
	Name    string
	Station units.Length
	Typed   Typed
}

// Span is one span between two supports, named by their codes.
type Span struct {
	Number     int
	Length     units.Length
	Girders    int
	Spacing    units.Length
	From, To   string
	Continuous bool // over its To support
	Note       string
	Typed      Typed
}

// Section is a cross-section with what was typed for it.
type Section struct {
	girder.Section
	Typed Typed
}

// End is one girder end. Its name and section are in Geometry.
type End struct {
	Support        string
	Geometry       girder.Geometry
	FySource       string
	Reaction       units.Force // factored
	ReactionSource string
	Access         string
	Aliases        []string // names in older reports
	Chosen         []string // codes of the steps for chosen ends that it goes through
	Typed          Typed
}

// Survey is one visit's findings at one end.
type Survey struct {
	End     girder.Name
	Number  int
	Kind    string // AsFound or Cleaned
	TakenAt time.Time
	TakenBy string
	Method  string
	Gauge   string
	Note    string
	// ThickerReason is why metal above the as-new thickness stands.
	ThickerReason string
	Findings      survey.Survey
	// Readings and Holes stand beside those of Findings, one for one.
	Readings []ReadingNote
	Holes    []Typed
	Typed    Typed
}

// Kinds of survey.
const (
	AsFound = "as_found"
	Cleaned = "cleaned"
)

// ReadingNote is what was typed for a reading, and why a place was not read.
type ReadingNote struct {
	X, Z, T string
	Reason  string
}

// Options steer an import.
type Options struct {
	// System is the family of units of a column that names none.
	System units.System
	// Zone is where a time without an offset was read off a clock; nil is UTC.
	Zone *time.Location
	// Basis holds the limits of a reading.
	Basis basis.Basis
	// Known is what the program has already: tables may refer to it, and may not
	// repeat it. Nil for a new bridge.
	Known *Bridge
	// Now is the moment of the import: nothing was measured after it. Zero does not
	// look.
	Now time.Time
	// Steps are the codes of the steps that ends may be chosen for; nil takes any.
	Steps []string
}

// File is one file of an import or export.
type File struct {
	Name string
	Data []byte
}
