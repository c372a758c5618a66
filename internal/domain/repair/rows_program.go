package repair

import (
	"time"

	"endcast/internal/domain/units"
)

// Truck is a vehicle of the program: one of its own, or one of those that ship,
// changed. A row of a code that ships stands in place of the shipped one; a
// retired row takes the vehicle out of ratings. No row is removed.
type Truck struct {
	ID        string         `db:"id" json:"id"`
	ProgramID string         `db:"program_id" json:"program_id"`
	Code      string         `db:"code" json:"code"`
	Name      string         `db:"name" json:"name"`
	Class     string         `db:"class" json:"class"`
	AxleLoads []units.Force  `db:"axle_loads_n" json:"axle_loads_n"`
	AxleGaps  []units.Length `db:"axle_gaps_mm" json:"axle_gaps_mm"`         // to the axle before; zero for the first
	GapsMax   []units.Length `db:"axle_gaps_max_mm" json:"axle_gaps_max_mm"` // zero where a gap is fixed
	Gross     units.Force    `db:"gross_n" json:"gross_n"`
	Lane      float64        `db:"lane_n_mm" json:"lane_n_mm"` // N/mm
	LanePoint units.Force    `db:"lane_point_n" json:"lane_point_n"`
	LaneAlone bool           `db:"lane_alone" json:"lane_alone"`
	Load      string         `db:"load_name" json:"load_name"`
	Method    string         `db:"method" json:"method"`
	OneLane   bool           `db:"one_lane" json:"one_lane"`
	Gamma     float64        `db:"gamma" json:"gamma"` // live-load factor of a permit; zero: the setting
	Over      units.Length   `db:"over_mm" json:"over_mm"`
	Tag       string         `db:"tag" json:"tag"`
	Retired   bool           `db:"retired" json:"retired"`
	Source    string         `db:"source" json:"source"`
	Typed     Typed          `db:"typed" json:"typed"`
	SetBy     string         `db:"set_by" json:"set_by"`
	SetByName string         `db:"set_by_name" json:"set_by_name"`
	SetAt     time.Time      `db:"set_at" json:"set_at"`
}

// Procedure is a procedure for corroded ends that somebody entered from a
// licensed text. Its content is never altered: a correction is entered anew, as
// the next version of the same name.
type Procedure struct {
	ID         string       `db:"id" json:"id"`
	ProgramID  string       `db:"program_id" json:"program_id"`
	Name       string       `db:"name" json:"name"`
	Version    int          `db:"version" json:"version"` // among those of the name
	Body       string       `db:"body" json:"body"`
	Edition    string       `db:"edition" json:"edition"`
	Tag        string       `db:"tag" json:"tag"`
	ZoneHeight units.Length `db:"zone_height_mm" json:"zone_height_mm"`
	ZoneSearch float64      `db:"zone_search" json:"zone_search"`
	LowestRow  units.Length `db:"lowest_row_mm" json:"lowest_row_mm"`
	Averaging  string       `db:"averaging" json:"averaging"`

	YieldingSound  float64 `db:"yielding_sound" json:"yielding_sound"`
	YieldingHoled  float64 `db:"yielding_holed" json:"yielding_holed"`
	CripplingSound float64 `db:"crippling_sound" json:"crippling_sound"`
	CripplingHoled float64 `db:"crippling_holed" json:"crippling_holed"`

	DeviationFlag  float64 `db:"deviation_flag" json:"deviation_flag"`
	DeviationLimit float64 `db:"deviation_limit" json:"deviation_limit"`
	HoleLimit      float64 `db:"hole_limit" json:"hole_limit"`
	FewestReadings int     `db:"fewest_readings" json:"fewest_readings"`

	Note            string     `db:"note" json:"note"`
	Typed           Typed      `db:"typed" json:"typed"`
	TranscribedBy   string     `db:"transcribed_by" json:"transcribed_by"`
	TranscribedName string     `db:"transcribed_name" json:"transcribed_name"`
	TranscribedAt   time.Time  `db:"transcribed_at" json:"transcribed_at"`
	CheckedBy       *string    `db:"checked_by" json:"checked_by"`
	CheckedName     string     `db:"checked_name" json:"checked_name"`
	CheckedAt       *time.Time `db:"checked_at" json:"checked_at"`
	CheckNote       string     `db:"check_note" json:"check_note"`
	InForce         bool       `db:"in_force" json:"in_force"`
	ForceSince      *time.Time `db:"force_since" json:"force_since"` // when it last came in force or went out of it
	ForceReason     string     `db:"force_reason" json:"force_reason"`
	RetiredAt       *time.Time `db:"retired_at" json:"retired_at"`
	RetiredReason   string     `db:"retired_reason" json:"retired_reason"`
}

// Assumptions is the loss of web thickness a year, both faces together, that an
// owner assumes where surveys do not tell it: one row a program, none until
// somebody sets one.
type Assumptions struct {
	ProgramID string       `db:"program_id" json:"program_id"`
	RateLow   units.Length `db:"rate_low_mm" json:"rate_low_mm"`
	Rate      units.Length `db:"rate_mm" json:"rate_mm"`
	RateHigh  units.Length `db:"rate_high_mm" json:"rate_high_mm"`
	Withdrawn bool         `db:"withdrawn" json:"withdrawn"` // no rate is assumed any more
	Source    string       `db:"source" json:"source"`
	Typed     Typed        `db:"typed" json:"typed"`
	SetBy     string       `db:"set_by" json:"set_by"`
	SetByName string       `db:"set_by_name" json:"set_by_name"`
	SetAt     time.Time    `db:"set_at" json:"set_at"`
}
