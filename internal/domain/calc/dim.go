package calc

import (
	"fmt"
	"math"

	"endcast/internal/domain/units"
)

// Dim is the kind of quantity of a symbol, a value or a result. It carries the
// exponents that formulas are checked with and knows the unit to show in.
type Dim uint8

// Dims, with the coherent unit that values are held in.
const (
	Scalar          Dim = iota // no unit
	Length                     // mm
	Span                       // mm, shown in ft or m
	Area                       // mm2
	SectionModulus             // mm3
	Volume                     // mm3, shown in ft3 or m3
	Inertia                    // mm4
	Force                      // N
	Stress                     // MPa
	Moment                     // N mm
	Stiffness                  // N/mm, shown in kip/in or kN/mm
	LineLoad                   // N/mm, shown in kip/ft or kN/m
	UnitWeight                 // N/mm3
	Rigidity                   // N mm2, a modulus times a second moment of area
	Angle                      // degrees; sin, cos and tan take it as such
	Temperature                // degrees Celsius
	TemperatureStep            // Celsius degrees, a difference
	Expansion                  // per Celsius degree
	Strain                     // plain, shown in millionths
	Percent                    // plain, shown in hundredths
	Minutes                    // minutes
	Hours                      // hours
	Days                       // days
	Maturity                   // Celsius degrees times hours
	Mass                       // kg
	Density                    // kg/mm3, mass of a part in a volume of mix
	dimCount
)

// Minutes, hours and days are base quantities of their own, so that a formula
// cannot mix them without writing the conversion.
const (
	length = iota
	force
	angle
	temperature
	minute
	hour
	day
	mass
	bases
)

// exps are the exponents of the base quantities.
type exps [bases]float64

var dims = [dimCount]struct {
	name string
	kind units.Kind
	exps exps
}{
	Scalar:          {"scalar", units.Numbers, exps{}},
	Length:          {"length", units.Lengths, exps{length: 1}},
	Span:            {"span", units.Spans, exps{length: 1}},
	Area:            {"area", units.Areas, exps{length: 2}},
	SectionModulus:  {"section modulus", units.Moduli, exps{length: 3}},
	Volume:          {"volume", units.Volumes, exps{length: 3}},
	Inertia:         {"inertia", units.Inertias, exps{length: 4}},
	Force:           {"force", units.Forces, exps{force: 1}},
	Stress:          {"stress", units.Stresses, exps{force: 1, length: -2}},
	Moment:          {"moment", units.Moments, exps{force: 1, length: 1}},
	Stiffness:       {"stiffness", units.Stiffnesses, exps{force: 1, length: -1}},
	LineLoad:        {"line load", units.LineLoads, exps{force: 1, length: -1}},
	UnitWeight:      {"unit weight", units.UnitWeights, exps{force: 1, length: -3}},
	Rigidity:        {"rigidity", units.Rigidities, exps{force: 1, length: 2}},
	Angle:           {"angle", units.Angles, exps{angle: 1}},
	Temperature:     {"temperature", units.Temperatures, exps{temperature: 1}},
	TemperatureStep: {"temperature step", units.TemperatureSteps, exps{temperature: 1}},
	Expansion:       {"expansion", units.Expansions, exps{temperature: -1}},
	Strain:          {"strain", units.Strains, exps{}},
	Percent:         {"percent", units.Percents, exps{}},
	Minutes:         {"minutes", units.Minutes, exps{minute: 1}},
	Hours:           {"hours", units.Hours, exps{hour: 1}},
	Days:            {"days", units.Days, exps{day: 1}},
	Maturity:        {"maturity", units.Maturities, exps{temperature: 1, hour: 1}},
	Mass:            {"mass", units.Masses, exps{mass: 1}},
	Density:         {"density", units.Densities, exps{mass: 1, length: -3}},
}

func (d Dim) known() Dim {
	if d >= dimCount {
		return Scalar
	}
	return d
}

// String is the name of the dimension, which is also its stored form.
func (d Dim) String() string { return dims[d.known()].name }

// Kind is the kind of quantity in package units that shows and reads d.
func (d Dim) Kind() units.Kind { return dims[d.known()].kind }

// Label is the unit that d is shown in, empty for a plain number.
func (d Dim) Label(sys units.System) string { return d.Kind().Label(sys) }

// Format prints a value with its unit; fewer than zero decimals means the usual
// precision of the quantity.
func (d Dim) Format(v float64, sys units.System, decimals int) string {
	return d.Kind().Format(v, sys, decimals)
}

// MarshalText writes the name.
func (d Dim) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads the name.
func (d *Dim) UnmarshalText(b []byte) error {
	for i := range dims {
		if dims[i].name == string(b) {
			*d = Dim(i)
			return nil
		}
	}
	return fmt.Errorf("calc: no dimension is called %.40q", b)
}

func (e exps) scalar() bool { return e.same(exps{}) }

// same compares exponents. They are sums and products of short decimals and
// simple fractions, so what is equal differs by rounding only.
func (e exps) same(o exps) bool {
	for i := range e {
		if math.Abs(e[i]-o[i]) > 1e-9 {
			return false
		}
	}
	return true
}

// plus returns e + k*o, the exponents of a product (k = 1) or a quotient (k = -1).
func (e exps) plus(o exps, k float64) exps {
	for i := range e {
		e[i] += float64(k * o[i])
	}
	return e
}

func (e exps) String() string {
	s := ""
	for i, name := range [bases]string{"length", "force", "angle", "temperature", "minute", "hour", "day", "mass"} {
		if e[i] != 0 {
			if s != "" {
				s += " "
			}
			s += name
			if e[i] != 1 {
				s += fmt.Sprintf("^%g", e[i])
			}
		}
	}
	if s == "" {
		return "no unit"
	}
	return s
}
