// Package settings shows what a program is run by: its sequence of steps, its
// design basis, its people, its title facts and its access windows.
package settings

import (
	"strconv"
	"strings"

	"endcast/internal/domain/fault"
	"endcast/views/ui"
)

// LogLine is one change of settings on record.
type LogLine struct {
	When, Who, What string
}

// Fact is one labelled value.
type Fact struct {
	Label, Value string
	Wide         bool
}

// Beside is one value that a person typed next to the one stored meanwhile.
type Beside struct {
	Label, Yours, Stored string
}

// Clash tells that somebody changed the same thing after the form was opened.
type Clash struct {
	Text string
	Rows []Beside
}

// Form is what every form of this package carries.
type Form struct {
	Action string
	Entry  string // id of the entry; "" makes a new one
	From   string // what the form was made from
	Bad    *fault.Invalid
	Notice string // a refusal that belongs to no field
	Clash  *Clash
}

// Effects is what an edit would do to the ends, told before it is stored.
type Effects struct {
	Known bool
	Ends  int
	None  string // said where nothing changes
	Lines []Effect
	Moves []MoveLine
}

// Effect is one line of Effects with the ends it concerns.
type Effect struct {
	Mark ui.Mark
	Ends Names
}

// MoveLine is ends that share a change of their next step.
type MoveLine struct {
	From, To, Count string
	Ends            Names
}

// Names is the first ends of a list, and how many more there are.
type Names struct {
	Links []Link
	More  int
}

// Link is a name with its address.
type Link struct{ Label, Href string }

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

func scopeWord(all bool) string {
	if all {
		return "all"
	}
	return "chosen"
}

// Back is the address of the page that the form of a sequence came from.
func (f SequenceForm) Back() string { return strings.TrimSuffix(f.Action, "/edit") }
