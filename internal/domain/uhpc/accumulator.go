package uhpc

import (
	"math"
	"slices"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// Accumulator sums up the readings of one sensor as they come, without holding
// them: a file of a million readings takes no more room than one of ten. Times are
// instants, so a change of the clock between two readings changes nothing.
//
// The temperature of an interval is the mean of its two ends; of an interval
// longer than the gap allowed it is the lower end. Behind a gap longer than the
// void limit nothing more is credited: the sums stand still at what they were when
// the gap began, which is less than what is true, and the result says from when.
// Before the first reading only one end is known: up to the gap allowed it counts,
// a longer time counts nothing, and one beyond the void limit voids the record.
type Accumulator struct {
	scale
	gapLow, gapVoid float64
	early           float64
	covered, last   time.Time
	lastT           float64
	n               int
	now             Maturity
	r               CuringResult
	rise            float64
	hour            lowest
	asked           []time.Time
	marks           []Mark
	trace           []Mark
	step            time.Duration
	cached          float64 // temperature that perHour was computed for
	perHour         Maturity
}

// Mark is what a record had summed up at an instant.
type Mark struct {
	At          time.Time
	Temperature units.Temperature
	Maturity    Maturity
	Void        bool // the sums stand still since a gap
	Known       bool // false past the last reading: the sums are those of the last
}

const (
	traceMax   = 512             // points held for a plot
	traceFirst = 5 * time.Minute // doubled whenever the points are full
	leastRead  = -40             // a reading below is a broken sensor
	mostRead   = 120             // and so is one above
)

// NewAccumulator begins a record at the moment its sensor was covered. The values
// at the instants asked for are in the result.
func NewAccumulator(covered time.Time, b basis.Basis, asked ...time.Time) *Accumulator {
	a := &Accumulator{scale: scaleOf(b), gapLow: b.Value(basis.CuringGapLow), gapVoid: b.Value(basis.CuringGapVoid), covered: covered, last: covered,
		early: b.Value(basis.CuringEarlyHours), step: traceFirst, asked: slices.Clone(asked), cached: math.NaN()}
	slices.SortFunc(a.asked, time.Time.Compare)
	a.r.Hottest, a.r.Coldest = units.Temperature(math.Inf(-1)), units.Temperature(math.Inf(1))
	return a
}

// Add takes the next reading. One before the last, or that no concrete has, is
// refused with fault.Refused and changes nothing.
func (a *Accumulator) Add(at time.Time, value units.Temperature) error {
	if at.Before(a.last) {
		return fault.New(fault.Refused, "reading at %s is before %s, the last one or the covering of the sensor", at.Format(time.RFC3339), a.last.Format(time.RFC3339))
	}
	t := float64(value)
	if !(t >= leastRead && t <= mostRead) {
		return fault.New(fault.Refused, "reading at %s: temperature must be from %s to %s, got %s", at.Format(time.RFC3339),
			both(units.Temperatures, leastRead), both(units.Temperatures, mostRead), both(units.Temperatures, t))
	}
	a.r.Hottest, a.r.Coldest = max(a.r.Hottest, value), min(a.r.Coldest, value)
	hours := at.Sub(a.last).Hours()
	first := a.n == 0
	start := a.lastT
	if first {
		start = t
	}
	if hours > 0 {
		a.interval(at, start, t, hours, first)
	}
	if first {
		a.marksUntil(at, t, t, Maturity{}) // of the covering itself
	}
	a.watchRise(at, start, t, hours, first)
	a.last, a.lastT = at, t
	a.n++
	return nil
}

// interval credits the time since the last reading.
func (a *Accumulator) interval(at time.Time, start, t, hours float64, first bool) {
	mean := (start + t) / 2
	switch {
	case hours <= a.gapLow:
	case first:
		mean = math.Inf(-1) // no lower end is known
		a.r.LeadHours = hours
	default:
		mean = min(start, t)
		a.r.LowHours += hours
	}
	a.r.LongestGap = max(a.r.LongestGap, hours)
	if at.Sub(a.covered).Hours() <= a.early {
		a.r.EveryEarly = max(a.r.EveryEarly, hours)
	} else {
		a.r.EveryLate = max(a.r.EveryLate, hours)
	}
	if hours > a.gapVoid && a.r.VoidFrom.IsZero() {
		a.r.VoidFrom, a.r.Void = a.last, true
	}
	var rate Maturity
	if !a.r.Void && mean > a.datum {
		if mean != a.cached {
			a.cached, a.perHour = mean, a.gained(nil, mean, 1)
		}
		rate = a.perHour
	}
	a.marksUntil(at, start, t, rate)
	a.now = a.now.plus(rate.times(hours))
}

func (m Maturity) times(hours float64) Maturity {
	for i := range m {
		m[i] *= hours
	}
	return m
}

// marksUntil notes what was asked for up to an instant.
func (a *Accumulator) marksUntil(at time.Time, start, t float64, rate Maturity) {
	mark := func(when time.Time) Mark {
		m := Mark{At: when, Temperature: units.Temperature(start), Maturity: a.now, Void: a.r.Void && when.After(a.r.VoidFrom), Known: true}
		if part := when.Sub(a.last).Hours(); part > 0 {
			m.Maturity = m.Maturity.plus(rate.times(part))
			m.Temperature += units.Temperature((t - start) * min(1, part/at.Sub(a.last).Hours()))
		}
		return m
	}
	for len(a.asked) > len(a.marks) && !a.asked[len(a.marks)].After(at) {
		a.marks = append(a.marks, mark(a.asked[len(a.marks)]))
	}
	for {
		next := a.covered
		if n := len(a.trace); n > 0 {
			next = a.trace[n-1].At.Add(a.step)
		}
		if next.After(at) {
			return
		}
		if len(a.trace) == traceMax {
			for i := 0; i < traceMax; i += 2 {
				a.trace[i/2] = a.trace[i]
			}
			a.trace, a.step = a.trace[:traceMax/2], 2*a.step
			continue
		}
		a.trace = append(a.trace, mark(next))
	}
}

// watchRise keeps the steepest rise: within an hour where readings are close
// together, so that the last digit of a logger is no rise of its own, and along
// the interval where they are half an hour apart or more.
func (a *Accumulator) watchRise(at time.Time, start, t, hours float64, first bool) {
	if !first && hours >= 0.5 {
		a.rise = max(a.rise, (t-start)/hours)
	}
	a.rise = max(a.rise, t-a.hour.add(at.Unix()/60, t))
}

// lowest keeps the lowest value of the last hour, a slot a minute.
type lowest struct {
	slot   [60]float64
	minute [60]int64
	now    int64   // minute of the last value
	least  float64 // of the slots of that hour
}

func (l *lowest) add(minute int64, t float64) float64 {
	i := ((minute % 60) + 60) % 60
	if minute == l.now && l.minute[i] == minute {
		l.slot[i], l.least = min(l.slot[i], t), min(l.least, t)
		return l.least
	}
	l.now, l.minute[i], l.slot[i], l.least = minute, minute, t, t
	for k := range l.slot {
		if l.minute[k] > minute-60 && l.minute[k] <= minute {
			l.least = min(l.least, l.slot[k])
		}
	}
	return l.least
}

// Result is what the readings so far say.
func (a *Accumulator) Result(b basis.Basis) CuringResult {
	r := a.r
	r.Covered, r.Readings, r.Rise = a.covered, a.n, a.rise
	r.Marks = slices.Clone(a.marks)
	for _, at := range a.asked[len(a.marks):] {
		r.Marks = append(r.Marks, Mark{At: at, Temperature: units.Temperature(a.lastT), Maturity: a.now, Void: r.Void})
	}
	if a.n == 0 {
		r.Hottest, r.Coldest, r.Void = 0, 0, true
		return r
	}
	r.Until, r.Last = a.last, units.Temperature(a.lastT)
	r.Hours, r.Maturity = a.last.Sub(a.covered).Hours(), a.now
	r.Trace = slices.Clone(a.trace)
	if n := len(r.Trace); n == 0 || r.Trace[n-1].At.Before(a.last) {
		r.Trace = append(r.Trace, Mark{At: a.last, Temperature: r.Last, Maturity: a.now, Void: r.Void, Known: true})
	}
	r.Findings = a.findings(b)
	return r
}

func (a *Accumulator) findings(b basis.Basis) []Finding {
	var out []Finding
	add := func(key basis.Key, g Grade, name string, kind units.Kind, value float64) {
		if l := b.Value(key); value > l {
			d, _ := basis.Lookup(key)
			out = append(out, Finding{Key: string(key), Grade: g, Name: name, Value: value, Limit: l, Above: true, Kind: kind, Source: d.Source, Tag: d.Tag})
		}
	}
	add(basis.CuringHot, Warn, "temperature of the concrete", units.Temperatures, float64(a.r.Hottest))
	add(basis.CuringStop, Stop, "temperature of the concrete", units.Temperatures, float64(a.r.Hottest))
	if l := b.Value(basis.CuringCold); a.r.Readings > 0 && float64(a.r.Coldest) < l {
		d, _ := basis.Lookup(basis.CuringCold)
		out = append(out, Finding{Key: string(basis.CuringCold), Grade: Warn, Name: "temperature of the concrete", Value: float64(a.r.Coldest), Limit: l, Kind: units.Temperatures, Source: d.Source, Tag: d.Tag})
	}
	add(basis.CuringRise, Warn, "rise of the temperature in an hour", units.TemperatureSteps, a.rise)
	add(basis.CuringEveryEarly, Warn, "time between readings in the first days", units.Minutes, a.r.EveryEarly*60)
	add(basis.CuringEveryLate, Warn, "time between readings", units.Minutes, a.r.EveryLate*60)
	add(basis.CuringGapLow, Warn, "gap in the record, counted by its lower end", units.Hours, a.r.LongestGap)
	add(basis.CuringGapVoid, Stop, "gap in the record", units.Hours, a.r.LongestGap)
	return out
}
