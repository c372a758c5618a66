package casting

import (
	"endcast/internal/domain/fault"
	"endcast/views/tablet"
	"endcast/views/ui"
)

// SpecimenView is the page of one specimen, from mold to break.
type SpecimenView struct {
	Mark, Base   string // address of the page
	Report       string
	State        ui.Mark
	Why          []string
	Life         []Pair
	Result       []Pair
	Bad          *fault.Invalid
	Refused      string
	Entry        string
	Break        *SpecimenForm // enter the break, or correct it
	MayKeep      bool          // demold, lose
	MayReview    bool          // leave out, take in again
	Demolded     bool
	Broken, Lost bool
	Excluded     bool
	DemoldAt     ui.Field
	LoseWhy      ui.Field
	ExcludeWhy   ui.Field
}

// SpecimenForm is the boxes of a break.
type SpecimenForm struct {
	Act, Submit string
	Boxes       []ui.Field
	Cube        bool
	Ground      bool
	Reason      *ui.Field // asked for by a correction
}

// ReportView is the strength report of a casting.
type ReportView struct {
	Number, When, By, Program string
	Ends                      []Link
	Pour, Labels, Paper       string
	Zone, Stress, Force       string
	Length                    string
	Missing                   string // specimens that are not broken
	Refused                   string // batches
	Sets                      []SetReport
	Limits                    []Limit
	Bad                       *fault.Invalid
}

// SetReport is one set with every specimen and every number of it.
type SetReport struct {
	ID, Title         string
	Mark              ui.Mark
	Words             []string
	Rows              []SpecimenRow
	Numbers           []Pair
	Review            string // address, empty where the reader does not review
	Hidden            []Pair
	Reason, VerdictOf ui.Field
}

// SpecimenRow is one specimen of a report.
type SpecimenRow struct {
	Mark, Href, Broken, Age, Load, Sizes, Ground, Fracture, Raw, Factor, Value string
	State                                                                      ui.Mark
	Why                                                                        string
}

// SpecLabels is a sheet of labels of specimens.
type SpecLabels struct {
	Title  string
	Back   string
	Labels []SpecLabel
}

// SpecLabel is one label with the code that opens its specimen.
type SpecLabel struct {
	Label
	Code tablet.Code
}

// Week is the list of breaks of the days to come.
type Week struct {
	From, Zone, Load, Length string
	Days                     []WeekDay
}

// WeekDay is the breaks of one day.
type WeekDay struct {
	Title string
	Mark  ui.Mark
	Rows  []WeekRow
}

// WeekRow is a set to be broken.
type WeekRow struct {
	When, Marks, What, Window, Pour, Note string
	Each                                  []string
}
