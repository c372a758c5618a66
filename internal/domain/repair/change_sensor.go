package repair

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/units"
)

// mostSensors bounds the sensors of one end, removed ones included.
const mostSensors = 200

// SaveSensor puts a sensor on record, or corrects one.
type SaveSensor struct {
	Sensor      string       `json:"sensor"` // identifier; empty puts a new one on record
	Name        string       `json:"name"`
	SensorKind  string       `json:"sensor_kind"`
	FromBearing units.Length `json:"from_bearing"`
	AboveFlange units.Length `json:"above_flange"`
	Face        string       `json:"face"`
	Stud        string       `json:"stud"`
	OtherEnd    bool         `json:"other_end"`
	Place       string       `json:"place"`
	Direction   string       `json:"direction"`
	Angle       units.Angle  `json:"angle"`
	Channel     string       `json:"channel"`
	Sign        int          `json:"sign"` // 0: the usual one of the kind
	Input       string       `json:"input"`
	PerCount    float64      `json:"per_count"`
	Bridge      string       `json:"bridge"`
	Factor      float64      `json:"factor"`
	Poisson     float64      `json:"poisson"`
	GaugeOhm    float64      `json:"gauge_ohm"`
	LeadOhm     float64      `json:"lead_ohm"`
	Wires       int          `json:"wires"`
	Gain        float64      `json:"gain"`
	Offset      float64      `json:"offset"`
	Reversed    bool         `json:"reversed"`
	Low         float64      `json:"low"`
	High        float64      `json:"high"`
	ShuntOhm    *float64     `json:"shunt_ohm"`
	ShuntUe     *float64     `json:"shunt_ue"`
	InstalledAt time.Time    `json:"installed_at"`
	ZeroAt      time.Time    `json:"zero_at"` // zero: not read yet
	ZeroRaw     float64      `json:"zero_raw"`
	Note        string       `json:"note"`
	Typed       Typed        `json:"typed"`
}

// Kind implements Change.
func (SaveSensor) Kind() string { return "sensor.save" }

// sensorFields are the fields of package monitor by the names of the form.
var sensorFields = map[string]string{"gauge": "gauge_ohm", "shunt": "shunt_ohm", "shunt_indicated": "shunt_ue", "calibration": "factor", "removed": "removed_at", "kind": "sensor_kind"}

// Apply implements Change.
func (ch SaveSensor) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	at := -1
	x := Sensor{ID: c.NewID(), EndID: r.End.ID}
	if ch.Sensor != "" {
		if at, err = r.sensorAt(ch.Sensor); err != nil {
			return err
		}
		x = r.Sensors[at]
	} else if len(r.Sensors) >= mostSensors {
		return fault.New(fault.Refused, "an end may have at most %d sensors on record", mostSensors)
	}
	x.Name, x.Kind, x.FromBearing, x.AboveFlange, x.Face = strings.TrimSpace(ch.Name), ch.SensorKind, ch.FromBearing, ch.AboveFlange, ch.Face
	x.Stud, x.OtherEnd, x.Place, x.Direction, x.Angle = strings.TrimSpace(ch.Stud), ch.OtherEnd, ch.Place, ch.Direction, ch.Angle
	x.Channel, x.Sign, x.Input, x.PerCount, x.Bridge = strings.TrimSpace(ch.Channel), ch.Sign, ch.Input, ch.PerCount, ch.Bridge
	x.Factor, x.Poisson, x.GaugeOhm, x.LeadOhm, x.Wires = ch.Factor, ch.Poisson, ch.GaugeOhm, ch.LeadOhm, ch.Wires
	x.Gain, x.Offset, x.Reversed, x.Low, x.High = ch.Gain, ch.Offset, ch.Reversed, ch.Low, ch.High
	x.ShuntOhm, x.ShuntUe, x.InstalledAt, x.Note, x.Typed = ch.ShuntOhm, ch.ShuntUe, stored(ch.InstalledAt), ch.Note, ch.Typed.orNone()
	x.ByUser, x.ByName, x.ByRole, x.CapturedAt, x.ArrivedAt = c.Actor.ID, c.Actor.Name, string(c.Actor.Role), c.Captured, c.Now
	if x.Sign == 0 {
		x.Sign = int(monitor.UsualSign(monitor.Kind(x.Kind), monitor.Direction(x.Direction)))
	}
	x.ZeroAt, x.ZeroRaw = nil, 0
	if !ch.ZeroAt.IsZero() {
		z := stored(ch.ZeroAt)
		x.ZeroAt, x.ZeroRaw = &z, ch.ZeroRaw
	}
	var bad fault.Invalid
	x.validate(&bad, r, s.Basis(), c)
	if err := bad.Err(); err != nil {
		return err
	}
	if at < 0 {
		r.Sensors = append(r.Sensors, x)
	} else {
		r.Sensors[at] = x
	}
	return nil
}

// farthest is the greatest distance of a sensor from the bearing line or flange.
const farthest = units.Length(200_000) // mm

func (x Sensor) validate(bad *fault.Invalid, r *Record, b basis.Basis, c Context) {
	for _, o := range r.Sensors {
		if o.ID != x.ID && o.RemovedAt == nil && x.RemovedAt == nil && strings.EqualFold(o.Name, x.Name) {
			bad.Add("name", x.Name, "another sensor of this end has this name")
		}
	}
	tooLong(bad, "name", x.Name, 100)
	tooLong(bad, "channel", x.Channel, 200)
	tooLong(bad, "place", x.Place, 1000)
	tooLong(bad, "note", x.Note, 4000)
	if x.Face != "" && x.Face != "L" && x.Face != "R" {
		bad.Add("face", x.Face, "must be left, right or none")
	}
	for _, f := range []struct {
		name string
		v    units.Length
	}{{"from_bearing", x.FromBearing}, {"above_flange", x.AboveFlange}} {
		if !(f.v >= -farthest && f.v <= farthest) {
			bad.Add(f.name, number(float64(f.v)), "must lie within %s mm, got %s", number(float64(farthest)), number(float64(f.v)))
		}
	}
	for _, f := range []struct {
		name string
		v    float64
	}{{"per_count", x.PerCount}, {"factor", x.Factor}, {"poisson", x.Poisson}, {"gauge_ohm", x.GaugeOhm}, {"lead_ohm", x.LeadOhm}, {"gain", x.Gain}, {"offset", x.Offset},
		{"low", x.Low}, {"high", x.High}, {"zero_raw", x.ZeroRaw}} {
		if math.IsNaN(f.v) || math.Abs(f.v) > 1e15 {
			bad.Add(f.name, fmt.Sprint(f.v), "must be a number")
		}
	}
	if (x.ShuntOhm == nil) != (x.ShuntUe == nil) {
		bad.Add("shunt_ohm", "", "a shunt check needs the resistor and what the logger showed")
	}
	notAfter(bad, "installed_at", x.InstalledAt, c.Now)
	if x.InstalledAt.Year() < 1950 {
		bad.Add("installed_at", "", "say when the sensor was put in")
	}
	if x.ZeroAt != nil {
		notAfter(bad, "zero_at", *x.ZeroAt, c.Now)
	}
	err := x.Monitor().Validate(b)
	if inv, ok := err.(*fault.Invalid); ok {
		for _, f := range inv.Fields {
			if n := sensorFields[f.Field]; n != "" {
				f.Field = n
			}
			bad.Fields = append(bad.Fields, f)
		}
	} else if err != nil {
		bad.Add("sensor_kind", x.Kind, "%s", fault.Message(err))
	}
}

// sensorAt is the place of a sensor among those of the end.
func (r *Record) sensorAt(id string) (int, error) {
	i := slices.IndexFunc(r.Sensors, func(x Sensor) bool { return x.ID == id })
	if i < 0 {
		return 0, fault.New(fault.NotFound, "this end has no such sensor")
	}
	return i, nil
}

// SensorOf returns a sensor by its identifier.
func (r *Record) SensorOf(id string) (Sensor, bool) {
	i, err := r.sensorAt(id)
	if err != nil {
		return Sensor{}, false
	}
	return r.Sensors[i], true
}

// RemoveSensor says that a sensor is no longer there. It stays on record with what it
// measured.
type RemoveSensor struct {
	Sensor string    `json:"sensor"`
	At     time.Time `json:"at"`
	Why    string    `json:"why"`
}

// Kind implements Change.
func (RemoveSensor) Kind() string { return "sensor.remove" }

// Apply implements Change.
func (ch RemoveSensor) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	i, err := r.sensorAt(ch.Sensor)
	if err != nil {
		return err
	}
	x := r.Sensors[i]
	if x.RemovedAt != nil {
		return fault.New(fault.Refused, "sensor %s was taken out already", x.Name)
	}
	var bad fault.Invalid
	need(&bad, "why", ch.Why, "say why the sensor was taken out")
	tooLong(&bad, "why", ch.Why, 4000)
	notAfter(&bad, "removed_at", ch.At, c.Now)
	if ch.At.Before(x.InstalledAt) {
		bad.Add("removed_at", "", "lies before the sensor was put in, %s", x.InstalledAt.Format(time.RFC3339))
	}
	if err := bad.Err(); err != nil {
		return err
	}
	at := stored(ch.At)
	x.RemovedAt, x.RemovedWhy = &at, ch.Why
	r.Sensors[i] = x
	return nil
}
