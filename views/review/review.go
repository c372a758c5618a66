// Package review shows a revision to the owner's engineer, with everything that a
// decision on it has to weigh, and the list of what waits for one.
package review

import (
	"strconv"
	"strings"

	"github.com/a-h/templ"

	"endcast/internal/domain/fault"
	"endcast/views/design"
	"endcast/views/ui"
)

// View is the page on which a revision is decided.
type View struct {
	Head     design.Head
	Facts    []design.Fact // who designed it, how long it waits
	Layout   string
	Note     string // of the designer
	Problem  string
	Conflict string // the record moved while the reviewer looked
	Bad      *fault.Invalid
	Figure   templ.Component
	Over     string
	Cautions []string
	Checks   design.Checks
	Source   string
	Moved    *design.Moved // since it was submitted or approved
	Since    string        // title over Moved
	Compared *Compared     // nil for the first revision
	Digests  []design.Digest
	Reviews  []design.Review
	Decision *Decision
	Confirm  *Confirm
	Instead  string // why this reader cannot decide

	Questions Questions

	List       ui.Crumb // of all that wait
	Prev, Next *ui.Crumb
}

// openWords counts questions that wait for an answer.
func openWords(n int) string {
	if n == 1 {
		return "1 open"
	}
	return strconv.Itoa(n) + " open"
}

// sittingWords counts the ends of a sitting.
func sittingWords(n int) string {
	if n == 1 {
		return "1 end"
	}
	return strconv.Itoa(n) + " ends"
}

// holdingWords says which questions stand in the way of an approval.
func holdingWords(numbers []string) string {
	if len(numbers) == 1 {
		return "Question " + numbers[0] + " is open and holds the approval: the revision can be returned, but not approved."
	}
	return "Questions " + strings.Join(numbers, ", ") + " are open and hold the approval: the revision can be returned, but not approved."
}

// Compared is the revision before, drawn behind this one.
type Compared struct {
	Title   string
	Figure  templ.Component
	Was, Is string // heads of the columns
	Changes []design.Changed
	Steel   design.Moved
	Note    string
	More    ui.Crumb // to the page that compares any two
}

// Decision is the form of a review.
type Decision struct {
	Action  string
	Entry   string
	Digest  string
	Short   string // the digest as it is read
	Choice  ui.Field
	Reasons ui.Field
	Means   []design.Fact // what each decision says
}

// Confirm is the form that renews an approval.
type Confirm struct {
	Action  string
	Entry   string
	Digest  string
	Short   string
	Meaning string
	Reasons ui.Field
}

// List is what waits for the owner's engineer.
type List struct {
	Asked []Row
	Stale []Row
	Pager ui.PagerView
	Order string // how the list is ordered, in words
}

// Row is one design that waits.
type Row struct {
	End, EndHref, Support, Revision, Href, Link string
	Days, Since, By, Window, Moved, Next        string
	Capacity                                    ui.Mark
	Repaired                                    ui.Mark
	Own                                         bool   // of the reader
	Alike, AlikeHref                            string // like ends that wait, and where they are looked at together
	Urgent                                      ui.Mark
	Questions                                   string
}
