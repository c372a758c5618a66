package resistance

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
)

// Averaging says which thickness of the web a procedure gives to the crippling
// rule.
type Averaging string

// Rules of averaging.
const (
	RowMinimum Averaging = "row_minimum" // mean of the worst row: the lower bound
	ZoneMean   Averaging = "zone_mean"   // mean of the zone above the bearing
	Thinnest   Averaging = "thinnest"    // smallest value of the map in the zone
)

// words is the rule for a reader.
func (a Averaging) words() string {
	switch a {
	case ZoneMean:
		return "mean of the zone above the bearing"
	case Thinnest:
		return "thinnest place of the map"
	default:
		return "mean of the thinnest row above the bearing"
	}
}

// Factors are what a procedure multiplies a resistance by, for an end without and
// with holes in the lowest row. Zero counts as one.
type Factors struct{ Sound, Holed float64 }

func (f Factors) of(holed bool) float64 {
	a := f.Sound
	if holed {
		a = f.Holed
	}
	if a == 0 {
		return 1
	}
	return a
}

// Procedure turns a thickness map into the inputs of the rules for sound steel.
// An owner whose manual has a procedure of its own has an engineer enter it from
// the licensed text, with name and date.
type Procedure struct {
	Name, Body, Edition string
	Tag                 basis.Tag

	ZoneHeight units.Length // least height of the zone above the bearing
	ZoneSearch float64      // part of the web depth searched for the worst row
	LowestRow  units.Length // height of the lowest row, above the fillet
	Averaging  Averaging
	Yielding   Factors
	Crippling  Factors

	// Limits of validity. Over the mean thickness of the zone, and over the bearing
	// length; readings in the zone.
	DeviationFlag, DeviationLimit float64
	HoleLimit                     float64
	FewestReadings                int

	CheckedBy, CheckedOn string // engineer and date (2006-01-02) of the comparison with the licensed text
}

// Default is the procedure that ships: ours, with its numbers from the basis.
func Default(b basis.Basis) Procedure {
	return Procedure{
		Name: "Row minimum, lower bound", Body: "proposal of this program", Edition: "1", Tag: basis.Proposal,
		ZoneHeight: units.Length(b.Value(basis.WebZoneHeight)), ZoneSearch: b.Value(basis.WebZoneSearch), LowestRow: units.Length(b.Value(basis.WebLowestRow)),
		Averaging: RowMinimum, DeviationFlag: b.Value(basis.WebDeviationFlag), DeviationLimit: b.Value(basis.WebDeviationLimit),
		HoleLimit: b.Value(basis.WebHoleLimit), FewestReadings: int(b.Value(basis.SurveyLeastReadings)),
	}
}

// unchecked reports whether the procedure claims a body's authority without an
// engineer having compared it with the text.
func (pr Procedure) unchecked() bool {
	return pr.Tag != basis.Proposal && (pr.CheckedBy == "" || pr.CheckedOn == "")
}
