package uhpc

import (
	"fmt"
	"math"
	"slices"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
)

// NoGate is said beside every forecast.
const NoGate = "A forecast opens no gate: it tells when to break a set. Only breaks of field- or match-cured specimens release a form or traffic."

// Ahead is the temperature of the concrete from an instant on.
type Ahead struct {
	From        time.Time
	Temperature units.Temperature
}

// Forecast is what to expect of the strength of a placement: a curve, the maturity
// so far, and the temperature ahead. Each method of maturity says an age of its
// own; the least of them is shown as the forecast and the others widen its band.
type Forecast struct {
	Curve Strengthening
	// Cast is when the concrete was placed and its sensor covered.
	Cast time.Time
	// SoFar is the record of the governing sensor, nil where there is none: the whole
	// of the time since the casting is then at the temperature ahead.
	SoFar *CuringResult
	// Ahead are the temperatures after the last reading, by time; the first holds from
	// the last reading on, whenever it begins.
	Ahead []Ahead
	// Words say where the temperature ahead comes from.
	Words string

	b     basis.Basis
	scale scale
	hour  Maturity // of an hour at the curing temperature of the curve
}

// NewForecast makes a forecast. Without temperatures ahead it takes the last
// reading or the setting, whichever is lower: concrete that is still warm will
// cool, and colder is later.
func NewForecast(curve Strengthening, cast time.Time, soFar *CuringResult, ahead []Ahead, b basis.Basis) Forecast {
	f := Forecast{Curve: curve, Cast: cast, SoFar: soFar, Ahead: slices.Clone(ahead), b: b, scale: scaleOf(b)}
	slices.SortStableFunc(f.Ahead, func(a, b Ahead) int { return a.From.Compare(b.From) })
	f.hour = f.scale.gained(nil, float64(curve.Curing), 1)
	if soFar != nil && soFar.Readings == 0 {
		f.SoFar = nil
	}
	switch t := units.Temperature(b.Value(basis.ForecastAhead)); {
	case len(f.Ahead) > 0:
		f.Words = "temperature ahead as entered, " + both(units.Temperatures, float64(f.Ahead[len(f.Ahead)-1].Temperature))
	case f.SoFar != nil && f.SoFar.Last < t:
		f.Ahead, f.Words = []Ahead{{Temperature: f.SoFar.Last}}, "temperature ahead: the last reading, "+both(units.Temperatures, float64(f.SoFar.Last))
	default:
		f.Ahead, f.Words = []Ahead{{Temperature: t}}, "temperature ahead: the setting, "+both(units.Temperatures, float64(t))
	}
	if f.SoFar == nil {
		f.Words += "; nothing was measured, so it stands for the whole time since the casting"
	}
	return f
}

// Refused says why no forecast can be made, empty if one can.
func (f Forecast) Refused() string {
	switch {
	case f.Curve.Curve == nil:
		return "there is no strength curve"
	case f.Curve.Curve.Validate() != nil:
		return f.Curve.Curve.Validate().Error()
	case f.SoFar != nil && f.SoFar.Void:
		return "the curing record has a gap that ends it at " + f.SoFar.VoidFrom.UTC().Format("2006-01-02 15:04 UTC") + ": break a set instead"
	}
	for _, h := range f.hour {
		if !(h > 0) {
			return "the curing temperature of the curve, " + both(units.Temperatures, float64(f.Curve.Curing)) + ", is at or below a datum"
		}
	}
	return ""
}

// start is the instant up to which the maturity is known.
func (f Forecast) start() (time.Time, Maturity) {
	if f.SoFar == nil {
		return f.Cast, Maturity{}
	}
	return f.SoFar.Until, f.SoFar.Maturity
}

// Maturity is what the methods will have summed up by an instant.
func (f Forecast) Maturity(when time.Time) Maturity {
	from, m := f.start()
	if when.Before(from) {
		if f.SoFar == nil {
			return Maturity{}
		}
		past, _ := f.SoFar.At(when)
		return past.Maturity
	}
	for i, a := range f.Ahead {
		until := when
		if i+1 < len(f.Ahead) && f.Ahead[i+1].From.Before(when) {
			until = f.Ahead[i+1].From
		}
		if until.After(from) {
			m = m.plus(f.scale.gained(nil, float64(a.Temperature), until.Sub(from).Hours()))
			from = until
		}
	}
	return m
}

// Expected is the strength to expect at an instant. It decides nothing.
type Expected struct {
	At          time.Time
	Hours       float64  // by the clock, since the casting
	Ages        Maturity // hours at the curing temperature of the curve, by each method
	Method      Method   // the most cautious of them
	Value       units.Stress
	Low, High   units.Stress // the band: the curve's own doubt and the spread of the methods
	Reach       Reach        // where the age of Value lies on the curve
	HighAt      Reach        // and that of High
	Measured    bool         // by a reading at or after the instant
	Temperature units.Temperature
}

// At is the strength to expect at an instant.
func (f Forecast) At(when time.Time) Expected {
	e := Expected{At: when, Hours: when.Sub(f.Cast).Hours(), Ages: f.Maturity(when).agesAt(f.hour)}
	known, _ := f.start()
	e.Measured = f.SoFar != nil && !when.After(known)
	least, method := e.Ages.Least()
	most, _ := e.Ages.Greatest()
	e.Method = method
	e.Value, e.Reach = f.Curve.At(least / 24)
	high, reach := f.Curve.At(most / 24)
	if reach == Before {
		// Nothing was tested this early: no less than zero and no more than at the first age tested.
		high, _ = f.Curve.At(f.Curve.From)
	}
	e.Low, e.High, e.HighAt = f.Curve.Low(e.Value), f.Curve.High(high), reach
	return e
}

// CrossingState says what is known of the hour at which a strength is reached.
type CrossingState string

// States of a crossing.
const (
	ToCome     CrossingState = "to_come"
	Passed     CrossingState = "passed"      // by the record so far
	ByTested   CrossingState = "by_tested"   // at or before the first age tested, when the curve begins to speak
	NotReached CrossingState = "not_reached" // the curve never has it, or the concrete stays too cold
	Untested   CrossingState = "untested"    // beyond what the last age tested allows
)

// Crossing is when a strength is expected.
type Crossing struct {
	State CrossingState
	At    time.Time // zero where it is not reached or untested
	Hours float64   // by the clock, since the casting
}

// Crossings are the early, the expected and the cautious hour of a strength. The
// expected one is the latest of the methods on the curve, the cautious one the
// latest on the lower edge of its band, the early one the earliest on the upper.
type Crossings struct {
	Limit                     units.Stress
	Early, Expected, Cautious Crossing
}

// Reaches is when a strength is expected.
func (f Forecast) Reaches(limit units.Stress) Crossings {
	return Crossings{Limit: limit, Early: f.crossing(limit, 1), Expected: f.crossing(limit, 0), Cautious: f.crossing(limit, -1)}
}

func (f Forecast) crossing(limit units.Stress, edge int) Crossing {
	days, ok := f.Curve.Curve.Reaches(f.Curve.needed(limit, edge))
	if !ok {
		return Crossing{State: NotReached}
	}
	if f.Curve.To > 0 && days > f.Curve.To {
		return Crossing{State: Untested}
	}
	early := days <= f.Curve.From && f.Curve.From > 0
	days = max(days, f.Curve.From)
	var best Crossing
	for k := range methodCount {
		c := f.reached(k, days*24*f.hour[k])
		switch {
		case c.State == NotReached && edge <= 0:
			return c // one method that never has it is enough to doubt it
		case c.State == NotReached:
			continue
		case best.State == "", edge <= 0 && c.At.After(best.At), edge > 0 && c.At.Before(best.At):
			best = c
		}
	}
	if best.State == "" {
		return Crossing{State: NotReached}
	}
	best.Hours = best.At.Sub(f.Cast).Hours()
	if early {
		best.State = ByTested
	}
	return best
}

// reached is when a method will have summed up an amount.
func (f Forecast) reached(k Method, amount float64) Crossing {
	from, m := f.start()
	if m[k] >= amount {
		return Crossing{State: Passed, At: f.past(k, amount)}
	}
	left := amount - m[k]
	for i, a := range f.Ahead {
		rate := f.scale.gained(nil, float64(a.Temperature), 1)[k]
		last := i+1 == len(f.Ahead)
		if !last && !f.Ahead[i+1].From.After(from) {
			continue
		}
		hours := math.Inf(1)
		if rate > 0 {
			hours = left / rate
		}
		if !last {
			if room := f.Ahead[i+1].From.Sub(from).Hours(); hours > room {
				left -= rate * room
				from = f.Ahead[i+1].From
				continue
			}
		}
		if !(hours <= 36525*24) {
			break // a century is never
		}
		return Crossing{State: ToCome, At: from.Add(time.Duration(hours * float64(time.Hour)))}
	}
	return Crossing{State: NotReached}
}

// past is when the record had summed up an amount, along the points of its plot.
func (f Forecast) past(k Method, amount float64) time.Time {
	if f.SoFar == nil {
		return f.Cast
	}
	t := f.SoFar.Trace
	for i, x := range t {
		if x.Maturity[k] < amount {
			continue
		}
		if i == 0 || !(x.Maturity[k] > t[i-1].Maturity[k]) {
			return x.At
		}
		part := (amount - t[i-1].Maturity[k]) / (x.Maturity[k] - t[i-1].Maturity[k])
		return t[i-1].At.Add(time.Duration(part * float64(x.At.Sub(t[i-1].At))))
	}
	return f.SoFar.Until
}

// NextBreak is when to break the next set, so that it most likely proves a
// strength.
type NextBreak struct {
	At    time.Time // zero where no hour can be named
	Hours float64   // after the casting
	Words string
}

// NextBreak names the cautious hour of a strength, the expected one where the
// cautious edge never has it. It is not before now; the hours of a laboratory are
// the caller's.
func (f Forecast) NextBreak(limit units.Stress, now time.Time) NextBreak {
	if why := f.Refused(); why != "" {
		return NextBreak{Words: why}
	}
	c := f.Reaches(limit)
	var n NextBreak
	switch {
	case !c.Cautious.At.IsZero():
		n.At, n.Words = c.Cautious.At, "the cautious hour: the lower edge of the band by the slowest method"
	case !c.Expected.At.IsZero():
		n.At, n.Words = c.Expected.At, "the expected hour: the lower edge of the band never has it, so the set may fall short"
	default:
		return NextBreak{Words: "no hour: " + c.Expected.Words()}
	}
	if n.At.Before(now) {
		n.At, n.Words = now, "now: "+n.Words+", which has passed"
	}
	n.Hours = n.At.Sub(f.Cast).Hours()
	return n
}

// Words say what is known of a crossing, without its hour.
func (c Crossing) Words() string {
	switch c.State {
	case Passed:
		return "passed, by the record so far"
	case ByTested:
		return "by the first age tested; before it nothing is said"
	case NotReached:
		return "not reached"
	case Untested:
		return "beyond the ages tested: nothing is said"
	}
	return fmt.Sprintf("%s after the casting", AgeText(c.Hours))
}
