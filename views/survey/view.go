// Package survey is the entry of a survey: a grid of readings that is quick by
// keyboard and by touch, works without a script, and shows at once what is left of
// the end.
package survey

import (
	"strconv"

	"github.com/a-h/templ"

	"endcast/views/ui"
)

// Form is the entry of a survey with what was typed so far.
type Form struct {
	Title, Reading string
	Action         string
	PreviewHref    string
	BackHref       string
	Entry, Version string
	Edit           bool
	Taken          string // of a survey that is corrected: when it was taken, fixed

	Kind, Method, Gauge, TakenBy, At                            ui.Field
	Flange, StiffenerThick, StiffenerWidth, Deviation, Detached ui.Field
	Thicker, Note, Points                                       ui.Field
	StartX, StepX, CountX, StartZ, StepZ, CountZ                ui.Field
	HasStiffeners                                               bool

	Unit    string
	Nominal string // the as-new web thickness
	Face    string // the face in sight: L, R or T
	X       []Cell
	Rows    []Row
	Holes   []Hole

	Survey   string // number of the survey that is corrected
	Problems []Problem
	Refused  string // a refusal that belongs to no field
	Stale    *Stale
	Preview  *Preview
}

// Cell is one box of the grid.
type Cell struct {
	Name, Label, Value, Why string
	Now                     string // what is stored there now, where that differs from what was typed
}

// Row is one height with its readings.
type Row struct {
	Z     Cell
	Cells []Place
}

// Place is the boxes of the three faces at one place.
type Place struct{ Left, Right, Through Cell }

// Hole is one rectangle round a hole.
type Hole struct {
	Number string
	Cells  []Cell // x, z, width, height, rim
}

// Stale says that somebody changed the record after the form was drawn.
type Stale struct {
	By    string
	Lines []string
}

// Preview is what the findings typed so far leave of the end.
type Preview struct {
	Empty    bool // nothing to evaluate yet
	Problems []Problem
	Capacity string
	Demand   string
	Ratio    string
	Verdict  ui.Mark
	Governs  string
	Loss     string
	Least    string
	Before   string // the stored result, for comparison
	Count    string
	Warnings []string
	Figure   templ.Component
}

// Problem is one box whose value cannot be taken.
type Problem struct{ Field, Label, Why string }

func (f Form) counts() [3][2]string {
	return [3][2]string{{"cols", strconv.Itoa(len(f.X))}, {"rows", strconv.Itoa(len(f.Rows))}, {"holes", strconv.Itoa(len(f.Holes))}}
}

// faces of the web, in the order of the choice.
var faces = []ui.Option{{Value: "T", Label: "Through the web"}, {Value: "L", Label: "Left face"}, {Value: "R", Label: "Right face"}}

// mostProblems is how many reasons the head of the form lists; every box shows its
// own.
const mostProblems = 20

func problemTitle(n int) string {
	if n == 1 {
		return "One value could not be taken"
	}
	return strconv.Itoa(n) + " values could not be taken"
}
