package repair

import (
	"time"

	"endcast/internal/domain/units"
)

// Mockup is a trial casting of like size and shape, made before any end is cast.
type Mockup struct {
	ID           string        `db:"id" json:"id"`
	ProgramID    string        `db:"program_id" json:"program_id"`
	Number       int           `db:"number" json:"number"`
	CastAt       time.Time     `db:"cast_at" json:"cast_at"`
	StandsFor    string        `db:"stands_for" json:"stands_for"`
	Width        *units.Length `db:"width_mm" json:"width_mm"`
	Height       *units.Length `db:"height_mm" json:"height_mm"`
	Thickness    *units.Length `db:"thickness_mm" json:"thickness_mm"`
	Head         *units.Length `db:"head_mm" json:"head_mm"`
	Obstructions string        `db:"obstructions" json:"obstructions"`
	Flow         *units.Length `db:"flow_mm" json:"flow_mm"`
	FillMin      *float64      `db:"fill_min" json:"fill_min"`
	LeakFree     bool          `db:"leak_free" json:"leak_free"`
	Leaks        string        `db:"leaks" json:"leaks"`
	SectionsCut  int           `db:"sections_cut" json:"sections_cut"`
	Voids        string        `db:"voids" json:"voids"`
	FiberSpread  string        `db:"fiber_spread" json:"fiber_spread"`
	Note         string        `db:"note" json:"note"`
	State        string        `db:"state" json:"state"`
	StateWhy     string        `db:"state_why" json:"state_why"`
	ByUser       string        `db:"by_user" json:"by_user"`
	ByName       string        `db:"by_name" json:"by_name"`
	ByRole       string        `db:"by_role" json:"by_role"`
	CapturedAt   time.Time     `db:"captured_at" json:"captured_at"`
	ArrivedAt    time.Time     `db:"arrived_at" json:"arrived_at"`
	Typed        Typed         `db:"typed" json:"typed"`
}

// MockupDecision is what one role decided on a mock-up, with the digest of what it
// was decided on.
type MockupDecision struct {
	ID        string    `db:"id" json:"id"`
	ProgramID string    `db:"program_id" json:"program_id"`
	MockupID  string    `db:"mockup_id" json:"mockup_id"`
	Role      string    `db:"role" json:"role"`
	Decision  string    `db:"decision" json:"decision"`
	Reasons   string    `db:"reasons" json:"reasons"`
	Waived    string    `db:"waived" json:"waived"` // why strengths that are not there were not asked for
	Meaning   string    `db:"meaning" json:"meaning"`
	ByUser    string    `db:"by_user" json:"by_user"`
	ByName    string    `db:"by_name" json:"by_name"`
	At        time.Time `db:"at" json:"at"`
	Digest    string    `db:"digest" json:"digest"`
}

// PlannedSet is one line of what the contract asks to be made of a casting. A
// retired line stays on record.
type PlannedSet struct {
	ID          string    `db:"id" json:"id"`
	ProgramID   string    `db:"program_id" json:"program_id"`
	Ord         int       `db:"ord" json:"ord"`
	Kind        string    `db:"kind" json:"kind"`
	Curing      string    `db:"curing" json:"curing"`
	Duty        string    `db:"duty" json:"duty"`
	NominalDays float64   `db:"nominal_days" json:"nominal_days"`
	Count       int       `db:"count" json:"count"`
	Per         string    `db:"per" json:"per"`
	Purpose     string    `db:"purpose" json:"purpose"`
	Source      string    `db:"source" json:"source"`
	SetBy       string    `db:"set_by" json:"set_by"`
	SetByName   string    `db:"set_by_name" json:"set_by_name"`
	SetAt       time.Time `db:"set_at" json:"set_at"`
	Retired     bool      `db:"retired" json:"retired"`
}

// BatchEnd says that a batch went to an end.
type BatchEnd struct {
	BatchID string   `db:"batch_id" json:"batch_id"`
	EndID   string   `db:"end_id" json:"end_id"`
	VolumeL *float64 `db:"volume_l" json:"volume_l"`
	Seq     int      `db:"seq" json:"seq"` // order in which the batch went to its ends
}

// SetReview is what a named person found when they looked at a set of specimens
// whose spread calls for it. It stands for the breaks that its digest names and for
// no others.
type SetReview struct {
	ID          string    `db:"id" json:"id"`
	ProgramID   string    `db:"program_id" json:"program_id"`
	PourID      string    `db:"pour_id" json:"pour_id"`
	BatchNo     int       `db:"batch_no" json:"batch_no"`
	Kind        string    `db:"kind" json:"kind"`
	Curing      string    `db:"curing" json:"curing"`
	Duty        string    `db:"duty" json:"duty"`
	NominalDays float64   `db:"nominal_days" json:"nominal_days"`
	Verdict     string    `db:"verdict" json:"verdict"`
	Reason      string    `db:"reason" json:"reason"`
	Digest      string    `db:"digest" json:"digest"`
	ByUser      string    `db:"by_user" json:"by_user"`
	ByName      string    `db:"by_name" json:"by_name"`
	ByRole      string    `db:"by_role" json:"by_role"`
	At          time.Time `db:"at" json:"at"`
}

// StrengthTest is one completed acceptance set. A test of the running rule is the
// mean of a set; they follow each other in the order of casting.
type StrengthTest struct {
	ID          string       `db:"id" json:"id"`
	ProgramID   string       `db:"program_id" json:"program_id"`
	PourID      string       `db:"pour_id" json:"pour_id"`
	BatchNo     int          `db:"batch_no" json:"batch_no"`
	Kind        string       `db:"kind" json:"kind"`
	Curing      string       `db:"curing" json:"curing"`
	Duty        string       `db:"duty" json:"duty"`
	NominalDays float64      `db:"nominal_days" json:"nominal_days"`
	CastAt      time.Time    `db:"cast_at" json:"cast_at"`
	BrokenAt    time.Time    `db:"broken_at" json:"broken_at"` // the last of the set
	Mean        units.Stress `db:"mean_mpa" json:"mean_mpa"`
	Least       units.Stress `db:"least_mpa" json:"least_mpa"`
	N           int          `db:"n" json:"n"`
	RangeShare  float64      `db:"range_share" json:"range_share"`
	Specified   units.Stress `db:"specified_mpa" json:"specified_mpa"`
	State       string       `db:"state" json:"state"`
	Low         string       `db:"low" json:"low"` // single, mean, both; empty where it meets the running rule
	RaisedAt    *time.Time   `db:"ncr_raised_at" json:"ncr_raised_at"`
}

// CuringLog is one sensor's record of temperature: a logger's file or readings by
// hand. Its readings are held to ReadingsDigest.
type CuringLog struct {
	ID             string            `db:"id" json:"id"`
	ProgramID      string            `db:"program_id" json:"program_id"`
	PourID         string            `db:"pour_id" json:"pour_id"`
	EndID          *string           `db:"end_id" json:"end_id"` // nil: every end of the casting
	Sensor         string            `db:"sensor" json:"sensor"`
	Place          string            `db:"place" json:"place"`
	CoveredAt      time.Time         `db:"covered_at" json:"covered_at"`
	Kind           string            `db:"kind" json:"kind"`
	FileName       string            `db:"file_name" json:"file_name"`
	SHA256         string            `db:"sha256" json:"sha256"` // of the file as it came
	Map            Typed             `db:"map" json:"map"`       // how its columns were read
	Rows           int               `db:"rows" json:"rows"`
	FirstAt        *time.Time        `db:"first_at" json:"first_at"`
	LastAt         *time.Time        `db:"last_at" json:"last_at"`
	Hottest        units.Temperature `db:"hottest_c" json:"hottest_c"`
	Coldest        units.Temperature `db:"coldest_c" json:"coldest_c"`
	LongestGapH    float64           `db:"longest_gap_h" json:"longest_gap_h"`
	SteepestRise   float64           `db:"steepest_rise_c_per_h" json:"steepest_rise_c_per_h"`
	ReadingsDigest string            `db:"readings_digest" json:"readings_digest"`
	Note           string            `db:"note" json:"note"`
	WithdrawnWhy   string            `db:"withdrawn_why" json:"withdrawn_why"`
	WithdrawnAt    *time.Time        `db:"withdrawn_at" json:"withdrawn_at"`
	WithdrawnBy    string            `db:"withdrawn_by" json:"withdrawn_by"`
	ByUser         string            `db:"by_user" json:"by_user"`
	ByName         string            `db:"by_name" json:"by_name"`
	ByRole         string            `db:"by_role" json:"by_role"`
	CapturedAt     time.Time         `db:"captured_at" json:"captured_at"`
	ArrivedAt      time.Time         `db:"arrived_at" json:"arrived_at"`
}

// LoggerMap is how the columns of one make of logger file are read: mapped once,
// then remembered by its name.
type LoggerMap struct {
	ProgramID string    `db:"program_id" json:"program_id"`
	Name      string    `db:"name" json:"name"`
	Map       Typed     `db:"map" json:"map"`
	SetBy     string    `db:"set_by" json:"set_by"`
	SetByName string    `db:"set_by_name" json:"set_by_name"`
	SetAt     time.Time `db:"set_at" json:"set_at"`
}

// GateLine is one line of a gate's rule as it stood when the gate was decided.
type GateLine struct {
	Text string `json:"text"`
	Met  bool   `json:"met"`
}

// GateDecision is what a named person decided on one of the two gates of an end,
// with the evidence of that hour and its digest.
type GateDecision struct {
	ID       string       `db:"id" json:"id"`
	EndID    string       `db:"end_id" json:"end_id"`
	Gate     string       `db:"gate" json:"gate"`
	Decision string       `db:"decision" json:"decision"`
	Limit    units.Stress `db:"limit_mpa" json:"limit_mpa"`
	Mean     units.Stress `db:"mean_mpa" json:"mean_mpa"`
	Set      string       `db:"set_name" json:"set_name"`
	Evidence []GateLine   `db:"evidence" json:"evidence"`
	Digest   string       `db:"digest" json:"digest"`
	Reasons  string       `db:"reasons" json:"reasons"`
	Meaning  string       `db:"meaning" json:"meaning"`
	ByUser   string       `db:"by_user" json:"by_user"`
	ByName   string       `db:"by_name" json:"by_name"`
	ByRole   string       `db:"by_role" json:"by_role"`
	At       time.Time    `db:"at" json:"at"`
}

// Waiver is a condition of a step that somebody with authority did without, for one
// end; of a tick list, one line of it.
type Waiver struct {
	ID           string     `db:"id" json:"id"`
	EndID        string     `db:"end_id" json:"end_id"`
	StepID       string     `db:"step_id" json:"step_id"`
	Condition    string     `db:"condition" json:"condition"`
	Line         string     `db:"line" json:"line"`
	Reason       string     `db:"reason" json:"reason"`
	ByUser       string     `db:"by_user" json:"by_user"`
	ByName       string     `db:"by_name" json:"by_name"`
	ByRole       string     `db:"by_role" json:"by_role"`
	At           time.Time  `db:"at" json:"at"`
	WithdrawnWhy string     `db:"withdrawn_why" json:"withdrawn_why"`
	WithdrawnBy  string     `db:"withdrawn_by" json:"withdrawn_by"`
	WithdrawnAt  *time.Time `db:"withdrawn_at" json:"withdrawn_at"`
}

// StepTick says that one line of a step's tick list is so at an end, or no longer is.
// The last word on a line counts.
type StepTick struct {
	ID         string    `db:"id" json:"id"`
	EndID      string    `db:"end_id" json:"end_id"`
	StepID     string    `db:"step_id" json:"step_id"`
	Line       string    `db:"line" json:"line"`
	Done       bool      `db:"done" json:"done"`
	Note       string    `db:"note" json:"note"`
	ByUser     string    `db:"by_user" json:"by_user"`
	ByName     string    `db:"by_name" json:"by_name"`
	ByRole     string    `db:"by_role" json:"by_role"`
	CapturedAt time.Time `db:"captured_at" json:"captured_at"`
	ArrivedAt  time.Time `db:"arrived_at" json:"arrived_at"`
}

// ReleaseEvidence is one line of the list before casting as it stood when it was
// decided on. Digest names what the line rested on.
type ReleaseEvidence struct {
	Key    string `json:"key"`
	Title  string `json:"title"`
	Text   string `json:"text"`
	Met    bool   `json:"met"`
	Waived string `json:"waived"` // by whom and why
	Digest string `json:"digest"`
}

// ReleaseDecision is what a named person decided on the list before casting of an end.
type ReleaseDecision struct {
	ID       string            `db:"id" json:"id"`
	EndID    string            `db:"end_id" json:"end_id"`
	StepID   string            `db:"step_id" json:"step_id"`
	Decision string            `db:"decision" json:"decision"` // released or refused
	Evidence []ReleaseEvidence `db:"evidence" json:"evidence"`
	Digest   string            `db:"digest" json:"digest"`
	Reasons  string            `db:"reasons" json:"reasons"`
	Meaning  string            `db:"meaning" json:"meaning"`
	ByUser   string            `db:"by_user" json:"by_user"`
	ByName   string            `db:"by_name" json:"by_name"`
	ByRole   string            `db:"by_role" json:"by_role"`
	At       time.Time         `db:"at" json:"at"`
}
