package uhpc

import (
	"fmt"
	"math"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// Temperature is one reading of a sensor in the concrete.
type Temperature struct {
	At    time.Time
	Value units.Temperature
}

// Curing is the record of one sensor from the moment it was covered.
type Curing struct {
	Covered  time.Time
	Readings []Temperature // oldest first
}

// CuringResult is what a curing record says. Maturity never releases a casting
// by itself: it tells when to break a set.
type CuringResult struct {
	Hours           float64
	Hottest         units.Temperature
	Coldest         units.Temperature
	NurseSaul       float64 // degrees Celsius times hours over the datum
	EquivalentHours float64 // at the reference temperature
	LongestGap      float64 // hours
	Void            bool    // a gap too long for the maturity to mean anything
	Findings        []Finding
}

// Validate refuses a record that cannot be true, with a *fault.Invalid.
func (c Curing) Validate() error {
	v := &fault.Invalid{}
	if c.Covered.IsZero() {
		v.Add("covered", "", "the time at which the sensor was covered is needed")
	}
	last := c.Covered
	for i, r := range c.Readings {
		if r.At.Before(last) {
			v.Add(fmt.Sprintf("reading_%d", i+1), r.At.Format(time.RFC3339), "reading %d at %s is before the one at %s", i+1,
				r.At.Format("2006-01-02 15:04"), last.Format("2006-01-02 15:04"))
		} else {
			last = r.At
		}
		if !(r.Value >= -40 && r.Value <= 120) {
			v.Add(fmt.Sprintf("reading_%d", i+1), fmt.Sprint(float64(r.Value)), "temperature must be from %s to %s, got %s",
				both(units.Temperatures, -40), both(units.Temperatures, 120), both(units.Temperatures, float64(r.Value)))
		}
	}
	return v.Err()
}

// kelvin is 0 degrees Celsius in kelvin (exact).
const kelvin = 273.15

// Evaluate integrates a valid record. The temperature of an interval is the mean
// of its two ends; of an interval longer than the gap allowed it is the lower
// end. Nothing is credited at or below the datum. Source of the temperature-time
// factor: Iowa DOT IM 383 (read); equivalent age: ASTM C1074 (from memory); both
// with the parameters of the design basis, which no published source gives for
// UHPC.
func (c Curing) Evaluate(b basis.Basis) CuringResult {
	r := CuringResult{Hottest: units.Temperature(math.Inf(-1)), Coldest: units.Temperature(math.Inf(1))}
	datum, q, ref := b.Value(basis.MaturityDatum), b.Value(basis.MaturityQ), b.Value(basis.MaturityReference)
	gapLow, gapVoid := b.Value(basis.CuringGapLow), b.Value(basis.CuringGapVoid)
	rise := 0.0
	for i, reading := range c.Readings {
		r.Hottest, r.Coldest = max(r.Hottest, reading.Value), min(r.Coldest, reading.Value)
		from, start := c.Covered, reading.Value
		if i > 0 {
			from, start = c.Readings[i-1].At, c.Readings[i-1].Value
		}
		hours := reading.At.Sub(from).Hours()
		if hours <= 0 {
			continue
		}
		t := float64(start+reading.Value) / 2
		if hours > gapLow {
			t = float64(min(start, reading.Value))
		}
		r.Void = r.Void || hours > gapVoid
		r.LongestGap = max(r.LongestGap, hours)
		if t > datum {
			r.NurseSaul += (t - datum) * hours
			r.EquivalentHours += hours * math.Exp(-q*(1/(kelvin+t)-1/(kelvin+ref)))
		}
		rise = max(rise, float64(reading.Value-start)/hours)
	}
	n := len(c.Readings)
	if n == 0 {
		r.Hottest, r.Coldest, r.Void = 0, 0, true
		return r
	}
	r.Hours = c.Readings[n-1].At.Sub(c.Covered).Hours()
	add := func(key basis.Key, g Grade, name string, kind units.Kind, value float64) {
		if l := b.Value(key); value > l {
			d, _ := basis.Lookup(key)
			r.Findings = append(r.Findings, Finding{Key: string(key), Grade: g, Name: name, Value: value, Limit: l, Above: true, Kind: kind, Source: d.Source, Tag: d.Tag})
		}
	}
	add(basis.CuringHot, Warn, "temperature of the concrete", units.Temperatures, float64(r.Hottest))
	add(basis.CuringStop, Stop, "temperature of the concrete", units.Temperatures, float64(r.Hottest))
	add(basis.CuringRise, Warn, "rise of the temperature in an hour", units.TemperatureSteps, rise)
	add(basis.CuringGapVoid, Stop, "gap in the record", units.Hours, r.LongestGap)
	return r
}
