package repair

import (
	"io"
	"iter"
	"time"

	"endcast/internal/domain/uhpc"
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

	// What follows is empty for one from before the whole rule was kept, and left out
	// of the journal where it is empty.
	State         string     `db:"state" json:"state,omitempty"`
	Justification string     `db:"justification" json:"justification,omitempty"`
	ProposedBy    string     `db:"proposed_by" json:"proposed_by,omitempty"`
	Proposer      string     `db:"proposer" json:"proposer,omitempty"` // who, by identifier
	ProposedAt    *time.Time `db:"proposed_at" json:"proposed_at,omitempty"`
	Ground        string     `db:"ground" json:"ground,omitempty"`
	WorkDone      string     `db:"work_done" json:"work_done,omitempty"`
	WorkedBy      string     `db:"worked_by" json:"worked_by,omitempty"`
	Worker        string     `db:"worker" json:"worker,omitempty"` // who, by identifier
	WorkedAt      *time.Time `db:"worked_at" json:"worked_at,omitempty"`
	VerifiedBy    string     `db:"verified_by" json:"verified_by,omitempty"`
	VerifiedAt    *time.Time `db:"verified_at" json:"verified_at,omitempty"`
	Failures      int        `db:"failures" json:"failures,omitempty"`
	Corrective    string     `db:"corrective" json:"corrective,omitempty"`
	Reason        string     `db:"reason" json:"reason,omitempty"` // why it was last sent back, reopened or withdrawn
	Origin        string     `db:"origin" json:"origin,omitempty"` // what raised it, where no person did
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

	// Open: batches are still coming in.
	Open        bool          `db:"open" json:"open,omitempty"`
	WindowID    *string       `db:"window_id" json:"window_id,omitempty"`
	MockupID    *string       `db:"mockup_id" json:"mockup_id,omitempty"` // of a mock-up, which fills no end
	Weather     string        `db:"weather" json:"weather,omitempty"`
	FormHead    *units.Length `db:"form_head_mm" json:"form_head_mm,omitempty"`
	LastBatchBy *time.Time    `db:"last_batch_by" json:"last_batch_by,omitempty"`
}

// PourEnd says that a pour filled the form at an end.
type PourEnd struct {
	ID      string   `db:"id" json:"id"`
	PourID  string   `db:"pour_id" json:"pour_id"`
	EndID   string   `db:"end_id" json:"end_id"`
	VolumeL *float64 `db:"volume_l" json:"volume_l"`

	// CuredAt is the end of curing, as CuredBy said it.
	CuredAt   *time.Time `db:"cured_at" json:"cured_at,omitempty"`
	CuredBy   string     `db:"cured_by" json:"cured_by,omitempty"`
	CuredNote string     `db:"cured_note" json:"cured_note,omitempty"`
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

	StartedAt    *time.Time         `db:"started_at" json:"started_at,omitempty"`   // of mixing; MixedAt is its end
	PlaceStart   *time.Time         `db:"place_start" json:"place_start,omitempty"` // of placing; PlacedAt is its end
	Flow1        *units.Length      `db:"flow_1_mm" json:"flow_1_mm,omitempty"`     // one diameter; Flow is the mean of the two
	Flow2        *units.Length      `db:"flow_2_mm" json:"flow_2_mm,omitempty"`     // the diameter at right angles
	SteelTemp    *units.Temperature `db:"steel_temp_c" json:"steel_temp_c,omitempty"`
	PremixKg     *float64           `db:"premix_kg" json:"premix_kg,omitempty"`
	Bags         *float64           `db:"bags" json:"bags,omitempty"`
	Lot          string             `db:"lot" json:"lot,omitempty"`
	PremixMadeOn *time.Time         `db:"premix_made_on" json:"premix_made_on,omitempty"` // a day
	FiberKg      *float64           `db:"fiber_kg" json:"fiber_kg,omitempty"`
	FiberTarget  *float64           `db:"fiber_target_kg" json:"fiber_target_kg,omitempty"`
	WaterKg      *float64           `db:"water_kg" json:"water_kg,omitempty"`
	WaterTarget  *float64           `db:"water_target_kg" json:"water_target_kg,omitempty"`
	AdmixtureKg  *float64           `db:"admixture_kg" json:"admixture_kg,omitempty"`
	IceKg        *float64           `db:"ice_kg" json:"ice_kg,omitempty"`
	Note         string             `db:"note" json:"note,omitempty"`
	// DecidedBy let a batch outside a stop limit stand.
	DecidedBy  string     `db:"decided_by" json:"decided_by,omitempty"`
	DecidedAt  *time.Time `db:"decided_at" json:"decided_at,omitempty"`
	DecidedWhy string     `db:"decided_why" json:"decided_why,omitempty"`
	// Corrected is why its entry was last corrected, and by whom.
	Corrected string `db:"corrected" json:"corrected,omitempty"`
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

	Purpose    string     `db:"purpose" json:"purpose,omitempty"` // as in PlannedSet
	DemoldedAt *time.Time `db:"demolded_at" json:"demolded_at,omitempty"`
	// LostWhy is why it will never be broken as meant; ExcludedWhy why a named person
	// left its break out of its set.
	LostWhy     string     `db:"lost_why" json:"lost_why,omitempty"`
	LostBy      string     `db:"lost_by" json:"lost_by,omitempty"`
	LostAt      *time.Time `db:"lost_at" json:"lost_at,omitempty"`
	ExcludedWhy string     `db:"excluded_why" json:"excluded_why,omitempty"`
	ExcludedBy  string     `db:"excluded_by" json:"excluded_by,omitempty"`
	ExcludedAt  *time.Time `db:"excluded_at" json:"excluded_at,omitempty"`
	Corrected   string     `db:"corrected" json:"corrected,omitempty"`
}

// Photo is a picture on record; its bytes stay in the store, by the hash of the
// original. Face, X and Z are its pin: which face of the web it shows and where. What
// the picture says of itself is kept as it stood on arrival.
type Photo struct {
	ID         string    `db:"id" json:"id"`
	EndID      string    `db:"end_id" json:"end_id"`
	SHA256     string    `db:"sha256" json:"sha256"`
	MediaType  string    `db:"media_type" json:"media_type"`
	Caption    string    `db:"caption" json:"caption"`
	Subject    string    `db:"subject" json:"subject"`
	CapturedAt time.Time `db:"captured_at" json:"captured_at"` // set right by the server's clock
	ArrivedAt  time.Time `db:"arrived_at" json:"arrived_at"`
	ByUser     string    `db:"by_user" json:"by_user"`

	// Left out of the journal where they are empty, as they are for pictures of before.
	Face         string        `db:"face" json:"face,omitempty"` // L, R, or empty
	X            *units.Length `db:"x_mm" json:"x_mm,omitempty"` // from the girder end; nil where nothing is pinned
	Z            *units.Length `db:"z_mm" json:"z_mm,omitempty"` // above the bottom flange
	Size         int64         `db:"size_b" json:"size_b,omitempty"`
	Width        int           `db:"width_px" json:"width_px,omitempty"` // as it is shown
	Height       int           `db:"height_px" json:"height_px,omitempty"`
	OriginalName string        `db:"original_name" json:"original_name,omitempty"`
	TakenWith    string        `db:"taken_with" json:"taken_with,omitempty"`
	CameraAt     string        `db:"camera_at" json:"camera_at,omitempty"` // by the camera's clock, as the picture says it
	DeviceAt     string        `db:"device_at" json:"device_at,omitempty"` // by the tablet's clock, with its offset
	// Place is set where the metadata hold a place, or something that could not be read;
	// Policy is what was in force on arrival.
	Place  bool   `db:"place" json:"place,omitempty"`
	Policy string `db:"policy" json:"policy,omitempty"`
}

// Pinned reports whether the picture has a place on the drawing.
func (p Photo) Pinned() bool { return p.X != nil && p.Z != nil }

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

// RawFile is a file that is kept as it came. Open begins anew each time, so that a
// large one need not be held.
type RawFile struct {
	SHA256 string // in hex
	Open   func() (io.ReadCloser, error)
}

// Readings are the temperatures of a curing log on their way to the store. Each
// walk over Open begins anew and yields them in order of time, so that a million of
// them need no room at once.
type Readings struct {
	LogID string
	Open  func() iter.Seq2[uhpc.Temperature, error]
	// Digest is that of all readings of the log once these are stored, and Was how
	// many of it are on record before.
	Digest string
	Was    int
}
