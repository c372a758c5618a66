package field

import (
	"strconv"

	"endcast/views/ui"
)

// Inspection is the form for a finding that a person signs for.
type Inspection struct {
	Head     Head
	Subjects []Subject // to choose from, when none is chosen
	Title    string
	Look     []string // what to look at
	Caution  string   // where the work can hurt somebody
	Refused  string   // why nothing can be recorded now
	Last     *Finding
	Sent
	Action, Subject string
	Outcome         ui.Field
	Note, Photo     ui.Field
	PhotoHint       string
	At              Moment
	Pictures        []Picture
	RaiseHref       string
}

// Subject is one thing that may be inspected.
type Subject struct {
	Title, Href, Says string
	Mark              ui.Mark
}

// Finding is the last word on a subject.
type Finding struct {
	Mark           ui.Mark
	Note, By, When string
}

// Start is the first page of the field: where are you?
type Start struct {
	Waiting []EndCard // ends whose next step is the reader's
	Role    string
	More    int // waiting ends that are not shown
	Lines   []Line
	Chosen  *Line
	Ends    []EndCard
	Raised  string // address of the program's nonconformances
}

// Line is the ends of one side of one span.
type Line struct {
	Title, Reading, Href, Counts string
	Waiting                      int
	Critical                     bool
}

// EndCard is one end as a large button.
type EndCard struct {
	Name, Reading, Href, Step string
	Mark                      ui.Mark
	Since                     string
	Mine                      bool
}

// EndField is what may be done at one end.
type EndField struct {
	Head      Head
	Step      string
	Blocked   []ui.Mark
	OutOfDate string
	Critical  []string
	Tasks     []Task
	Open      []Subject // open nonconformances
}

// Task is one thing to do at an end, with how it stands.
type Task struct {
	Title, Href, Says string
	Mark              ui.Mark
}

func ends(n int) string {
	if n == 1 {
		return "1 end"
	}
	return strconv.Itoa(n) + " ends"
}
