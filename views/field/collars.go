package field

import (
	"strconv"

	"endcast/views/ui"
)

// Collars is the map of the studs of one end as welded.
type Collars struct {
	Head      Head
	OutOfDate string // what moved under the approved design; "" when it is current
	Caution   string // that the design is not approved
	Standing  *ui.Standing
	Design    string // "Revision 2, approved"
	Stud      string // size of the studs
	Empty     string // why there is no map
	Faces     []Face
	Counts    []Count
	Capacity  *Capacity
	Legend    []Status
	Next      *StudLink // the next stud that nobody looked at
	Form      bool      // the reader may record
	Missed    []CollarRow
	Pictures  []Picture
}

// Status is how a stud stands: a shape and a letter with their word.
type Status struct {
	Kind   string // shape: good, gap, bad, unseen
	Letter string
	Words  string
}

// Count is a number of studs of one kind.
type Count struct {
	Label string
	Count int
	Mark  ui.Mark
}

// StudLink leads to a stud.
type StudLink struct{ Mark, Href string }

// Face is the studs of one face of the web as they are seen from its side.
type Face struct {
	ID, Title, Ends string
	Columns         []string
	Rows            []StudRow
	Rest            string // address of the form that records the rest of the face
	Left            int    // studs without a finding
}

// StudRow is one row of studs, with a nil cell where the row has none.
type StudRow struct {
	Label, Height string
	Cells         []*StudCell
	Rest          string
	Left          int
}

// StudCell is one stud of the map.
type StudCell struct {
	StudLink
	Status
}

// Capacity compares the end as welded with its demand.
type Capacity struct {
	Rows    []Bar
	Demand  string
	At      string // place of the demand on the bars, in percent
	Verdict ui.Mark
	Note    string
}

// Bar is one condition of the end.
type Bar struct {
	Label, Value, Length string
	Strong               bool
}

// Rest is the form that records the rest of a row or a face as full.
type Rest struct {
	Head   Head
	Banner string
	What   string // "row 5 of the left face"
	Marks  []string
	Sent
	Action, Back, DesignID string
	Face, Row              string
	Welder, Ferrule, Note  ui.Field
	At                     Moment
}

// baseline sets the letter lower in a triangle, whose middle lies low.
func (s Status) baseline() string {
	if s.Kind == "gap" {
		return "32"
	}
	return "27"
}

func studs(n int) string {
	if n == 1 {
		return "1 stud"
	}
	return strconv.Itoa(n) + " studs"
}
