package field

import "endcast/views/ui"

// Check is the page of one check of the shift: what is asked, what was recorded,
// and the form that records another.
type Check struct {
	Head     Head
	Title    string
	Caution  string
	Standing ui.Mark
	Asked    []string
	Against  []string // what falls short as last recorded
	Columns  []ui.Column
	Records  []CheckRecord
	Older    []string // recorded in words, before the check had figures
	Pictures []Picture
	Form     *CheckForm // nil for those who only read
}

// CheckRecord is one check on record.
type CheckRecord struct {
	Title  string
	Mark   ui.Mark
	Cells  []string
	Latest bool
}

// CheckForm records one check.
type CheckForm struct {
	Sent
	Action      string
	Groups      []CheckGroup
	Outcome     ui.Field
	Note, Photo ui.Field
	PhotoHint   string
	At          Moment
	RaiseHref   string
	SubmitLabel string
}

// CheckGroup is a part of the form: boxes in a row, choices, and lines to tick.
type CheckGroup struct {
	Title string
	Says  string
	Boxes []ui.Field
	Tiles []ui.Field
	Ticks []CheckTick
	Clock *ui.Field
}

// CheckTick is one line that is so or not.
type CheckTick struct {
	Name, Label, Reason string
	On                  bool
}
