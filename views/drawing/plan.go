package drawing

import (
	"strings"

	"endcast/internal/domain/girder"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
)

// PlanData is what the plan of a bridge shows. Supports are in order of station;
// span i runs from support i to support i+1, so there is one support more than
// there are spans.
type PlanData struct {
	ID       string // prefix of element ids, when a page has more than one drawing
	Title    string
	System   units.System
	Supports []Support
	Spans    []Span
	Ends     []PlanEnd
	// North is the direction of north in degrees clockwise from ahead station as
	// seen from above: 0 where station runs north.
	North units.Angle
	// Overhang is from the outer girder to the edge of the deck, 0 for 3 ft.
	Overhang units.Length
	// Width is the room in pixels that strips are wrapped to, 0 for 1140.
	Width float64
	// Target is the least distance in pixels between the middles of two marks: 0
	// for 28; 44 or 64 for fingers and gloves. Less than 24 is taken as 24.
	Target float64
	// SkipTo is the id of an element after the drawing, for readers who do not
	// want to step through every end; "" leaves the link out.
	SkipTo string
}

// Support is an abutment or a pier.
type Support struct {
	Code, Name string // "P2", "Pier 2"
	Station    units.Length
	// Skew is the angle between the bearing line and the square to the stationing,
	// positive where the right end of the line lies ahead of the left one.
	Skew units.Angle
	// Lists of the ends on the two faces, used where a bar stands for many ends.
	BackHref, AheadHref string
}

// Span is one span of equal girders.
type Span struct {
	Number     int
	Length     units.Length
	Girders    int
	Spacing    units.Length
	Continuous bool // with the next span: the support between has no joint
}

// PlanEnd is one girder end.
type PlanEnd struct {
	Name           girder.Name
	Href           string // "" makes a mark that leads nowhere
	Phase          Phase
	Step           string // the state in words, "studs welded"; "" for the words of the phase
	Blocked        sequence.Track
	Why            string // the reason it is blocked, one line
	OutOfDate      bool
	Nonconformance bool
	Critical       bool
}

// Ends that a plan draws one by one; more of them are drawn as bars.
const mostMarks = 600

// Sizes of the plan in pixels.
const (
	planWidth    = 1140.0
	leastPlan    = 560.0 // width of the arrow and the scale bar
	planTarget   = 28.0
	leastTarget  = 24.0  // WCAG 2.2, success criterion 2.5.8
	comfortable  = 44.0  // largest hit area
	markSetback  = 20.0  // middle of a mark from its bearing line, at the least
	markReach    = 17.5  // from the middle of a mark to its outermost sign
	planSide     = 28.0  // room left and right of a strip
	planTop      = 66.0  // room over the deck: bubbles, names
	planFoot     = 78.0  // room under the deck: dimensions, stations
	stripGap     = 18.0  // between strips
	barHalf      = 78.0  // half of the deck where bars stand for ends
	barWidth     = 26.0  // of a bar
	barSetback   = 19.0  // middle of a bar from its bearing line
	largestMark  = 1.6   // times the usual size, where targets are large
	widestMark   = 64.0  // girder spacing at which a drawing stops growing
	bubbleRadius = 14.0  // of a support
	planHead     = 58.0  // room for the arrow and the scale bar
	nameRoom     = 118.0 // length of a span from which ends carry their names
)

func trackLetter(t sequence.Track) string {
	switch t {
	case sequence.Paper:
		return "P"
	case sequence.SteelAndConcrete:
		return "S"
	case sequence.Access:
		return "A"
	}
	return ""
}

// said is what a screen reader says of an end, and the tip beside the pointer.
func said(e PlanEnd, support string) string {
	var b strings.Builder
	b.WriteString(e.Name.String() + ", ")
	if support != "" {
		b.WriteString(support + " ")
	}
	b.WriteString(e.Name.SupportFace() + ": ")
	if e.Step != "" {
		b.WriteString(e.Step)
	} else {
		b.WriteString(e.Phase.String())
	}
	if e.Blocked != "" {
		b.WriteString(", blocked: " + e.Blocked.Words())
		if e.Why != "" {
			b.WriteString(" (" + e.Why + ")")
		}
	}
	if e.OutOfDate {
		b.WriteString(", design out of date")
	}
	if e.Nonconformance {
		b.WriteString(", open nonconformance")
	}
	if e.Critical {
		b.WriteString(", critical finding")
	}
	return b.String()
}

type phaseCountOf struct {
	phase Phase
	count int
}

type tagCount struct {
	sample PlanEnd
	words  string
	count  int
}

// planLegend explains the marks and counts them. Signs that no end carries are
// left out.
type planLegend struct {
	phases []phaseCountOf
	tags   []tagCount
}

func legendOf(ends []PlanEnd) planLegend {
	var l planLegend
	var by [phaseCount]int
	kinds := []tagCount{
		{PlanEnd{Blocked: sequence.Paper}, "blocked by paper", 0},
		{PlanEnd{Blocked: sequence.SteelAndConcrete}, "blocked by steel and concrete", 0},
		{PlanEnd{Blocked: sequence.Access}, "blocked by access", 0},
		{PlanEnd{OutOfDate: true}, "design out of date", 0},
		{PlanEnd{Nonconformance: true}, "open nonconformance", 0},
		{PlanEnd{Critical: true}, "critical finding", 0},
	}
	for _, e := range ends {
		by[e.Phase.known()]++
		for i := range kinds {
			s := kinds[i].sample
			if s.Blocked != "" && s.Blocked == e.Blocked || s.OutOfDate && e.OutOfDate ||
				s.Nonconformance && e.Nonconformance || s.Critical && e.Critical {
				kinds[i].count++
			}
		}
	}
	for p, c := range by {
		l.phases = append(l.phases, phaseCountOf{Phase(p), c})
	}
	for _, k := range kinds {
		if k.count > 0 {
			l.tags = append(l.tags, k)
		}
	}
	return l
}
