package casting

import "endcast/views/ui"

// Acceptance is the page of the strength tests against the owner's rule.
type Acceptance struct {
	Rule, RuleHref string
	Zone, Unit     string
	Classes        []AcceptClass
	Left           []TestRow // tests that do not count
}

// AcceptClass is the tests of one strength specified and one duty of the laboratory.
type AcceptClass struct {
	ID, Title string
	Verdict   ui.Mark
	Evidence  []CheckLine
	Outside   []string
	Numbers   []Pair
	Notes     []string
	Charts    []ControlChart
	Rows      []TestRow
}

// TestRow is one strength test.
type TestRow struct {
	Label, Href, Cast, N     string
	Mean, Range, Share       string
	Moving, Running, Against string
	Mark                     ui.Mark
	Why                      string
}

// ControlChart is one chart of tests in the order of casting.
type ControlChart struct {
	ID, Title, Lead, Unit string
	Dots                  []Dot
	Line                  string // path through the running means
	Lines                 []LimitLine
	Steps                 []Step
	Ticks, Labels         []Tick
}

// Dot is one test; one that is low or beyond a limit is drawn as a triangle.
type Dot struct {
	X, Y float64
	Low  bool
}

// Step is a limit that differs from test to test.
type Step struct {
	Path, Text string
	Y          float64
}

// The frame of a control chart in its own units.
const (
	ControlLeft, ControlRight = 52.0, 520.0
	ControlTop, ControlBottom = 14.0, 176.0
)

func triangle(d Dot) string { return "M" + at(d.X) + " " + at(d.Y-6) + "l6 11h-12z" }
