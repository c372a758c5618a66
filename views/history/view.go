// Package history shows the journal: who changed what, when, from what to what.
package history

import "endcast/views/ui"

// View is one page of the history of an end or of a program.
type View struct {
	Title, Lead string
	Entries     []Entry
	Older       string // addresses; "" at either end
	Newest      string
	Zone        string
	Past        *Past // nil where it is not the history of one end
}

// Past is the form that leads to an end as it was at a moment.
type Past struct {
	Action string
	At     ui.Field
}

// ValueView is what became of one value, or of one row, of the record.
type ValueView struct {
	Title, Lead string
	Lines       []ValueLine
	Fields      []Link // the other values of the row
	Back        string
	More        string // says how many lines are left out
	Zone        string
}

// Link leads to another page.
type Link struct{ Label, Href string }

// ValueLine is one change of a value.
type ValueLine struct {
	Entry, Href     string
	When, By, What  string
	Field, Old, New string
	Reason          string
	First           bool // the row came with it
}

// Entry is one entry of the journal.
type Entry struct {
	Number   string
	When     string
	Seen     string // when it was seen or done, where that differs from its arrival
	Told     string // as a tablet told it whose clock was wrong; Seen is set right
	Off      string
	By, Role string
	What     string
	End      string
	EndHref  string
	Reason   string
	Hash     string
	Groups   []Group
	PastHref string // the end as it was after the entry; "" for none
}

// Group is the rows of one kind that an entry added or changed.
type Group struct {
	Title string
	Open  bool
	Rows  []Row
	More  string // says how many rows are left out
}

// Row is one row of the record.
type Row struct {
	Title   string
	Added   bool
	Changes []Change
	Href    string // the history of the row
}

// Change is one value. Old is empty for a row that was added.
type Change struct{ Name, Old, New string }
