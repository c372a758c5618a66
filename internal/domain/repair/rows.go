// Package repair is the girder end as one record: everything known of it, what
// may be done to it, what that changes, and the numbers that follow.
//
// A Change is applied to a Scope (the program and the ends it concerns), which
// is then recomputed; the caller stores what differs. Nothing here reads a
// clock or draws an identifier: both come in with the Context.
package repair

import (
	"time"

	"endcast/internal/domain/units"
)

// The row types hold one row each of the table of the same name. Field tags are
// the column names and also the names used in the journal, so that an entry can
// be read against the schema without the program.

// Typed keeps what a person typed, by column, so that it is shown back as typed.
// It never enters a calculation.
type Typed map[string]string

// orNone is t, or an empty one for nil, as a row holds it.
func (t Typed) orNone() Typed {
	if t == nil {
		return Typed{}
	}
	return t
}

// Program is one bridge-wide repair program.
type Program struct {
	ID               string     `db:"id" json:"id"`
	Code             string     `db:"code" json:"code"`
	Name             string     `db:"name" json:"name"`
	Owner            string     `db:"owner" json:"owner"`
	Carries          string     `db:"carries" json:"carries"`
	Contract         string     `db:"contract" json:"contract"`
	BuiltYear        *int       `db:"built_year" json:"built_year"`
	Units            string     `db:"units" json:"units"`
	Timezone         string     `db:"timezone" json:"timezone"`
	Today            *time.Time `db:"today" json:"today"`
	CompletionDue    *time.Time `db:"completion_due" json:"completion_due"`
	FieldStart       *time.Time `db:"field_start" json:"field_start"`
	MockupAcceptedAt *time.Time `db:"mockup_accepted_at" json:"mockup_accepted_at"`
	MockupAcceptedBy string     `db:"mockup_accepted_by" json:"mockup_accepted_by"`
	MockupNote       string     `db:"mockup_note" json:"mockup_note"`
	IsDemo           bool       `db:"is_demo" json:"is_demo"`
	Version          int64      `db:"version" json:"-"`
	CreatedAt        time.Time  `db:"created_at" json:"created_at"`
	// MockupRoles are the roles that must accept a mock-up; empty: the default.
	MockupRoles []string `db:"mockup_roles" json:"mockup_roles,omitempty"`
	// PhotoPolicy is what is done about the metadata of photographs.
	PhotoPolicy string `db:"photo_policy" json:"photo_policy,omitempty"`
}

// BasisSetting is one setting of the design basis that the program changed.
type BasisSetting struct {
	ProgramID string    `db:"program_id" json:"program_id"`
	Key       string    `db:"key" json:"key"`
	Value     float64   `db:"value" json:"value"`
	Typed     string    `db:"typed" json:"typed"`
	Source    string    `db:"source" json:"source"`
	SetBy     string    `db:"set_by" json:"set_by"`
	SetAt     time.Time `db:"set_at" json:"set_at"`
}

// Support is an abutment or a pier.
type Support struct {
	ID        string       `db:"id" json:"id"`
	ProgramID string       `db:"program_id" json:"program_id"`
	Ord       int          `db:"ord" json:"ord"`
	Code      string       `db:"code" json:"code"`
	Name      string       `db:"name" json:"name"`
	Station   units.Length `db:"station_mm" json:"station_mm"`
	Typed     Typed        `db:"typed" json:"typed,omitempty"`
}

// Span runs between two supports in the ahead direction.
type Span struct {
	ID             string       `db:"id" json:"id"`
	ProgramID      string       `db:"program_id" json:"program_id"`
	Number         int          `db:"number" json:"number"`
	Length         units.Length `db:"length_mm" json:"length_mm"`
	Girders        int          `db:"girders" json:"girders"`
	Spacing        units.Length `db:"spacing_mm" json:"spacing_mm"`
	FromSupportID  string       `db:"from_support_id" json:"from_support_id"`
	ToSupportID    string       `db:"to_support_id" json:"to_support_id"`
	ContinuousNext bool         `db:"continuous_next" json:"continuous_next"`
	Note           string       `db:"note" json:"note"`
	Typed          Typed        `db:"typed" json:"typed,omitempty"`
}

// Section is a row of the program's own section list.
type Section struct {
	ID                 string       `db:"id" json:"id"`
	ProgramID          string       `db:"program_id" json:"program_id"`
	Name               string       `db:"name" json:"name"`
	Kind               string       `db:"kind" json:"kind"`
	Depth              units.Length `db:"depth_mm" json:"depth_mm"`
	FlangeWidth        units.Length `db:"flange_width_mm" json:"flange_width_mm"`
	FlangeThickness    units.Length `db:"flange_thickness_mm" json:"flange_thickness_mm"`
	TopFlangeWidth     units.Length `db:"top_flange_width_mm" json:"top_flange_width_mm"`
	TopFlangeThickness units.Length `db:"top_flange_thickness_mm" json:"top_flange_thickness_mm"`
	WebThickness       units.Length `db:"web_thickness_mm" json:"web_thickness_mm"`
	FilletK            units.Length `db:"fillet_k_mm" json:"fillet_k_mm"`
	Source             string       `db:"source" json:"source"`
	Typed              Typed        `db:"typed" json:"typed"`
}

// End is one girder end as built, with the factored reaction it must carry.
type End struct {
	ID              string       `db:"id" json:"id"`
	ProgramID       string       `db:"program_id" json:"program_id"`
	SpanID          string       `db:"span_id" json:"span_id"`
	SupportID       string       `db:"support_id" json:"support_id"`
	Name            string       `db:"name" json:"name"`
	SpanNo          int          `db:"span_no" json:"span_no"`
	Side            string       `db:"side" json:"side"`
	GirderNo        int          `db:"girder_no" json:"girder_no"`
	Face            string       `db:"face" json:"face"`
	Alias           string       `db:"alias" json:"alias"`
	Skew            units.Angle  `db:"skew_deg" json:"skew_deg"`
	SectionID       string       `db:"section_id" json:"section_id"`
	BearingKind     string       `db:"bearing_kind" json:"bearing_kind"`
	BearingFixed    bool         `db:"bearing_fixed" json:"bearing_fixed"`
	BearingStart    units.Length `db:"bearing_start_mm" json:"bearing_start_mm"`
	BearingLength   units.Length `db:"bearing_length_mm" json:"bearing_length_mm"`
	BearingWidth    units.Length `db:"bearing_width_mm" json:"bearing_width_mm"`
	StiffenerPairs  int          `db:"stiffener_pairs" json:"stiffener_pairs"`
	StiffenerWidth  units.Length `db:"stiffener_width_mm" json:"stiffener_width_mm"`
	StiffenerThick  units.Length `db:"stiffener_thickness_mm" json:"stiffener_thickness_mm"`
	StiffenerClip   units.Length `db:"stiffener_clip_mm" json:"stiffener_clip_mm"`
	StiffenerX      units.Length `db:"stiffener_x_mm" json:"stiffener_x_mm"`
	StiffenerFy     units.Stress `db:"stiffener_fy_mpa" json:"stiffener_fy_mpa"`
	Fy              units.Stress `db:"fy_mpa" json:"fy_mpa"`
	Fu              units.Stress `db:"fu_mpa" json:"fu_mpa"`
	FyOrigin        string       `db:"fy_origin" json:"fy_origin"`
	HeldAgainstRoll bool         `db:"held_against_roll" json:"held_against_roll"`
	DiaphragmX      units.Length `db:"diaphragm_x_mm" json:"diaphragm_x_mm"`
	EndPanel        units.Length `db:"end_panel_mm" json:"end_panel_mm"`
	Reaction        units.Force  `db:"reaction_n" json:"reaction_n"`
	ReactionOrigin  string       `db:"reaction_origin" json:"reaction_origin"`
	Access          string       `db:"access" json:"access"`
	Typed           Typed        `db:"typed" json:"typed"`
	ChosenSteps     []string     `db:"chosen_steps" json:"chosen_steps"`
	Version         int64        `db:"version" json:"-"`
	CreatedAt       time.Time    `db:"created_at" json:"created_at"`
	UpdatedAt       time.Time    `db:"updated_at" json:"-"`
}

// Survey is one visit's findings apart from its readings and holes.
type Survey struct {
	ID             string        `db:"id" json:"id"`
	EndID          string        `db:"end_id" json:"end_id"`
	Number         int           `db:"number" json:"number"`
	Kind           string        `db:"kind" json:"kind"`
	Method         string        `db:"method" json:"method"`
	Gauge          string        `db:"gauge" json:"gauge"`
	FlangeThick    *units.Length `db:"flange_thickness_mm" json:"flange_thickness_mm"`
	StiffenerThick *units.Length `db:"stiffener_thickness_mm" json:"stiffener_thickness_mm"`
	StiffenerWidth *units.Length `db:"stiffener_width_mm" json:"stiffener_width_mm"`
	WebDeviation   units.Length  `db:"web_deviation_mm" json:"web_deviation_mm"`
	WebDetached    units.Length  `db:"web_detached_mm" json:"web_detached_mm"`
	ThickerReason  string        `db:"thicker_reason" json:"thicker_reason"`
	Note           string        `db:"note" json:"note"`
	Typed          Typed         `db:"typed" json:"typed"`
	TakenBy        string        `db:"taken_by" json:"taken_by"`
	CapturedAt     time.Time     `db:"captured_at" json:"captured_at"`
	ArrivedAt      time.Time     `db:"arrived_at" json:"arrived_at"`
	RecordedBy     string        `db:"recorded_by" json:"recorded_by"`
}

// Reading is one remaining thickness; a corrected one names what superseded it.
type Reading struct {
	ID           string       `db:"id" json:"id"`
	EndID        string       `db:"end_id" json:"end_id"`
	SurveyID     string       `db:"survey_id" json:"survey_id"`
	Face         string       `db:"face" json:"face"`
	X            units.Length `db:"x_mm" json:"x_mm"`
	Z            units.Length `db:"z_mm" json:"z_mm"`
	T            units.Length `db:"t_mm" json:"t_mm"`
	Typed        string       `db:"typed" json:"typed"` // the thickness
	TypedX       string       `db:"typed_x" json:"typed_x,omitempty"`
	TypedZ       string       `db:"typed_z" json:"typed_z,omitempty"`
	NoAccess     bool         `db:"no_access" json:"no_access"`
	Reason       string       `db:"reason" json:"reason,omitempty"` // why there was no access
	SupersededBy *string      `db:"superseded_by" json:"superseded_by"`
	CapturedAt   time.Time    `db:"captured_at" json:"captured_at"`
}

// Hole is a rectangle round a hole through the web.
type Hole struct {
	ID        string       `db:"id" json:"id"`
	EndID     string       `db:"end_id" json:"end_id"`
	SurveyID  string       `db:"survey_id" json:"survey_id"`
	X         units.Length `db:"x_mm" json:"x_mm"`
	Z         units.Length `db:"z_mm" json:"z_mm"`
	Width     units.Length `db:"width_mm" json:"width_mm"`
	Height    units.Length `db:"height_mm" json:"height_mm"`
	Rim       units.Length `db:"rim_mm" json:"rim_mm"`
	Withdrawn bool         `db:"withdrawn" json:"withdrawn"`
	Typed     Typed        `db:"typed" json:"typed,omitempty"`
}

// Design is one revision of the repair at an end.
type Design struct {
	ID           string       `db:"id" json:"id"`
	EndID        string       `db:"end_id" json:"end_id"`
	Revision     int          `db:"revision" json:"revision"`
	State        string       `db:"state" json:"state"`
	SurveyID     *string      `db:"survey_id" json:"survey_id"`
	StudDiameter units.Length `db:"stud_diameter_mm" json:"stud_diameter_mm"`
	StudHeight   units.Length `db:"stud_height_mm" json:"stud_height_mm"`
	StudFu       units.Stress `db:"stud_fu_mpa" json:"stud_fu_mpa"`
	Fc           units.Stress `db:"fc_mpa" json:"fc_mpa"`
	PanelX       units.Length `db:"panel_x_mm" json:"panel_x_mm"`
	PanelZ       units.Length `db:"panel_z_mm" json:"panel_z_mm"`
	PanelWidth   units.Length `db:"panel_width_mm" json:"panel_width_mm"`
	PanelHeight  units.Length `db:"panel_height_mm" json:"panel_height_mm"`
	PanelLeft    units.Length `db:"panel_left_mm" json:"panel_left_mm"`
	PanelRight   units.Length `db:"panel_right_mm" json:"panel_right_mm"`
	PanelGap     units.Length `db:"panel_gap_mm" json:"panel_gap_mm"`
	Note         string       `db:"note" json:"note"`
	Typed        Typed        `db:"typed" json:"typed"`
	DesignedBy   string       `db:"designed_by" json:"designed_by"`
	CreatedAt    time.Time    `db:"created_at" json:"created_at"`
	SubmittedAt  *time.Time   `db:"submitted_at" json:"submitted_at"`
	InputDigest  string       `db:"input_digest" json:"input_digest"`
}

// Stud is one stud of a design revision.
type Stud struct {
	ID       string       `db:"id" json:"id"`
	EndID    string       `db:"end_id" json:"end_id"`
	DesignID string       `db:"design_id" json:"design_id"`
	Mark     string       `db:"mark" json:"mark"`
	Row      int          `db:"row_no" json:"row_no"`
	Col      int          `db:"col_no" json:"col_no"`
	X        units.Length `db:"x_mm" json:"x_mm"`
	Z        units.Length `db:"z_mm" json:"z_mm"`
	Face     string       `db:"face" json:"face"`
	Removed  bool         `db:"removed" json:"removed"`
}

// Review is one decision on a design revision with the digest of what it was
// made on.
type Review struct {
	ID           string    `db:"id" json:"id"`
	EndID        string    `db:"end_id" json:"end_id"`
	DesignID     string    `db:"design_id" json:"design_id"`
	Decision     string    `db:"decision" json:"decision"`
	Reasons      string    `db:"reasons" json:"reasons"`
	Meaning      string    `db:"meaning" json:"meaning"`
	Reviewer     string    `db:"reviewer" json:"reviewer"`
	ReviewerName string    `db:"reviewer_name" json:"reviewer_name"`
	ReviewerRole string    `db:"reviewer_role" json:"reviewer_role"`
	At           time.Time `db:"at" json:"at"`
	InputDigest  string    `db:"input_digest" json:"input_digest"`
	// StandsOn is what the decision was made on, line by line; none for one of before
	// that was kept.
	StandsOn []StandFact `db:"stands_on" json:"stands_on,omitempty"`
}

// ReviewNote is one thing that an approval as noted asks for; it is shown wherever
// the design is worked to.
type ReviewNote struct {
	ID       string `db:"id" json:"id"`
	EndID    string `db:"end_id" json:"end_id"`
	DesignID string `db:"design_id" json:"design_id"`
	ReviewID string `db:"review_id" json:"review_id"`
	Number   int    `db:"number" json:"number"`
	Note     string `db:"note" json:"note"`
}

// ReviewQuestion is a question on a revision, pinned to a place of the drawing, to a
// line of the sheet, or to neither. What became of it is told by its answers.
type ReviewQuestion struct {
	ID       string        `db:"id" json:"id"`
	EndID    string        `db:"end_id" json:"end_id"`
	DesignID string        `db:"design_id" json:"design_id"`
	Number   int           `db:"number" json:"number"` // counts through the end
	Question string        `db:"question" json:"question"`
	Face     string        `db:"face" json:"face"`
	X        *units.Length `db:"x_mm" json:"x_mm"`
	Z        *units.Length `db:"z_mm" json:"z_mm"`
	Line     string        `db:"line" json:"line"` // key of a check on the sheet
	Holds    bool          `db:"holds" json:"holds"`
	Typed    Typed         `db:"typed" json:"typed,omitempty"`
	ByUser   string        `db:"by_user" json:"by_user"`
	ByName   string        `db:"by_name" json:"by_name"`
	ByRole   string        `db:"by_role" json:"by_role"`
	At       time.Time     `db:"at" json:"at"`
}

// ReviewAnswer is one thing said after a question: an answer, that it is asked again,
// or that it is withdrawn. The last one says where the question stands.
type ReviewAnswer struct {
	ID         string    `db:"id" json:"id"`
	EndID      string    `db:"end_id" json:"end_id"`
	QuestionID string    `db:"question_id" json:"question_id"`
	Kind       string    `db:"kind" json:"kind"`
	Answer     string    `db:"answer" json:"answer"`
	ByUser     string    `db:"by_user" json:"by_user"`
	ByName     string    `db:"by_name" json:"by_name"`
	ByRole     string    `db:"by_role" json:"by_role"`
	At         time.Time `db:"at" json:"at"`
}

// StepRecord is one dated act on a step of an end's sequence.
type StepRecord struct {
	ID         string    `db:"id" json:"id"`
	EndID      string    `db:"end_id" json:"end_id"`
	StepID     string    `db:"step_id" json:"step_id"`
	Kind       string    `db:"kind" json:"kind"`
	ByUser     string    `db:"by_user" json:"by_user"`
	ByName     string    `db:"by_name" json:"by_name"`
	ByRole     string    `db:"by_role" json:"by_role"`
	Note       string    `db:"note" json:"note"`
	Ticks      []string  `db:"ticks" json:"ticks"`
	CapturedAt time.Time `db:"captured_at" json:"captured_at"`
	ArrivedAt  time.Time `db:"arrived_at" json:"arrived_at"`
}

// State is what lists sort and filter by, derived from the record.
type State struct {
	EndID           string       `db:"end_id" json:"end_id"`
	ProgramID       string       `db:"program_id" json:"program_id"`
	SortKey         string       `db:"sort_key" json:"sort_key"`
	Name            string       `db:"name" json:"name"`
	SupportCode     string       `db:"support_code" json:"support_code"`
	SectionName     string       `db:"section_name" json:"section_name"`
	Access          string       `db:"access" json:"access"`
	StepOrd         int          `db:"step_ord" json:"step_ord"`
	StepCode        string       `db:"step_code" json:"step_code"`
	StepName        string       `db:"step_name" json:"step_name"`
	Closed          bool         `db:"closed" json:"closed"`
	Track           string       `db:"track" json:"track"`
	Reason          string       `db:"reason" json:"reason"`
	ReasonText      string       `db:"reason_text" json:"reason_text"`
	Actor           string       `db:"actor" json:"actor"`
	Since           *time.Time   `db:"since" json:"since"`
	LossMax         *float64     `db:"loss_max" json:"loss_max"`
	Demand          units.Force  `db:"demand_n" json:"demand_n"`
	CapacityNew     units.Force  `db:"capacity_new_n" json:"capacity_new_n"`
	Capacity        *units.Force `db:"capacity_n" json:"capacity_n"`
	CapacityVerdict string       `db:"capacity_verdict" json:"capacity_verdict"`
	Governing       string       `db:"governing" json:"governing"`
	Repaired        *units.Force `db:"repaired_n" json:"repaired_n"`
	DesignRevision  *int         `db:"design_revision" json:"design_revision"`
	DesignState     string       `db:"design_state" json:"design_state"`
	OutOfDate       bool         `db:"out_of_date" json:"out_of_date"`
	OpenNCR         int          `db:"open_ncr" json:"open_ncr"`
	MethodVersion   string       `db:"method_version" json:"method_version"`
	InputDigest     string       `db:"input_digest" json:"input_digest"`
	DemandHow       string       `db:"demand_how" json:"demand_how"`
	Outside         bool         `db:"outside" json:"outside"` // a limit of the method is not met, by the latest survey
	Chance          *float64     `db:"chance" json:"chance"`   // that capacity is below demand
	FallVerdict     string       `db:"fall_verdict" json:"fall_verdict"`
	FallEarly       *float64     `db:"fall_early" json:"fall_early"`     // calendar year
	RatingLeast     *float64     `db:"rating_least" json:"rating_least"` // of the end as it is: corroded, or as new without a survey
	Reserve         float64      `db:"reserve" json:"reserve"`           // capacity over demand, of the same
	RankClass       int          `db:"rank_class" json:"rank_class"`     // place in the order of repair, see Rank
	RankKey         float64      `db:"rank_key" json:"rank_key"`
	Stale           string       `db:"stale" json:"stale"`         // effect of what moved under the approval, see Effect
	StaleWhy        string       `db:"stale_why" json:"stale_why"` // its gravest line
	WaitsSince      *time.Time   `db:"waits_since" json:"waits_since"`
	WaitsLayout     string       `db:"waits_layout" json:"waits_layout"` // digest of section and layout of the revision that waits
	Questions       int          `db:"questions" json:"questions"`       // open ones, on any revision
}

// Result is one stored evaluation: the end as new, corroded, repaired as
// designed, or repaired as welded.
type Result struct {
	EndID         string      `db:"end_id" json:"end_id"`
	Subject       string      `db:"subject" json:"subject"`
	MethodVersion string      `db:"method_version" json:"method_version"`
	InputDigest   string      `db:"input_digest" json:"input_digest"`
	Capacity      units.Force `db:"capacity_n" json:"capacity_n"`
	Demand        units.Force `db:"demand_n" json:"demand_n"`
	Verdict       string      `db:"verdict" json:"verdict"`
	Governing     string      `db:"governing" json:"governing"`
	Checks        []byte      `db:"checks" json:"checks"`
}
