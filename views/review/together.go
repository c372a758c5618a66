package review

import (
	"github.com/a-h/templ"

	"endcast/internal/domain/fault"
	"endcast/views/design"
	"endcast/views/ui"
)

// Sitting is the submitted revisions of several like ends on one page.
type Sitting struct {
	Empty   string
	Back    string
	Out     []string // ends left out, with the reason
	Bad     *fault.Invalid
	Problem string
	Moved   bool // the record of one moved while the reader looked

	Layout string
	Facts  []design.Fact // of the layout
	Notes  []design.Fact // design notes, by the ends that have them
	Shared []design.Fact // what all stand on alike
	Alike  string        // how many checks come out alike
	Heads  []string      // names of the ends, heads of the columns
	Checks []Differing
	Differ []Differing
	Ends   []SittingEnd

	Action, Entry   string
	Choice, Reasons ui.Field
	TickBad         string
	Means           []design.Fact
	Instead         string // why this reader cannot decide
}

// Differing is one fact that is not the same at all ends.
type Differing struct {
	Name  string
	Cells []Cell
}

// Cell is the fact at one end.
type Cell struct {
	Text string
	Mark *ui.Mark
}

// SittingEnd is one end of a sitting.
type SittingEnd struct {
	Name, Reading, Href, Revision, By                string
	Corroded, Capacity, Demand, Ratio, Governs, Over string
	Verdict                                          ui.Mark
	Figure                                           templ.Component
	Cautions                                         []string
	MovedHref, Questions, Cannot                     string
	DesignID, Digest, Short                          string
	Ticked                                           bool
}
