package casting

import (
	"github.com/a-h/templ"

	"endcast/views/ui"
)

// Curve is the strength curve of a program.
type Curve struct {
	Lead    string // which curve forecasts go by
	Missing []string
	Left    []string // sets left out
	Notes   []string
	Chart   templ.Component
	Laws    []CurveLaw
	Sets    []CurveSet
	Ages    []CurveAge
	Span    string // ages between which it is used
	Curing  string
	Default string // the curve of the design basis, in words
	Basis   string // address of its settings
	Stress  string // unit
	NoGate  string
	Methods []MethodRow
}

// CurveLaw is one law fitted to the sets.
type CurveLaw struct {
	Name, Params, RMSE, Error, Free, At28 string
	Mark                                  ui.Mark
	Why                                   string
}

// CurveSet is one set with what each law says at its age.
type CurveSet struct{ Name, Age, Mean, Kept, Off string }

// CurveAge is a strength of the curve that is used, by age.
type CurveAge struct{ Age, Low, Value, High string }

// MethodRow is one way to sum up a history of temperature.
type MethodRow struct{ Name, Formula, Words, Source, Limits string }
