// Package files shows the page that gives the bridge out as tables and takes
// tables in, the preview of what an import would put on record, and what it did.
package files

import (
	"endcast/internal/domain/fault"
	"endcast/views/drawing"
	"endcast/views/ui"
)

// View is the page of import and export.
type View struct {
	Bridge, Template Download
	Package          []Link // the record as plain files: whole, and without photographs and kept files
	Ends             string // "58 girder ends"
	Form             *Form  // nil for those who may not import
	Refusal          *Refusal
	Tables           []Table
}

// Download is one set of tables in either form and family of units, the reader's
// own first.
type Download struct{ Workbook, Text []Link }

// Link is a word that leads somewhere.
// Said is the label in full, for those who hear it.
type Link struct{ Label, Said, Href string }

// Form takes files in.
type Form struct {
	Action string
	Units  string // "us" or "si"
	Zone   string // of times without an offset
	Most   string // "20 MB"
	Bad    *fault.Invalid
}

// Refusal is everything that keeps files from being taken.
type Refusal struct {
	Files    []File
	Title    string // how many problems there are
	Problems []Problem
	More     int    // problems beyond those listed
	Note     string // why files that were found good are refused now
}

// Problem is one cell, row or file.
type Problem struct{ Table, Row, Column, Value, Limit string }

// Table describes one table.
type Table struct {
	Name    string
	Columns []Column
}

// Column describes one column of a table.
type Column struct {
	Header, Text string
	Needed       bool
}

// File is one file as it came.
type File struct{ Name, Size string }

// Preview is what files would put on record.
type Preview struct {
	Files   []File
	SHA256  string
	Units   string // words for the units of columns that name none
	Until   string // how long the files are kept
	Counts  []string
	Plan    *drawing.PlanData // nil without new ends, or with very many
	Worst   *drawing.EndData  // the surveyed end whose demand is highest beside its capacity
	WorstIs string            // why it is shown
	Columns []ui.Column
	Rows    []Row
	More    int // ends beyond those listed
	Action  string
	Entry   string
	Back    string
}

// Row is one end of a preview.
type Row struct {
	ID, Name, Href   string // Href is empty for an end that is not on record yet
	Place, Section   string
	Surveys          []string // a line each
	Readings         string
	Loss             string
	Capacity, Demand string
	Governing        string
	Condition        ui.Mark
}

// Done is what an import became.
type Done struct {
	Seq, When, Actor, Hash string
	Counts                 []string
	Ends, History          string // addresses; History is empty where the program has no such page
	Back                   string
}
