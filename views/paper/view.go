// Package paper shows documents: the pages where they are made, signed and fetched, and
// the document itself as it is printed.
package paper

import (
	"github.com/a-h/templ"

	"endcast/internal/domain/fault"
	"endcast/views/sheet"
	"endcast/views/ui"
)

// Book is a document as it is printed. Texts are ready to print.
type Book struct {
	Title    string // of the PDF
	Kind     string // in words
	Program  string
	Bridge   string
	Of       string // "2F-3, Pier 2, back face"
	Lead     string
	Style    string // the whole style sheet, with fonts and the running lines of the pages
	Unsigned string // the line of a print that nobody can sign; "" for one to be signed
	Block    ui.TitleBlock
	Standing *ui.Standing // of the approval; nil for a document of the program
	Signing  []string     // meanings that may be signed, in words; none on an unsigned print
	Identity []Fact       // what tells this document from every other
	Sections []Section
}

// Section is one part of a document.
type Section struct {
	ID, Title string
	Mark      *ui.Mark
	Words     []string
	Facts     []Fact
	Figure    templ.Component
	Notes     []string // under the figure
	Tables    []Table
	Sheet     *sheet.View // the calculation, in place of the rest
	Photos    []Photo
	Missing   string // says that there is nothing on record
	Parts     []Part
	Short     bool // goes on behind the section before it on the same page
}

// Part is a piece of a section with a heading of its own.
type Part struct {
	ID, Title string
	Mark      *ui.Mark
	Facts     []Fact
	Words     []string
}

// Fact is one labelled value.
type Fact struct{ Label, Value, Note string }

// Table is rows of cells under heads.
type Table struct {
	Caption string
	Heads   []Head
	Rows    [][]Cell
	Empty   string // what is said where there are no rows
}

// Head is the head of a column.
type Head struct {
	Label string
	Num   bool
	Whole bool // the cells of the column never break
}

// Cell is a text or a mark, or both.
type Cell struct {
	Text string
	Mark *ui.Mark
}

// Photo is a picture inside the document.
type Photo struct {
	Number, Caption, Taken, Place, SHA string
	Data                               string // data: address; "" where there is no copy
	Why                                string // why there is none
}

// Row is one document in a list.
type Row struct {
	Number, Href, Title, End, EndHref, Made, By, Pages, Size string
	Signed                                                   []string
	State                                                    ui.Mark
}

// Offer is a kind of document that may be made here.
type Offer struct {
	Kind, Title, Holds string
	Lacks              []string // what is missing before it can be made
	Same               *Link    // one of this very record is there already
}

// Link leads to another page.
type Link struct{ Label, Href string }

// List is the documents of a program or of an end.
type List struct {
	Title, Lead string
	Offers      []Offer
	Make        string // address that makes one; "" where this person may not
	Print       string // address that prints one unsigned
	Units       ui.Field
	Missing     string // why no PDF can be made on this server
	Instead     string // the page to print from the browser
	Rows        []Row
	Empty       string
	Pager       *ui.PagerView
	Ends        string // the list of ends, on the page of a program
	KeyHref     string
	Problem     string
}

// Signature is one signature as the page shows it.
type Signature struct {
	Meaning, Sentence, By, Role, When, Key string
}

// Show is the page of one document.
type Show struct {
	Title, Number, Reading string
	State                  ui.Mark
	Moved                  string // what a document that is out of date means
	Facts                  []Fact
	File, All, Statement   string // addresses
	Name                   string // of the file
	Signatures             []Signature
	Sign                   *SignForm
	Why                    string // why this person does not sign
	KeyHref, ListHref      string
	Check                  []string // lines of the check without this server
	Zone                   string
}

// SignForm is where a document is signed.
type SignForm struct {
	// Again leads to the sign-on service, which confirms who signs instead of the password; "" for
	// none. Confirmed says that it just did.
	Again, SignOn             string
	Confirmed                 bool
	Action, Entry, SHA, Short string
	Meaning                   ui.Field
	Sentences                 []Fact
	Bad                       *fault.Invalid
	Problem                   string
	Who                       string
}
