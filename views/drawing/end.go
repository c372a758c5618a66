package drawing

import (
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// View says which face of the web an elevation shows.
type View uint8

// Views.
const (
	Combined  View = iota // least of all readings; studs of both faces, those behind dashed
	LeftFace              // left looking ahead station
	RightFace             // right looking ahead station
)

// StudStatus is what the collar inspection said of a stud.
type StudStatus uint8

// Statuses. Designed is drawn where a drawing is not about inspection at all.
const (
	Designed StudStatus = iota
	NotInspected
	Accepted
	Rejected
)

// Words is the status in plain words.
func (s StudStatus) Words() string {
	switch s {
	case NotInspected:
		return "not inspected"
	case Accepted:
		return "accepted"
	case Rejected:
		return "rejected"
	}
	return "as designed"
}

func (s StudStatus) key() string {
	switch s {
	case NotInspected:
		return "waiting"
	case Accepted:
		return "accepted"
	case Rejected:
		return "rejected"
	}
	return "designed"
}

// EndData is what the elevation of a girder end shows. Survey, Design and Overlay
// may each be nil: what is missing is not drawn.
type EndData struct {
	ID       string // prefix of element ids, when a page has more than one drawing
	Title    string // "" for the name of the end
	Support  string // what the owner calls the support, "Pier 2"
	System   units.System
	Geometry girder.Geometry
	Survey   *survey.Survey
	Design   *encasement.Design
	Revision string                // of Design
	Status   map[string]StudStatus // by mark of the stud
	// Overlay is another revision, drawn behind Design in dotted lines with the
	// moves between the two.
	Overlay         *encasement.Design
	OverlayRevision string
	View            View
	// TrueView turns the drawing as the face is seen from the side, so that the end
	// of the girder may lie on the right. Otherwise it always lies on the left.
	TrueView bool
	// Bands are the least remaining shares of the web thickness of the upper four
	// bands, falling; zero for DefaultBands.
	Bands [4]float64
	// Pins are numbered places, of photographs where PinNote does not say otherwise.
	Pins    []Pin
	PinNote string // what the numbers are, in a sentence
	// Width is the room in pixels, 0 for 1140.
	Width float64
}

// Pin is the place of a photograph or a remark on an elevation, with the number that it
// has in the list beside the drawing.
type Pin struct {
	Label, Words string
	Right        bool // on the right face; drawn as a diamond, one on the left face round
	X, Z         units.Length
}

// DefaultBands are a convention of our own drawings (our proposal), set near what
// inspection manuals call minor, moderate, advanced and severe (from memory). They
// shade the drawing, which says so in its legend; no check reads them.
var DefaultBands = [4]float64{0.85, 0.70, 0.50, 0.25}

// Sizes of the elevation in pixels.
const (
	endWidth   = 1140.0
	endTall    = 600.0 // most height of the girder
	endMargin  = 74.0  // room on the side of the girder end: scale of z
	endAhead   = 104.0 // room on the other side: dimensions
	endTop     = 84.0  // room over the girder: dimensions
	endFoot    = 128.0 // room under the bearing: scale of x
	sectionGap = 46.0  // between the elevation and the section
	sectionEnd = 84.0  // room right of the section
	bearingPx  = 44.0  // height of a bearing symbol
	mostDims   = 14    // rows or columns of studs that are still dimensioned
)

// flipped tells whether the girder end lies on the right when the face is seen
// from the side: the left face, seen looking right, has ahead station on its left.
func flipped(name girder.Name, v View) bool {
	return (name.Side == girder.Far) != (v == LeftFace)
}
