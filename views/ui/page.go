// Package ui holds the frame of every page and the parts that pages are made of.
// Components take ready values and decide nothing: no query, no right, no
// conversion of units.
package ui

import (
	"github.com/google/uuid"

	"endcast/internal/domain/fault"
)

// Page is what the frame shows around the content.
type Page struct {
	Title   string   // of the sheet; also in the browser's tab
	Program *Program // nil outside a program
	Person  *Person  // nil when nobody is signed in
	Nav     []NavItem
	Crumbs  []Crumb // the way here, without the page itself
	Flashes []Flash
	Theme   string      // "light", "dark", or "" for what the device prefers
	Block   *TitleBlock // replaces the plain title block at the foot
	Field   bool        // a page for gloves and sun: larger targets
	Scripts []string    // further modules of static/js, such as "loss.js"
	Release string      // version of the program that made the page
}

// Program is the program that a page belongs to.
type Program struct {
	Name   string
	Bridge string
	Href   string
}

// Person is who reads the page.
type Person struct {
	Name string
	Role string // in the program of the page; "" outside one
	Demo bool
}

// NavItem is one entry of the index of sheets.
type NavItem struct {
	Group       string // those of one group stand together
	Label, Href string
	Current     bool
	Count       int // things waiting there; 0 shows none
}

// navGroup is a group of the index: its sheets, and what waits on them.
type navGroup struct {
	name    string
	items   []NavItem
	current bool
	count   int
}

// grouped gathers an index into its groups, in order.
func grouped(items []NavItem) []navGroup {
	var out []navGroup
	for _, n := range items {
		if len(out) == 0 || out[len(out)-1].name != n.Group {
			out = append(out, navGroup{name: n.Group})
		}
		g := &out[len(out)-1]
		g.items, g.current, g.count = append(g.items, n), g.current || n.Current, g.count+n.Count
	}
	return out
}

// Crumb is one step of the way to a page.
type Crumb struct {
	Label, Href string
}

// Flash is a message about what was just done.
type Flash struct {
	Kind FlashKind
	Text string
}

// FlashKind says how a message is marked.
type FlashKind string

// Kinds of message.
const (
	Done   FlashKind = "done"
	Notice FlashKind = "notice"
	Failed FlashKind = "failed"
)

// TitleBlock is the block of cells at the lower right of a sheet. Cells come in
// rows as they are to be read; a wide cell takes the whole row.
type TitleBlock struct {
	Cells []Cell
}

// Cell is one labelled value of a title block.
type Cell struct {
	Label, Value string
	Wide         bool
	Mark         *Mark // a state, drawn beside the value
	Paper        bool  // shown on paper only
}

// Standing is how the approval stands that somebody works by, for the head of a sheet.
type Standing struct {
	Of      string // end, where a sheet has several
	Mark    Mark
	Text    string // revision, and who approved it when
	Because string // what moved, or why there is none
	Stop    string // what must not be done; "" where work goes on
	Notes   []string
	Printed string // moment of the sheet
}

// State is what a mark tells.
type State string

// States that a mark can tell. Each has its own shape and letter besides its
// color, so that none is told by color alone.
const (
	Good    State = "good"    // passes, accepted, closed
	Caution State = "caution" // look here: out of date, near a limit
	Stop    State = "stop"    // fails, blocked, rejected
	Wait    State = "wait"    // waits for somebody or for time
	Open    State = "open"    // not begun
	Active  State = "active"  // under way
	Void    State = "void"    // does not apply, outside the method
)

// Mark is a state with a word.
type Mark struct {
	State State
	Text  string
}

// letter returns the letter inside the shape of a state.
func (s State) letter() string {
	switch s {
	case Good:
		return "P"
	case Caution:
		return "!"
	case Stop:
		return "X"
	case Wait:
		return "W"
	case Active:
		return "A"
	case Void:
		return "–"
	}
	return "O"
}

// Field is one labelled control of a form.
type Field struct {
	Name         string
	Label        string
	Hint         string
	Value        string
	Reason       string // why the value was not taken; "" when it was
	Type         string // "text" when empty
	InputMode    string // "decimal", "numeric", "email", ...
	Autocomplete string
	Unit         string   // shown behind the box: "in", "mm", "kip"
	Options      []Option // makes it a choice from a list
	Rows         int      // makes it a text of several lines
	Optional     bool     // says so beside the label and does not demand a value
	Short        bool     // a narrow box, for a number
}

// Option is one choice of a list.
type Option struct {
	Value, Label string
}

// With returns the field with what was typed and why it was not taken, if v holds
// a fault of that name.
func (f Field) With(v *fault.Invalid) Field {
	if p := v.Of(f.Name); p != nil {
		f.Value, f.Reason = p.Typed, p.Reason
		if f.Type == "password" {
			f.Value = ""
		}
	}
	return f
}

func (f Field) id() string { return "f-" + f.Name }

// describedBy lists the ids of the hint and of the reason, for a screen reader.
func (f Field) describedBy() string {
	out := ""
	if f.Hint != "" {
		out = f.id() + "-hint"
	}
	if f.Reason != "" {
		if out != "" {
			out += " "
		}
		out += f.id() + "-why"
	}
	return out
}

func (f Field) kind() string {
	if f.Type == "" {
		return "text"
	}
	return f.Type
}

// NewEntry makes the id that a form carries, so that the same entry sent twice
// counts once. Ids are in order of time.
func NewEntry() string { return uuid.Must(uuid.NewV7()).String() }

// Column is the head of one column of a table.
type Column struct {
	Label   string
	Unit    string
	Numeric bool   // right-aligned, figures of one width
	Href    string // sorts by this column
	Sorted  string // "ascending", "descending" or ""
	Hidden  bool   // label for screen readers only, for a column of marks or actions
}

// PagerView tells where in a long list the reader is.
type PagerView struct {
	From, To, Total int
	Prev, Next      string // addresses; "" at either end
}
