package assign

// Step is one step of a course.
type Step struct {
	ID      string
	Name    string
	Minutes int      // of the crew's time, with moving to it
	Trades  []string // a crew needs one of these; empty: any crew
	Worth   float64  // what finishing it is worth; more first
	Uses    map[string]int
}

// Course is what one end offers in the window, its steps in order. Only a beginning of it can be worked.
type Course struct {
	End   string
	Steps []Step
	// Pinned is the crew that a person chose, PinnedSteps how many steps it shall do there; empty leaves it open.
	Pinned      string
	PinnedSteps int
	// Barred is the reason of a person for leaving the end out; empty keeps it in.
	Barred string
}

// Crew is one gang for the window.
type Crew struct {
	Name    string
	Trades  []string // what it is qualified for
	Minutes int      // productive, after set-up and before hand-back
}

// Night is one window to fill.
type Night struct {
	Courses []Course
	Crews   []Crew
	Stock   map[string]int // what is on hand, by the names that steps use; a name that is missing is not counted
	Nodes   int            // limit of the search; 400,000 where zero
}

// Place is one end given to one crew.
type Place struct {
	End    string
	Crew   string
	Steps  int // the first so many of the course
	From   int // minutes after the crew starts
	To     int
	Pinned bool
}

// Left is an end that the proposal leaves out, with the one reason.
type Left struct {
	End    string
	Reason string
}

// Plan is the proposal.
type Plan struct {
	Places []Place // by crew, then time
	Left   []Left  // in the order of the courses
	Worth  float64
	// Bound is what no plan can exceed; equal to Worth where Best.
	Bound float64
	Best  bool // proved to be the best
	Nodes int
	// Broken lists a person's choices that could not be kept, each with its reason.
	Broken []Left
	Used   map[string]int
}

// Gap is how far below the bound the plan may be, 0 to 1.
func (p Plan) Gap() float64 {
	if p.Bound <= 0 {
		return 0
	}
	return max(0, 1-p.Worth/p.Bound)
}
