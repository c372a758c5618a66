// Package strain shows the sensors of a girder end, what they recorded, the passages
// of trucks found in it and the verdict on the load path.
package strain

import (
	"github.com/a-h/templ"

	"endcast/internal/domain/fault"
	"endcast/views/ui"
)

// Head says which end the page is of and leads to the other pages of its strain.
type Head struct {
	Name, Reading, Zone string
	Ways                []Link
	Refused             string
	Bad                 *fault.Invalid
	Entry               string // of a form that came back
}

// Link leads somewhere; Here tells that it is this page.
type Link struct {
	Text, Href string
	Here       bool
}

// Cell is one cell of a table.
type Cell struct {
	Text, Small, Href string
	Num, Head         bool
	Mark              *ui.Mark
}

// Table is a table of texts, or a sentence where it has no row.
type Table struct {
	Caption string
	Columns []ui.Column
	Rows    [][]Cell
	None    string
}

// Picture is a drawing with one sentence of what it shows and the figures beside it.
type Picture struct {
	Title, Says string
	Draw        templ.Component // nil: nothing to draw
	Below       templ.Component // a second drawing under it, nil for none
	Table       Table
}

// Sensors is the page of the sensors of an end.
type Sensors struct {
	Head     Head
	Drawing  templ.Component
	Table    Table
	Cautions []string
	Form     *Form // nil: the reader may not
	Remove   *Form
}

// Form is a form of plain fields.
type Form struct {
	ID, Title, Action, Submit string
	Groups                    []Group
	Hidden                    [][2]string
	Says                      string
}

// Group are fields under one heading; Closed folds them away until they are asked for.
type Group struct {
	Title  string
	Closed bool
	Fields []ui.Field
}

// Recordings is the list of recordings with what is being read.
type Recordings struct {
	Head    Head
	Table   Table
	Jobs    Table
	Drafts  []Link
	Upload  string // action; empty: the reader may not
	Limit   string
	FileWhy string
}

// File is a file before it is read: how, and its first rows.
type File struct {
	Head    Head
	Name    string
	Facts   [][2]string
	Known   []Link
	Form    Form
	Cells   [][]string
	Widths  int
	Rows    Table
	Problem string
	Ready   bool // it may be read whole
	Discard string
}

// Job is how far the reading of a file is.
type Job struct {
	Head   Head
	Mark   ui.Mark
	Says   string
	Facts  [][2]string
	Part   float64 // read so far, 0 to 1; below 0: not known
	Cancel string  // action
	Next   []Link
}

// Recording is one recording with what screening found.
type Recording struct {
	Head     Head
	Facts    [][2]string
	Found    Table
	Channels Table
	Ways     []Link
	Withdraw *Form
}

// Trace is a stretch of a recording, channel by channel.
type Trace struct {
	Head     Head
	Choose   *Form
	Moves    []Link
	Pictures []Picture
	Says     string
}

// Events are the passages found.
type Events struct {
	Head    Head
	Says    string
	Waiting string
	Table   Table
	Pager   *ui.PagerView
}

// Verdict is what the strain records say of the load path.
type Verdict struct {
	Head      Head
	Mark      ui.Mark
	Words     string
	Standing  string
	Waiting   string
	Cautions  []string
	States    Table
	Against   []Against
	Trend     string
	Drift     string
	Findings  []string
	Stiffness string
	RawWhy    string
	Pictures  []Picture
	Past      Table
	Setup     *Form
	Confirm   *Form
	Meaning   string
}

// Against is one state after casting against the state before.
type Against struct {
	Title    string
	Mark     ui.Mark
	Words    string
	Criteria Table
	More     []string
	Raw      Table
}
