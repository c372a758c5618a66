package monitor

import (
	"fmt"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// Kind is what a sensor is.
type Kind string

// Kinds.
const (
	WebGauge       Kind = "web_foil"      // foil gauge on the corroded web
	GirderGauge    Kind = "girder_foil"   // foil gauge on the girder where the repair changes nothing: the control
	StudGauge      Kind = "stud_foil"     // foil gauge on the shank of a stud
	Embedded       Kind = "embedded"      // strain gauge cast into the panel
	Displacement   Kind = "displacement"  // across web and panel
	Thermometer    Kind = "thermometer"   //
	Accelerometer  Kind = "accelerometer" //
	StrengthSensor Kind = "strength"      // in the concrete
)

type kindFacts struct {
	name, unit string
	role       Role
	strain     bool
	zeroed     bool
}

var kinds = map[Kind]kindFacts{
	WebGauge:       {"foil gauge on the web", "microstrain", RoleWeb, true, true},
	GirderGauge:    {"foil gauge on the girder, control", "microstrain", RoleControl, true, true},
	StudGauge:      {"foil gauge on a stud", "microstrain", RoleStud, true, true},
	Embedded:       {"gauge embedded in the panel", "microstrain", RolePanel, true, true},
	Displacement:   {"displacement across web and panel", "mm", RoleSlip, false, true},
	Thermometer:    {"thermometer", "°C", RoleTemperature, false, false},
	Accelerometer:  {"accelerometer", "m/s2", RoleNone, false, false},
	StrengthSensor: {"strength sensor in the concrete", "MPa", RoleNone, false, false},
}

// Kinds lists the kinds in the order that forms show them.
func Kinds() []Kind {
	return []Kind{WebGauge, GirderGauge, StudGauge, Embedded, Displacement, Thermometer, Accelerometer, StrengthSensor}
}

// String is the kind in words.
func (k Kind) String() string {
	if f, ok := kinds[k]; ok {
		return f.name
	}
	return string(k)
}

// Unit is the unit of its measurements.
func (k Kind) Unit() string { return kinds[k].unit }

// Role is what it is to the search for passages.
func (k Kind) Role() Role { return kinds[k].role }

// Strain tells whether it measures strain.
func (k Kind) Strain() bool { return kinds[k].strain }

// Direction is what way a sensor measures.
type Direction string

// Directions.
const (
	Vertical Direction = "vertical"
	Along    Direction = "along"    // the girder
	Across   Direction = "across"   // the web, through its thickness
	Inclined Direction = "inclined" // in the plane of the web, by an angle
	Nowhere  Direction = "none"     // of a thermometer
)

// Place is where a sensor sits, as it is drawn.
type Place struct {
	FromBearing units.Length // along the girder from the bearing line
	AboveFlange units.Length // over the top of the bottom flange
	Face        string       // "left", "right" looking ahead, "" for none
	Stud        string       // of a gauge on a stud
	OtherEnd    bool         // at an end that is not repaired
	Note        string
}

// Zero is what a sensor read without the load that it is to show.
type Zero struct {
	At  int64   // ns; 0 for none yet
	Raw float64 // as the logger wrote it
}

// Sensor is one sensor at an end, from installation to removal.
type Sensor struct {
	Name        string
	Kind        Kind
	Place       Place
	Direction   Direction
	Angle       units.Angle // from the vertical, where inclined
	Channel     string      // of the logger
	Sign        float64     // +1 or -1: the way a truck moves it
	Calibration Calibration
	Installed   int64 // ns
	Removed     int64 // 0: still there
	Zero        Zero
}

// UsualSign is the way a truck moves a sensor of a kind and direction: compression
// over the bearing, tension in studs and at the bottom of the span.
func UsualSign(k Kind, d Direction) float64 {
	if (k == WebGauge || k == Embedded) && d != Along {
		return -1
	}
	return 1
}

// Validate says what of a sensor cannot be taken.
func (s Sensor) Validate(b basis.Basis) error {
	var v fault.Invalid
	if s.Name == "" {
		v.Add("name", "", "a sensor needs a name")
	}
	if s.Channel == "" {
		v.Add("channel", "", "which channel of the logger is it")
	}
	f, ok := kinds[s.Kind]
	if !ok {
		v.Add("kind", string(s.Kind), "is no kind of sensor that is known here")
		return v.Err()
	}
	switch s.Direction {
	case Vertical, Along, Across, Nowhere:
	case Inclined:
		if !(s.Angle > 0 && s.Angle < 180) {
			v.Add("angle", "", "%g degrees must lie between 0 and 180", float64(s.Angle))
		}
	default:
		v.Add("direction", string(s.Direction), "must be vertical, along, across, inclined or none")
	}
	if f.role.strain() && s.Sign != 1 && s.Sign != -1 {
		v.Add("sign", "", "the way a truck moves it must be +1 or -1, got %g", s.Sign)
	}
	if apart := b.Value(basis.ControlApart); s.Kind == GirderGauge && !s.Place.OtherEnd && !(float64(s.Place.FromBearing) >= apart) {
		v.Add("from_bearing", "", "%.0f mm: a control gauge must sit where the repair changes nothing, at least %.0f mm from the bearing line or at an end that is not repaired",
			float64(s.Place.FromBearing), apart)
	}
	if s.Kind == StudGauge && s.Place.Stud == "" {
		v.Add("stud", "", "which stud does it sit on")
	}
	if s.Removed != 0 && s.Removed < s.Installed {
		v.Add("removed", "", "must not lie before its installation")
	}
	if err := s.Calibration.Validate(f.strain); err != nil {
		if more, ok := err.(*fault.Invalid); ok {
			v.Fields = append(v.Fields, more.Fields...)
		}
	}
	return v.Err()
}

// Converter makes the one for this sensor.
func (s Sensor) Converter(b basis.Basis) (Converter, error) {
	zero := s.Zero.Raw
	if !kinds[s.Kind].zeroed {
		zero = 0
	}
	return s.Calibration.Converter(b, kinds[s.Kind].strain, zero)
}

// At tells whether the sensor was there at a time.
func (s Sensor) At(t int64) bool { return t >= s.Installed && (s.Removed == 0 || t < s.Removed) }

// Cautions are what an engineer should know of the sensors of one end before their
// records are believed, most important first. cast is when the panel was cast, ns, or
// 0.
func Cautions(b basis.Basis, sensors []Sensor, cast int64) (out []Finding) {
	add := func(key, format string, args ...any) {
		out = append(out, Finding{Key: key, Words: fmt.Sprintf(format, args...)})
	}
	has := map[Role]bool{}
	for _, s := range sensors {
		has[s.Kind.Role()] = true
	}
	if !has[RoleControl] {
		add("no_control", "no control gauge: without one that the repair cannot change, every verdict is indicative only")
	}
	if !has[RoleWeb] {
		add("no_web", "no gauge on the web over the bearing: no passage can be found")
	}
	if !has[RolePanel] {
		add("no_panel", "no gauge in the panel: its load share cannot be measured")
	}
	for _, s := range sensors {
		f := kinds[s.Kind]
		switch {
		case f.zeroed && s.Zero.At == 0:
			add("no_zero", "%s: no zero was taken", s.Name)
		case f.zeroed && cast != 0 && s.Zero.At >= cast && s.Kind != Embedded:
			add("late_zero", "%s: its zero was taken after casting, so what the casting itself did is lost", s.Name)
		}
		if cast != 0 && s.Installed >= cast && (s.Kind == WebGauge || s.Kind == GirderGauge) {
			add("late", "%s: installed after casting, so it has no record before", s.Name)
		}
		if span, fine := s.Calibration.Span(b, nil); !fine {
			add("shunt", "%s: the shunt check is off by a factor of %.3f and is not applied", s.Name, span)
		}
		if d := s.Calibration.Drift(b, nil, b.Value(basis.GaugeWarmest)); d != 0 {
			add("two_wires", "%s: two-wire leads show %.0f microstrain that are not there when they warm by %.0f degrees", s.Name, d, b.Value(basis.GaugeWarmest))
		}
	}
	return out
}
