package outlook

import (
	"time"

	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Odds is what scatter does to the capacity of an end.
type Odds struct {
	Samples int         `json:"samples"`
	Seed    uint64      `json:"seed"`
	Demand  units.Force `json:"demand_n"`

	Below    int     `json:"below"`    // samples with a capacity below the demand
	Chance   float64 `json:"chance"`   // Below over Samples
	Low      float64 `json:"low"`      // 95 % interval of the chance, Clopper-Pearson
	High     float64 `json:"high"`     //
	Interval string  `json:"interval"` // its name
	// With the mean of the zone in place of the worst row: the other end of the band
	// of the model. The reported chance is that of the lower bound.
	UpperBelow  int     `json:"upper_below"`
	UpperChance float64 `json:"upper_chance"`

	Capacity units.Force `json:"capacity_n"` // without scatter, as reported
	Mean     units.Force `json:"mean_n"`     // of the samples
	Spread   units.Force `json:"spread_n"`   // their standard deviation
	P05      units.Force `json:"p05_n"`      // percentiles of the samples
	P50      units.Force `json:"p50_n"`
	P95      units.Force `json:"p95_n"`

	Trail  []Step   `json:"trail,omitempty"` // how the chance settled
	Inputs Scatter  `json:"inputs"`          // the numbers that went in
	In     []string `json:"in,omitempty"`    // in words: what the chance holds
	Out    []string `json:"out,omitempty"`   // in words: what it does not hold
}

// Step is the chance after the first samples.
type Step struct {
	Samples int     `json:"samples"`
	Below   int     `json:"below"`
	Chance  float64 `json:"chance"`
	Low     float64 `json:"low"`
	High    float64 `json:"high"`
}

// Scatter is what the samples were scattered by. Standard deviations in mm, and
// over the mean for yield strength and model.
type Scatter struct {
	Method       string  `json:"method"`        // of the survey
	Reading      float64 `json:"reading"`       // of one reading by that method
	Calibration  float64 `json:"calibration"`   // shared by all readings
	BiasLow      float64 `json:"bias_low"`      // ultrasonic readings are too thick by this
	BiasHigh     float64 `json:"bias_high"`     // to this
	Map          float64 `json:"map"`           // between readings
	MapFrom      string  `json:"map_from"`      // "readings", "setting" or "none"
	MapReadings  int     `json:"map_readings"`  // readings that told it
	YieldMean    float64 `json:"yield_mean"`    // over the strength on record
	YieldScatter float64 `json:"yield_scatter"` //
	ModelMean    float64 `json:"model_mean"`
	ModelScatter float64 `json:"model_scatter"`
}

// Dated is a survey with its day.
type Dated struct {
	Number int            // as the record counts surveys
	On     time.Time      // day of the readings
	Kind   string         // AsFound or Cleaned
	Method survey.Method  // survey.MethodOf what was recorded
	Survey *survey.Survey // not nil
}

// Kinds of survey.
const (
	AsFound = "as_found"
	Cleaned = "cleaned"
)

// Rate is thickness that a plate loses in a year, both faces together.
type Rate struct {
	Low     units.Length `json:"low_mm"`
	Central units.Length `json:"central_mm"`
	High    units.Length `json:"high_mm"`
	Origin  string       `json:"origin"` // in words
}

// Source says what a rate stands on.
type Source string

// Sources, in the order in which they are preferred.
const (
	FromSurveys Source = "surveys" // two surveys of this end
	FromOwner   Source = "owner"   // assumed and stated by the owner
	FromAge     Source = "age"     // loss over the years without coating
	NoRate      Source = ""        // none: no year is given
)

// Verdict says whether and when capacity falls below demand.
type Verdict string

// Verdicts.
const (
	Falls   Verdict = "falls"   // in Year
	Already Verdict = "already" // at the last survey
	Beyond  Verdict = "beyond"  // not within the horizon
	Unknown Verdict = "unknown" // no rate, no survey or no demand
)

// Fall is what time does to the capacity of an end. Years are calendar years with
// a fraction: 2031.5 is the middle of 2031. A year that is not reached within the
// horizon is zero.
type Fall struct {
	Verdict Verdict     `json:"verdict"`
	Demand  units.Force `json:"demand_n"`
	From    float64     `json:"from"` // year of the last survey
	Horizon float64     `json:"horizon"`

	Year  float64 `json:"year"`  // at the central rate
	Early float64 `json:"early"` // at the high rate
	Late  float64 `json:"late"`  // at the low rate

	Source Source   `json:"source"`
	Rate   Rate     `json:"rate"` // of the web, mean over the readings in the zone above the bearing
	Curve  []Point  `json:"curve,omitempty"`
	Pairs  []Pair   `json:"pairs,omitempty"` // every two surveys, and what they tell
	Words  []string `json:"words,omitempty"`
}

// Point is the capacity in a year; Low at the high rate of loss.
type Point struct {
	Year    float64     `json:"year"`
	Low     units.Force `json:"low_n"`
	Central units.Force `json:"central_n"`
	High    units.Force `json:"high_n"`
}

// Pair is two surveys compared.
type Pair struct {
	First  int     `json:"first"` // numbers of the surveys
	Second int     `json:"second"`
	Years  float64 `json:"years"`
	// Matched is the number of places, rows or zones compared, By says which.
	Matched int          `json:"matched"`
	By      string       `json:"by"`      // "place", "row", "zone" or nothing
	Loss    units.Length `json:"loss_mm"` // mean, first less second
	Used    bool         `json:"used"`
	Refused string       `json:"refused,omitempty"` // why it tells no rate, in words
}

// Standing is one end as the order of repair sees it.
type Standing struct {
	Name     string // of the end, for example 2F-3
	Capacity units.Force
	Demand   units.Force // zero: not known
	Fall     Verdict     // Unknown or empty where no projection was made
	Early    float64     // zero: not within the horizon
	Chance   float64
	Sampled  bool // Chance was computed
	Outside  bool // a limit of the method is not met
	Carried  bool // a repair in place carries the demand, its strength proven
}

// Ranked is an end in its place.
type Ranked struct {
	Standing
	Place  int    // from 1
	Reason string // why here, in words
}
