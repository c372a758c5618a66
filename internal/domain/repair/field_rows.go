package repair

import (
	"time"

	"endcast/internal/domain/units"
)

// Cleaning is the grade reached in one zone, with its clock times.
type Cleaning struct {
	ID           string             `db:"id" json:"id"`
	EndID        string             `db:"end_id" json:"end_id"`
	Zone         string             `db:"zone" json:"zone"`
	Grade        string             `db:"grade" json:"grade"`
	Method       string             `db:"method" json:"method"`
	StartedAt    time.Time          `db:"started_at" json:"started_at"`
	EndedAt      time.Time          `db:"ended_at" json:"ended_at"`
	SolventFirst bool               `db:"solvent_first" json:"solvent_first"`
	Rust         string             `db:"rust" json:"rust"`
	Profile      units.Length       `db:"profile_mm" json:"profile_mm"`
	SteelTemp    *units.Temperature `db:"steel_temp_c" json:"steel_temp_c"`
	AirTemp      *units.Temperature `db:"air_temp_c" json:"air_temp_c"`
	DewPoint     *units.Temperature `db:"dew_point_c" json:"dew_point_c"`
	Humidity     *float64           `db:"humidity_pct" json:"humidity_pct"`
	Note         string             `db:"note" json:"note"`
	ByUser       string             `db:"by_user" json:"by_user"`
	CapturedAt   time.Time          `db:"captured_at" json:"captured_at"`
	ArrivedAt    time.Time          `db:"arrived_at" json:"arrived_at"`
}

// Collar is one finding on one stud as welded; the latest for a mark counts.
type Collar struct {
	ID         string        `db:"id" json:"id"`
	EndID      string        `db:"end_id" json:"end_id"`
	DesignID   string        `db:"design_id" json:"design_id"`
	Mark       string        `db:"mark" json:"mark"`
	Outcome    string        `db:"outcome" json:"outcome"`
	GapClock   *int          `db:"gap_clock" json:"gap_clock"`
	GapLength  *units.Length `db:"gap_length_mm" json:"gap_length_mm"`
	Fissure    bool          `db:"fissure" json:"fissure"`
	Height     *units.Length `db:"height_mm" json:"height_mm"`
	BendDeg    *float64      `db:"bend_deg" json:"bend_deg"`
	BendClock  *int          `db:"bend_clock" json:"bend_clock"`
	FilletSize *units.Length `db:"fillet_size_mm" json:"fillet_size_mm"`
	FilletLen  *units.Length `db:"fillet_length_mm" json:"fillet_length_mm"`
	Repair     string        `db:"repair" json:"repair"`
	Welder     string        `db:"welder" json:"welder"`
	FerruleLot string        `db:"ferrule_lot" json:"ferrule_lot"`
	Note       string        `db:"note" json:"note"`
	ByUser     string        `db:"by_user" json:"by_user"`
	CapturedAt time.Time     `db:"captured_at" json:"captured_at"`
	ArrivedAt  time.Time     `db:"arrived_at" json:"arrived_at"`
}

// Nonconformance is a requirement not met, what was decided about it and by whom.
type Nonconformance struct {
	ID           string     `db:"id" json:"id"`
	ProgramID    string     `db:"program_id" json:"program_id"`
	EndID        string     `db:"end_id" json:"end_id"`
	Number       int        `db:"number" json:"number"`
	Requirement  string     `db:"requirement" json:"requirement"`
	Found        string     `db:"found" json:"found"`
	Containment  string     `db:"containment" json:"containment"`
	Proposed     string     `db:"proposed" json:"proposed"`
	Disposition  string     `db:"disposition" json:"disposition"`
	Instructions string     `db:"instructions" json:"instructions"`
	DecidedBy    string     `db:"decided_by" json:"decided_by"`
	DecidedAt    *time.Time `db:"decided_at" json:"decided_at"`
	Reinspection string     `db:"reinspection" json:"reinspection"`
	Cause        string     `db:"cause" json:"cause"`
	Stops        []string   `db:"stops" json:"stops"`
	Critical     bool       `db:"critical" json:"critical"`
	RaisedBy     string     `db:"raised_by" json:"raised_by"`
	RaisedAt     time.Time  `db:"raised_at" json:"raised_at"`
	ClosedAt     *time.Time `db:"closed_at" json:"closed_at"`
	ClosedBy     string     `db:"closed_by" json:"closed_by"`
}

// Pour is one casting; it may serve several ends and use several batches.
type Pour struct {
	ID         string     `db:"id" json:"id"`
	ProgramID  string     `db:"program_id" json:"program_id"`
	Number     int        `db:"number" json:"number"`
	StartedAt  time.Time  `db:"started_at" json:"started_at"`
	EndedAt    *time.Time `db:"ended_at" json:"ended_at"`
	Note       string     `db:"note" json:"note"`
	ByUser     string     `db:"by_user" json:"by_user"`
	CapturedAt time.Time  `db:"captured_at" json:"captured_at"`
	ArrivedAt  time.Time  `db:"arrived_at" json:"arrived_at"`
}

// PourEnd says that a pour filled the form at an end.
type PourEnd struct {
	ID      string   `db:"id" json:"id"`
	PourID  string   `db:"pour_id" json:"pour_id"`
	EndID   string   `db:"end_id" json:"end_id"`
	VolumeL *float64 `db:"volume_l" json:"volume_l"`
}

// Batch is one mix of a pour; a refused one stays on record.
type Batch struct {
	ID         string             `db:"id" json:"id"`
	PourID     string             `db:"pour_id" json:"pour_id"`
	Number     int                `db:"number" json:"number"`
	MixedAt    time.Time          `db:"mixed_at" json:"mixed_at"`
	PlacedAt   *time.Time         `db:"placed_at" json:"placed_at"`
	Flow       *units.Length      `db:"flow_mm" json:"flow_mm"`
	MixTemp    *units.Temperature `db:"mix_temp_c" json:"mix_temp_c"`
	AirTemp    *units.Temperature `db:"air_temp_c" json:"air_temp_c"`
	Refused    bool               `db:"refused" json:"refused"`
	RefusedWhy string             `db:"refused_why" json:"refused_why"`
	Typed      Typed              `db:"typed" json:"typed"`
}

// Specimen is one cube or cylinder from mould to break.
type Specimen struct {
	ID          string        `db:"id" json:"id"`
	ProgramID   string        `db:"program_id" json:"program_id"`
	PourID      string        `db:"pour_id" json:"pour_id"`
	BatchNo     int           `db:"batch_no" json:"batch_no"`
	Mark        string        `db:"mark" json:"mark"`
	Kind        string        `db:"kind" json:"kind"`
	Curing      string        `db:"curing" json:"curing"`
	Duty        string        `db:"duty" json:"duty"`
	NominalDays float64       `db:"nominal_days" json:"nominal_days"`
	CastAt      time.Time     `db:"cast_at" json:"cast_at"`
	BrokenAt    *time.Time    `db:"broken_at" json:"broken_at"`
	Load        *units.Force  `db:"load_n" json:"load_n"`
	Width       *units.Length `db:"width_mm" json:"width_mm"`
	Depth       *units.Length `db:"depth_mm" json:"depth_mm"`
	Height      *units.Length `db:"height_mm" json:"height_mm"`
	EndsGround  bool          `db:"ends_ground" json:"ends_ground"`
	Machine     *units.Force  `db:"machine_n" json:"machine_n"`
	Fracture    *int          `db:"fracture" json:"fracture"`
	Strength    *units.Stress `db:"strength_mpa" json:"strength_mpa"`
	Raw         *units.Stress `db:"raw_mpa" json:"raw_mpa"`
	Held        string        `db:"held" json:"held"`
	TestedBy    string        `db:"tested_by" json:"tested_by"`
	Typed       Typed         `db:"typed" json:"typed"`
}

// Photo is a picture on record; its bytes stay in the store.
type Photo struct {
	ID         string    `db:"id" json:"id"`
	EndID      string    `db:"end_id" json:"end_id"`
	SHA256     string    `db:"sha256" json:"sha256"`
	MediaType  string    `db:"media_type" json:"media_type"`
	Caption    string    `db:"caption" json:"caption"`
	Subject    string    `db:"subject" json:"subject"`
	CapturedAt time.Time `db:"captured_at" json:"captured_at"`
	ArrivedAt  time.Time `db:"arrived_at" json:"arrived_at"`
	ByUser     string    `db:"by_user" json:"by_user"`
}

// Window is a span of time in which an end can be reached.
type Window struct {
	ID          string    `db:"id" json:"id"`
	ProgramID   string    `db:"program_id" json:"program_id"`
	Kind        string    `db:"kind" json:"kind"`
	StartsAt    time.Time `db:"starts_at" json:"starts_at"`
	EndsAt      time.Time `db:"ends_at" json:"ends_at"`
	ProductiveH float64   `db:"productive_h" json:"productive_h"`
	State       string    `db:"state" json:"state"`
	Party       string    `db:"party" json:"party"`
	Reason      string    `db:"reason" json:"reason"`
}

// Inspection is a finding that a person signs for, where no measured record
// decides: curing complete, hardened panel, gauges at zero, load path.
type Inspection struct {
	ID         string    `db:"id" json:"id"`
	EndID      string    `db:"end_id" json:"end_id"`
	Subject    string    `db:"subject" json:"subject"`
	Outcome    string    `db:"outcome" json:"outcome"`
	Note       string    `db:"note" json:"note"`
	ByUser     string    `db:"by_user" json:"by_user"`
	ByName     string    `db:"by_name" json:"by_name"`
	ByRole     string    `db:"by_role" json:"by_role"`
	CapturedAt time.Time `db:"captured_at" json:"captured_at"`
	ArrivedAt  time.Time `db:"arrived_at" json:"arrived_at"`
}

// Blob is the bytes of a picture, by their SHA-256 in hex.
type Blob struct {
	SHA256 string
	Bytes  []byte
}
