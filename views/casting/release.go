package casting

import "endcast/views/ui"

// Release is the page on which an end is released for casting.
type Release struct {
	Name, Reading, Href, Field string
	State                      ui.Mark
	Said                       string
	Standing                   ui.Standing // of the approval
	Moved                      []string
	None                       string // why nothing can be released here
	Zone                       string
	Record, Persons            []ReleaseRow
	Tick                       *ReleaseTick
	Request                    *ReleaseForm
	Decide                     *ReleaseDecide
	Past                       []ReleasePast
	Links                      []Link
}

// ReleaseRow is one line of the list.
type ReleaseRow struct {
	ID, Title, Text, Lacks string
	Mark                   ui.Mark
	By                     string // who ticked it, and when
	Note                   string
	Href, Link             string
	Waived                 string
	Waive                  *ReleaseForm // nil where it is not waived, or not by the reader
	Unwaive                *ReleaseForm
	Untick                 *ReleaseForm
}

// ReleaseForm is a small form of one act.
type ReleaseForm struct {
	Action, Entry, Act, Key, Label, Submit string
	Typed, Problem                         string
}

// ReleaseTick ticks lines, each with a note.
type ReleaseTick struct {
	Action, Entry, Problem string
	Rows                   []ReleaseTickRow
	At                     ui.Field
}

// ReleaseTickRow is one line not ticked yet.
type ReleaseTickRow struct {
	Number, Text, Note string
	On                 bool
}

// ReleaseDecide releases or refuses.
type ReleaseDecide struct {
	Action, Entry, From, Problem string
	Meaning, WhyNot              string
	MayRelease                   bool
	Refuse                       string // label of refusing or taking back
	Reasons                      ui.Field
}

// ReleasePast is a decision made before.
type ReleasePast struct {
	Title, Text, By string
	Mark            ui.Mark
	Lines           []ReleaseRow
}

// ReleaseMark is whether an end of a casting is released for it.
type ReleaseMark struct {
	Name, Href, Why string
	Mark            ui.Mark
	Loud            bool // nobody may miss it
}
