package repair

import (
	"time"

	"endcast/internal/domain/monitor"
	"endcast/internal/domain/units"
)

// Sensor is one sensor at an end, from installation to removal. A removed one stays
// on record.
type Sensor struct {
	ID          string       `db:"id" json:"id"`
	EndID       string       `db:"end_id" json:"end_id"`
	Name        string       `db:"name" json:"name"`
	Kind        string       `db:"kind" json:"kind"` // one of monitor.Kinds
	FromBearing units.Length `db:"from_bearing_mm" json:"from_bearing_mm"`
	AboveFlange units.Length `db:"above_flange_mm" json:"above_flange_mm"`
	Face        string       `db:"face" json:"face"`
	Stud        string       `db:"stud" json:"stud"`
	OtherEnd    bool         `db:"other_end" json:"other_end"`
	Place       string       `db:"place" json:"place"`
	Direction   string       `db:"direction" json:"direction"`
	Angle       units.Angle  `db:"angle_deg" json:"angle_deg"`
	Channel     string       `db:"channel" json:"channel"`
	Sign        int          `db:"sign" json:"sign"`
	Input       string       `db:"input" json:"input"`
	PerCount    float64      `db:"per_count" json:"per_count"`
	Bridge      string       `db:"bridge" json:"bridge"`
	Factor      float64      `db:"factor" json:"factor"`
	Poisson     float64      `db:"poisson" json:"poisson"`
	GaugeOhm    float64      `db:"gauge_ohm" json:"gauge_ohm"`
	LeadOhm     float64      `db:"lead_ohm" json:"lead_ohm"`
	Wires       int          `db:"wires" json:"wires"`
	Gain        float64      `db:"gain" json:"gain"`
	Offset      float64      `db:"offset_value" json:"offset_value"`
	Reversed    bool         `db:"reversed" json:"reversed"`
	Low         float64      `db:"range_low" json:"range_low"`
	High        float64      `db:"range_high" json:"range_high"`
	ShuntOhm    *float64     `db:"shunt_ohm" json:"shunt_ohm"`
	ShuntUe     *float64     `db:"shunt_ue" json:"shunt_ue"`
	InstalledAt time.Time    `db:"installed_at" json:"installed_at"`
	RemovedAt   *time.Time   `db:"removed_at" json:"removed_at"`
	RemovedWhy  string       `db:"removed_why" json:"removed_why"`
	ZeroAt      *time.Time   `db:"zero_at" json:"zero_at"`
	ZeroRaw     float64      `db:"zero_raw" json:"zero_raw"`
	Note        string       `db:"note" json:"note"`
	ByUser      string       `db:"by_user" json:"by_user"`
	ByName      string       `db:"by_name" json:"by_name"`
	ByRole      string       `db:"by_role" json:"by_role"`
	CapturedAt  time.Time    `db:"captured_at" json:"captured_at"`
	ArrivedAt   time.Time    `db:"arrived_at" json:"arrived_at"`
	Typed       Typed        `db:"typed" json:"typed"`
}

// Monitor is the sensor as package monitor reads it.
func (x Sensor) Monitor() monitor.Sensor {
	out := monitor.Sensor{Name: x.Name, Kind: monitor.Kind(x.Kind), Direction: monitor.Direction(x.Direction), Angle: x.Angle, Channel: x.Channel, Sign: float64(x.Sign),
		Place:     monitor.Place{FromBearing: x.FromBearing, AboveFlange: x.AboveFlange, Face: x.Face, Stud: x.Stud, OtherEnd: x.OtherEnd, Note: x.Place},
		Installed: x.InstalledAt.UnixNano(),
		Calibration: monitor.Calibration{Input: monitor.Input(x.Input), PerCount: x.PerCount, Bridge: monitor.Bridge(x.Bridge), Factor: x.Factor, Poisson: x.Poisson, Gauge: x.GaugeOhm,
			Lead: x.LeadOhm, Wires: x.Wires, Gain: x.Gain, Offset: x.Offset, Reversed: x.Reversed, Low: x.Low, High: x.High}}
	if x.RemovedAt != nil {
		out.Removed = x.RemovedAt.UnixNano()
	}
	if x.ZeroAt != nil {
		out.Zero = monitor.Zero{At: x.ZeroAt.UnixNano(), Raw: x.ZeroRaw}
	}
	if x.ShuntOhm != nil && x.ShuntUe != nil {
		out.Calibration.Shunt = &monitor.Shunt{Resistor: *x.ShuntOhm, Indicated: *x.ShuntUe}
	}
	return out
}

// RecordingChannel is one column of a recording and the sensor that wrote it.
type RecordingChannel struct {
	Sensor string   `json:"sensor"` // identifier
	Name   string   `json:"name"`   // of the sensor, as it was called then
	Column int      `json:"column"` // of the file
	Title  string   `json:"title"`  // of the column
	Low    *float64 `json:"low"`    // least value as it is stored; nil where none was read
	High   *float64 `json:"high"`
}

// RecordingFault is one thing that screening found. Times are nanoseconds since 1970.
type RecordingFault struct {
	Kind   string `json:"kind"`
	Sensor string `json:"sensor,omitempty"` // name; empty: the rows
	Line   int    `json:"line"`
	Column int    `json:"column,omitempty"`
	From   int64  `json:"from"`
	To     int64  `json:"to"`
	Rows   int64  `json:"rows"`
	Words  string `json:"words"`
}

// Recording is one file of a logger that was read to its end. Samples are stored as
// the file has them, in the coherent unit of the column: the calibration of a sensor
// is put to them when they are read. SamplesDigest stands for them in the journal.
type Recording struct {
	ID            string             `db:"id" json:"id"`
	ProgramID     string             `db:"program_id" json:"program_id"`
	EndID         string             `db:"end_id" json:"end_id"`
	Logger        string             `db:"logger" json:"logger"`
	FileName      string             `db:"file_name" json:"file_name"`
	SHA256        string             `db:"sha256" json:"sha256"`
	Size          int64              `db:"size_bytes" json:"size_bytes"`
	Map           Typed              `db:"map" json:"map"`
	FromAt        time.Time          `db:"from_at" json:"from_at"`
	ToAt          time.Time          `db:"to_at" json:"to_at"`
	Rate          float64            `db:"rate_hz" json:"rate_hz"`
	Rows          int64              `db:"row_count" json:"row_count"`
	Lost          float64            `db:"lost" json:"lost"`
	Channels      []RecordingChannel `db:"channels" json:"channels"`
	Found         []RecordingFault   `db:"found" json:"found"`
	FoundTotal    map[string]int     `db:"found_total" json:"found_total"`
	SamplesDigest string             `db:"samples_digest" json:"samples_digest"`
	Note          string             `db:"note" json:"note"`
	WithdrawnWhy  string             `db:"withdrawn_why" json:"withdrawn_why"`
	WithdrawnAt   *time.Time         `db:"withdrawn_at" json:"withdrawn_at"`
	WithdrawnBy   string             `db:"withdrawn_by" json:"withdrawn_by"`
	ByUser        string             `db:"by_user" json:"by_user"`
	ByName        string             `db:"by_name" json:"by_name"`
	ByRole        string             `db:"by_role" json:"by_role"`
	CapturedAt    time.Time          `db:"captured_at" json:"captured_at"`
	ArrivedAt     time.Time          `db:"arrived_at" json:"arrived_at"`
}

// StrainSetup is what strains are turned into forces with, where it does not follow
// from the design. Errors are standard deviations over the value.
type StrainSetup struct {
	EndID      string       `db:"end_id" json:"end_id"`
	WebEA      *units.Force `db:"web_ea_n" json:"web_ea_n"`
	PanelEA    *units.Force `db:"panel_ea_n" json:"panel_ea_n"`
	WebError   float64      `db:"web_error" json:"web_error"`
	PanelError float64      `db:"panel_error" json:"panel_error"`
	DesignSlip units.Length `db:"design_slip_mm" json:"design_slip_mm"`
	Source     string       `db:"source" json:"source"`
	SetBy      string       `db:"set_by" json:"set_by"`
	SetByName  string       `db:"set_by_name" json:"set_by_name"`
	SetAt      time.Time    `db:"set_at" json:"set_at"`
}

// StrainVerdict is a verdict on the strain records of an end that an engineer
// confirmed. It stands while Digest is that of what it stands on.
type StrainVerdict struct {
	ID       string    `db:"id" json:"id"`
	EndID    string    `db:"end_id" json:"end_id"`
	Result   string    `db:"result" json:"result"`
	Decided  string    `db:"decided" json:"decided"`
	Words    string    `db:"words" json:"words"`
	Method   int       `db:"method" json:"method"`
	Digest   string    `db:"digest" json:"digest"`
	Judgment string    `db:"judgment" json:"judgment"`
	Note     string    `db:"note" json:"note"`
	Meaning  string    `db:"meaning" json:"meaning"`
	ByUser   string    `db:"by_user" json:"by_user"`
	ByName   string    `db:"by_name" json:"by_name"`
	ByRole   string    `db:"by_role" json:"by_role"`
	At       time.Time `db:"at" json:"at"`
}
