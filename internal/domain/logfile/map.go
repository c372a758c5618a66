package logfile

import (
	"fmt"
	"strings"
	"time"

	"endcast/internal/domain/fault"
)

// Limits of what a map may describe. They bound memory, not practice.
const (
	MaxColumns = 1024
	MaxHeader  = 200
	maxLine    = 256 << 10 // bytes of one line
)

// Map says how the columns of a logger's files are to be read. It is confirmed by
// a person once and remembered for the logger. Columns and lines count from 1.
type Map struct {
	Encoding  string   `json:"encoding"`             // one of Encodings
	Separator string   `json:"separator"`            // one of Separators
	Decimal   string   `json:"decimal"`              // "." or ","
	Header    int      `json:"header"`               // lines before the first row, those of names and units included
	Names     int      `json:"names,omitempty"`      // line that names the columns; 0: none
	Units     int      `json:"units,omitempty"`      // line that names their units; 0: none
	Comment   string   `json:"comment,omitempty"`    // lines that begin so are passed over
	Clock     Clock    `json:"clock"`                // where the time is and how it is written
	Values    []Column `json:"values"`               // the columns to read, in the order of Row's values
	NoReading []string `json:"no_reading,omitempty"` // what the logger writes where it has no reading, such as NaN or -999
}

// Column is one column of values.
type Column struct {
	Index int     `json:"index"`
	Name  string  `json:"name"`
	Unit  string  `json:"unit"`            // one of Units
	Scale float64 `json:"scale,omitempty"` // by which the written number is multiplied first; 0 means 1
	Full  float64 `json:"full,omitempty"`  // a written number at or beyond plus or minus this is a saturated channel; 0: none
}

// Clock says where the time of a row is and how it is written.
type Clock struct {
	Kind  string     `json:"kind"`            // one of the Kinds of clock below
	Index int        `json:"index,omitempty"` // column of the time, or of the date
	Time  int        `json:"time,omitempty"`  // column of the time of day where it has one of its own
	Order string     `json:"order,omitempty"` // of a date's numbers: "ymd", "dmy" or "mdy"
	Zone  string     `json:"zone,omitempty"`  // of times without an offset: UTC, +05:30 or a name such as America/New_York
	Start *time.Time `json:"start,omitempty"` // of elapsed and counted times
	Every float64    `json:"every,omitempty"` // seconds from row to row of counted times
}

// Kinds of clock.
const (
	Dates    = "date"    // date and time of day, with an offset or in Zone
	EpochS   = "epoch_s" // seconds since 1970-01-01 UTC
	EpochMS  = "epoch_ms"
	Serial   = "serial" // days since 1899-12-30 in Zone, as spreadsheets keep dates
	ElapsedS = "elapsed_s"
	ElapsedM = "elapsed_min"
	ElapsedH = "elapsed_h"
	ElapsedC = "elapsed_clock" // hours:minutes:seconds since Start
	Counted  = "counted"       // no time in the file: Start and a row Every so many seconds
)

// Encodings, Separators and Units are the names that a Map takes.
var (
	Encodings  = []string{"utf-8", "utf-16le", "utf-16be", "latin-1"}
	Separators = []string{",", ";", "\t", "|", " "}
)

// Quantity is what a column measures.
type Quantity string

// Quantities. Plain is a number whose unit is not known here.
const (
	Temperature  Quantity = "temperature"
	Strain       Quantity = "strain"
	Displacement Quantity = "displacement"
	Stress       Quantity = "stress"
	Plain        Quantity = "plain"
)

// Unit is a unit that a column may be in: value = written*Scale + Offset, in the
// coherent unit of its quantity (degrees Celsius, microstrain, mm, MPa).
type Unit struct {
	Name, Label string
	Quantity    Quantity
	Scale       float64
	Offset      float64
	words       []string // as headers write it, in lower case and without dots, brackets and spaces
}

// Units of the columns. The conversions are exact by definition.
var units = []Unit{
	{"C", "°C", Temperature, 1, 0, []string{"°c", "degc", "degreesc", "degreec", "c", "celsius", "degcelsius", "ºc", "℃", "deg_c"}},
	{"F", "°F", Temperature, 5. / 9, -160. / 9, []string{"°f", "degf", "degreesf", "degreef", "f", "fahrenheit", "degfahrenheit", "ºf", "℉", "deg_f"}},
	{"K", "K", Temperature, 1, -273.15, []string{"k", "kelvin"}},
	{"ue", "µε", Strain, 1, 0, []string{"ue", "µε", "με", "ustrain", "microstrain", "µstrain", "um/m", "µm/m", "me-6"}},
	{"e", "m/m", Strain, 1e6, 0, []string{"strain", "m/m", "mm/mm", "in/in"}},
	{"mm", "mm", Displacement, 1, 0, []string{"mm", "millimeter", "millimetre", "millimeters"}},
	{"um", "µm", Displacement, 1e-3, 0, []string{"um", "µm", "micron", "microns", "micrometer"}},
	{"in", "in", Displacement, 25.4, 0, []string{"in", "inch", "inches"}},
	{"mil", "mil", Displacement, 0.0254, 0, []string{"mil", "mils", "thou"}},
	{"MPa", "MPa", Stress, 1, 0, []string{"mpa", "n/mm2", "n/mm²"}},
	{"psi", "psi", Stress, 0.45359237 * 9.80665 / (25.4 * 25.4), 0, []string{"psi", "lb/in2", "lbf/in2"}},
	{"ksi", "ksi", Stress, 453.59237 * 9.80665 / (25.4 * 25.4), 0, []string{"ksi", "kip/in2", "kips/in2"}},
	{"", "as written", Plain, 1, 0, nil},
}

// Units returns the units that a column may be in.
func Units() []Unit { return append([]Unit(nil), units...) }

// UnitNamed returns a unit by its Name.
func UnitNamed(name string) (Unit, bool) {
	for _, u := range units {
		if u.Name == name {
			return u, true
		}
	}
	return Unit{}, false
}

// Rules are what one reading of files goes by, beside the map: they are of the
// program or of this file, not of the logger.
type Rules struct {
	// Zone is the zone that Clock.Zone names; needed where times carry no offset.
	Zone *time.Location
	// Ranges are the lowest and highest value of a quantity that can be true; a value
	// outside refuses the file.
	Ranges map[Quantity][2]float64
	// Gap is the pause between rows that is listed as a gap; 0: one and a half usual steps.
	Gap time.Duration
	// Stuck is how long one unchanged reading is let pass unlisted; 0: for ever.
	Stuck time.Duration
	// Allow are refusals that a person looked at and says are true of this file.
	Allow []Kind
}

// Validate refuses a map that cannot be followed, with a *fault.Invalid whose
// fields are named as in JSON ("clock.order", "values.2.index").
func (m Map) Validate() error {
	v := &fault.Invalid{}
	if !oneOf(m.Encoding, Encodings) {
		v.Add("encoding", m.Encoding, "must be one of %s", strings.Join(Encodings, ", "))
	}
	if !oneOf(m.Separator, Separators) {
		v.Add("separator", m.Separator, "must be a comma, semicolon, tab, bar or space")
	}
	if m.Decimal != "." && m.Decimal != "," {
		v.Add("decimal", m.Decimal, "must be a point or a comma")
	} else if m.Decimal == "," && m.Separator == "," {
		v.Add("decimal", m.Decimal, "columns separated by commas cannot hold numbers with a decimal comma")
	}
	within(v, "header", m.Header, 0, MaxHeader)
	within(v, "names", m.Names, 0, m.Header)
	within(v, "units", m.Units, 0, m.Header)
	if len(m.Comment) > 20 {
		v.Add("comment", m.Comment, "must be at most 20 characters")
	}
	m.Clock.validate(v)
	m.columns(v)
	if len(m.NoReading) > 20 {
		v.Add("no_reading", "", "must be at most 20 words, got %d", len(m.NoReading))
	}
	return v.Err()
}

func (m Map) columns(v *fault.Invalid) {
	if len(m.Values) == 0 {
		v.Add("values", "", "at least one column of values is needed")
	}
	if len(m.Values) > MaxColumns {
		v.Add("values", "", "must be at most %d columns, got %d", MaxColumns, len(m.Values))
		return
	}
	used := map[int]string{}
	if m.Clock.Index > 0 {
		used[m.Clock.Index] = "time"
	}
	if m.Clock.Time > 0 {
		used[m.Clock.Time] = "time of day"
	}
	for i, c := range m.Values {
		name := fmt.Sprintf("values.%d.", i)
		within(v, name+"index", c.Index, 1, MaxColumns)
		if was, ok := used[c.Index]; ok {
			v.Add(name+"index", fmt.Sprint(c.Index), "column %d is read as the %s already", c.Index, was)
		}
		used[c.Index] = "values " + c.Name
		if _, ok := UnitNamed(c.Unit); !ok {
			v.Add(name+"unit", c.Unit, "is not a unit that is known here")
		}
		if !(c.Scale > -1e12 && c.Scale < 1e12) {
			v.Add(name+"scale", fmt.Sprint(c.Scale), "must be a number")
		}
		if !(c.Full >= 0 && c.Full < 1e300) {
			v.Add(name+"full", fmt.Sprint(c.Full), "must be a number above 0")
		}
		if len(c.Name) > 200 {
			v.Add(name+"name", c.Name, "must be at most 200 characters")
		}
	}
}

func (c Clock) validate(v *fault.Invalid) {
	switch c.Kind {
	case Dates:
		if c.Order != "ymd" && c.Order != "dmy" && c.Order != "mdy" {
			v.Add("clock.order", c.Order, "say in which order year, month and day stand")
		}
	case EpochS, EpochMS, Serial:
	case ElapsedS, ElapsedM, ElapsedH, ElapsedC:
		c.needStart(v)
	case Counted:
		c.needStart(v)
		if !(c.Every > 0 && c.Every <= 86400*7) {
			v.Add("clock.every", fmt.Sprint(c.Every), "seconds from row to row must be above 0 and at most 604800")
		}
		return
	default:
		v.Add("clock.kind", c.Kind, "is not a way of writing times that is known here")
		return
	}
	within(v, "clock.index", c.Index, 1, MaxColumns)
	within(v, "clock.time", c.Time, 0, MaxColumns)
	if c.Time > 0 && (c.Kind != Dates || c.Time == c.Index) {
		v.Add("clock.time", fmt.Sprint(c.Time), "a time of day of its own goes with a date in another column")
	}
}

func (c Clock) needStart(v *fault.Invalid) {
	if c.Start == nil || !sane(*c.Start) {
		v.Add("clock.start", "", "say when the first row was taken: the file counts from there")
	}
}

// sane keeps times where nanoseconds since 1970 fit 64 bits with room.
func sane(t time.Time) bool { return t.Year() >= 1900 && t.Year() < 2200 }

func within(v *fault.Invalid, field string, got, low, high int) {
	if got < low || got > high {
		v.Add(field, fmt.Sprint(got), "must be from %d to %d, got %d", low, high, got)
	}
}

func oneOf(s string, list []string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// Zone returns the zone of a fixed offset such as "UTC", "Z", "+05:30" or "UTC-5".
// Other names are for the caller to look up.
func Zone(name string) (*time.Location, bool) {
	s := strings.ToUpper(strings.TrimSpace(name))
	if s == "UTC" || s == "Z" || s == "GMT" {
		return time.UTC, true
	}
	s = strings.TrimPrefix(strings.TrimPrefix(s, "UTC"), "GMT")
	off, rest, ok := offset([]byte(s))
	if !ok || len(rest) > 0 {
		return nil, false
	}
	if off == 0 {
		return time.UTC, true
	}
	sign, a := '+', off
	if off < 0 {
		sign, a = '-', -off
	}
	return time.FixedZone(fmt.Sprintf("UTC%c%02d:%02d", sign, a/3600, a/60%60), off), true
}
