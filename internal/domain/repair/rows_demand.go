package repair

import (
	"time"

	"endcast/internal/domain/units"
)

// SpanDemand is the cross section of a span as the distribution of load reads it.
// A span that nobody has entered has none.
type SpanDemand struct {
	SpanID        string       `db:"span_id" json:"span_id"`
	ProgramID     string       `db:"program_id" json:"program_id"`
	Deck          units.Length `db:"deck_mm" json:"deck_mm"`
	EdgeLeft      units.Length `db:"edge_left_mm" json:"edge_left_mm"` // web of the outer girder to the face of the curb, outboard positive
	EdgeRight     units.Length `db:"edge_right_mm" json:"edge_right_mm"`
	OverhangLeft  units.Length `db:"overhang_left_mm" json:"overhang_left_mm"`
	OverhangRight units.Length `db:"overhang_right_mm" json:"overhang_right_mm"`
	SkewNear      units.Angle  `db:"skew_near_deg" json:"skew_near_deg"`
	SkewFar       units.Angle  `db:"skew_far_deg" json:"skew_far_deg"`
	Lanes         int          `db:"lanes" json:"lanes"` // zero for as many as the roadway holds

	// For the longitudinal stiffness of a girder; a ratio of zero: not known.
	ModularRatio float64      `db:"modular_ratio" json:"modular_ratio"` // girder over deck
	Haunch       units.Length `db:"haunch_mm" json:"haunch_mm"`         // between flange and deck

	ADTT      *int      `db:"adtt" json:"adtt"` // trucks a day in one direction
	Source    string    `db:"source" json:"source"`
	Typed     Typed     `db:"typed" json:"typed"`
	SetBy     string    `db:"set_by" json:"set_by"`
	SetByName string    `db:"set_by_name" json:"set_by_name"`
	SetAt     time.Time `db:"set_at" json:"set_at"`
}

// LoadPart is one part of the dead load of a span. A part that no longer counts is
// retired.
type LoadPart struct {
	ID        string       `db:"id" json:"id"`
	ProgramID string       `db:"program_id" json:"program_id"`
	SpanID    string       `db:"span_id" json:"span_id"`
	Ord       int          `db:"ord" json:"ord"`
	Name      string       `db:"name" json:"name"`
	Bucket    string       `db:"bucket" json:"bucket"` // dc1, dc2, dw
	Kind      string       `db:"kind" json:"kind"`     // line, point, area
	Value     float64      `db:"value" json:"value"`   // N/mm, N or N/mm2 by kind
	Where     string       `db:"placed" json:"placed"` // each, shared, tributary, exterior, one
	Girder    int          `db:"girder_no" json:"girder_no"`
	At        units.Length `db:"at_mm" json:"at_mm"`         // of a point, from the bearing line toward the span
	From      string       `db:"from_side" json:"from_side"` // N or F; empty: alike from both ends
	Retired   bool         `db:"retired" json:"retired"`
	Source    string       `db:"source" json:"source"`
	Typed     Typed        `db:"typed" json:"typed"`
	SetBy     string       `db:"set_by" json:"set_by"`
	SetByName string       `db:"set_by_name" json:"set_by_name"`
	SetAt     time.Time    `db:"set_at" json:"set_at"`
}

// Ways for the demand at an end to come.
const (
	ByHandTotal = "by_hand_total" // the factored reaction of the end's facts
	ByHandParts = "by_hand_parts" // reactions of an existing calculation, unfactored
	ByStatics   = "by_statics"    // from the span and its parts
)

// EndDemand is how the demand at an end comes. An end without one has its factored
// total by hand.
type EndDemand struct {
	EndID           string       `db:"end_id" json:"end_id"`
	How             string       `db:"how" json:"how"`
	DC1             *units.Force `db:"dc1_n" json:"dc1_n"`
	DC2             *units.Force `db:"dc2_n" json:"dc2_n"`
	DW              *units.Force `db:"dw_n" json:"dw_n"`
	Live            *units.Force `db:"live_n" json:"live_n"`               // design load with share and impact
	Condition       string       `db:"condition" json:"condition"`         // of the member, for rating; empty: not stated
	LossMeasured    bool         `db:"loss_measured" json:"loss_measured"` // an engineer lets the measured loss raise the condition factor
	WearingMeasured bool         `db:"wearing_measured" json:"wearing_measured"`
	Source          string       `db:"source" json:"source"`
	Typed           Typed        `db:"typed" json:"typed"`
	SetBy           string       `db:"set_by" json:"set_by"`
	SetByName       string       `db:"set_by_name" json:"set_by_name"`
	SetAt           time.Time    `db:"set_at" json:"set_at"`
}

// Outlook is what uncertainty, time and rating say of an end, derived from the
// record. Each part has the digest of what it follows from, so that an edit that
// does not touch it leaves it as it is.
type Outlook struct {
	EndID         string `db:"end_id" json:"end_id"`
	ProgramID     string `db:"program_id" json:"program_id"`
	MethodVersion string `db:"method_version" json:"method_version"`
	InputDigest   string `db:"input_digest" json:"input_digest"`
	ChanceDigest  string `db:"chance_digest" json:"chance_digest"`
	FallDigest    string `db:"fall_digest" json:"fall_digest"`
	ShareDigest   string `db:"share_digest" json:"share_digest"`
	RatingDigest  string `db:"rating_digest" json:"rating_digest"`

	Chance     *float64 `db:"chance" json:"chance"`
	ChanceLow  *float64 `db:"chance_low" json:"chance_low"`
	ChanceHigh *float64 `db:"chance_high" json:"chance_high"`
	Samples    int      `db:"samples" json:"samples"`
	Seed       int64    `db:"seed" json:"seed"`
	Odds       []byte   `db:"odds" json:"odds"` // outlook.Odds

	FallVerdict string   `db:"fall_verdict" json:"fall_verdict"`
	FallYear    *float64 `db:"fall_year" json:"fall_year"`
	FallEarly   *float64 `db:"fall_early" json:"fall_early"`
	FallLate    *float64 `db:"fall_late" json:"fall_late"`
	Fall        []byte   `db:"fall" json:"fall"` // outlook.Fall

	RatingNew      *float64 `db:"rating_new" json:"rating_new"`
	RatingCorroded *float64 `db:"rating_corroded" json:"rating_corroded"`
	RatingRepaired *float64 `db:"rating_repaired" json:"rating_repaired"`
	RatingWelded   *float64 `db:"rating_welded" json:"rating_welded"`
	Rating         []byte   `db:"rating" json:"rating"` // RatingSummary

	ShareLow      *float64 `db:"share_low" json:"share_low"`
	ShareHigh     *float64 `db:"share_high" json:"share_high"`
	ReductionLow  *float64 `db:"reduction_low" json:"reduction_low"`
	ReductionHigh *float64 `db:"reduction_high" json:"reduction_high"`
	Foreseen      []byte   `db:"foreseen" json:"foreseen"` // encasement.Foreseen
}
