// Package history shows the journal: who changed what, when, from what to what.
package history

// View is one page of the history of an end or of a program.
type View struct {
	Title, Lead string
	Entries     []Entry
	Older       string // addresses; "" at either end
	Newest      string
	Zone        string
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
}

// Change is one value. Old is empty for a row that was added.
type Change struct{ Name, Old, New string }
