package uhpc

import (
	"fmt"
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

// Curing is the record of one sensor from the moment it was covered, held whole.
// A long one goes through an Accumulator instead.
type Curing struct {
	Covered  time.Time
	Readings []Temperature // oldest first
}

// CuringResult is what a curing record says. Maturity never releases a casting
// by itself: it tells when to break a set.
type CuringResult struct {
	Covered, Until   time.Time // the sensor was covered; the last reading
	Readings         int
	Hours            float64 // from the one to the other
	Hottest, Coldest units.Temperature
	Last             units.Temperature
	Maturity         Maturity
	LongestGap       float64   // hours
	Rise             float64   // steepest, degrees Celsius in an hour
	EveryEarly       float64   // longest time between readings in the first days, hours
	EveryLate        float64   // and after them
	LowHours         float64   // hours counted by the lower of their two ends
	LeadHours        float64   // hours before the first reading that count nothing
	Void             bool      // a gap too long for the maturity to mean anything, or no reading
	VoidFrom         time.Time // since when
	Marks            []Mark    // at the instants asked for
	Trace            []Mark    // for a plot, from the covering to the last reading
	Findings         []Finding
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
		if !(r.Value >= leastRead && r.Value <= mostRead) {
			v.Add(fmt.Sprintf("reading_%d", i+1), fmt.Sprint(float64(r.Value)), "temperature must be from %s to %s, got %s",
				both(units.Temperatures, leastRead), both(units.Temperatures, mostRead), both(units.Temperatures, float64(r.Value)))
		}
	}
	return v.Err()
}

// Evaluate sums up a record by every method, with the values at the instants
// asked for. Readings that Validate refuses are passed over.
func (c Curing) Evaluate(b basis.Basis, asked ...time.Time) CuringResult {
	a := NewAccumulator(c.Covered, b, asked...)
	for _, r := range c.Readings {
		_ = a.Add(r.At, r.Value) // refused readings change nothing
	}
	return a.Result(b)
}

// At is what the record had summed up at an instant between its covering and its
// last reading, along the points of its plot; ok is false outside.
func (r CuringResult) At(when time.Time) (m Mark, ok bool) {
	for i, x := range r.Trace {
		switch {
		case x.At.Equal(when):
			return x, true
		case x.At.After(when):
			if i == 0 {
				return Mark{}, false
			}
			from := r.Trace[i-1]
			part := when.Sub(from.At).Hours() / x.At.Sub(from.At).Hours()
			m = Mark{At: when, Temperature: from.Temperature + units.Temperature(part)*(x.Temperature-from.Temperature), Void: x.Void, Known: true}
			for k := range m.Maturity {
				m.Maturity[k] = from.Maturity[k] + part*(x.Maturity[k]-from.Maturity[k])
			}
			return m, true
		}
	}
	return Mark{}, false
}
