package field

import "endcast/views/ui"

// Stud is the record of one stud as welded.
type Stud struct {
	Head       Head
	Mark       string
	OutOfDate  string
	Caution    string
	Place      string // "Left face, row 5, column 1"
	Where      string // x and z
	Now        Status
	Of         string // "7 of 20"
	Prev, Next *StudLink
	Map        string
	Repairs    Repairs
	History    []CollarRow
	Pictures   []Picture
	Form       *StudForm // nil for those who only read
}

// Repairs is what may be done about a gap.
type Repairs struct {
	Gap     string // the gap in words; "" when there is none
	Problem string // why nothing can be said of it
	List    []Repair
}

// Repair is one permitted repair with its rule.
type Repair struct {
	Name, Words, Clause string
	Figures             []Figure
}

// Figure is a labelled number.
type Figure struct{ Label, Value string }

// CollarRow is one finding at one stud.
type CollarRow struct {
	Mark, Detail, Welder, When, By, Revision string
	Status                                   Status
	Latest                                   bool
}

// StudForm records a finding at one stud.
type StudForm struct {
	Sent
	Action, Show, DesignID  string
	Outcome                 ui.Field
	Outcomes                []OutcomeTile
	GapClock, GapLength     ui.Field
	Fissure                 bool
	FilletSize, FilletLen   ui.Field
	BendDeg, BendClock      ui.Field
	Height, Welder, Ferrule ui.Field
	Repair, Note, Photo     ui.Field
	PhotoHint               string
	At                      Moment
	Next                    string // mark of the next stud without a finding
}

// OutcomeTile is one outcome to choose.
type OutcomeTile struct {
	Value string
	Status
	Counts bool
}

// gap tells the script of the form whether it began with an open gap.
func (v Stud) gap() string {
	if v.Repairs.Gap != "" {
		return "open"
	}
	return "none"
}
