package uhpc

import (
	"fmt"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// Batch is one mix from the first water to the last of it in the form. Times
// that are zero and pointers that are nil were not recorded.
type Batch struct {
	Mark               string
	MixStart, MixEnd   time.Time
	PlaceStart, Placed time.Time
	// Flow holds two diameters at right angles; both zero if not tested.
	Flow [2]units.Length
	// Mix is the temperature at the end of mixing; Air and Steel at placing.
	Mix, Air, Steel *units.Temperature
	// Masses in kilograms; a target of zero means that none is set.
	FiberKg, FiberTargetKg float64
	WaterKg, WaterTargetKg float64
}

// Grade says how much a finding weighs.
type Grade string

// Grades.
const (
	NoteOnly Grade = "note"
	Warn     Grade = "warn"
	Stop     Grade = "stop" // the batch is not placed, or needs a decision
)

// Finding is one value of a batch against one limit of the design basis.
type Finding struct {
	Key    string
	Grade  Grade
	Name   string
	Value  float64 // coherent unit of Kind
	Limit  float64
	Above  bool // the limit is an upper one
	Kind   units.Kind
	Source string
	Tag    basis.Tag
}

// Text is the finding in the reader's units.
func (f Finding) Text(sys units.System) string {
	word := "at least"
	if f.Above {
		word = "at most"
	}
	return fmt.Sprintf("%s is %s, %s %s", f.Name, f.Kind.Format(f.Value, sys, -1), word, f.Kind.Format(f.Limit, sys, -1))
}

// moldBase is the larger diameter of the flow mold (ASTM C230 cone, from memory):
// no flow is smaller.
const moldBase = 4 * units.Inch

// Validate refuses what cannot be true, with a *fault.Invalid.
func (b Batch) Validate(bs basis.Basis) error {
	v := &fault.Invalid{}
	if b.Mark == "" {
		v.Add("mark", "", "a mark is needed")
	}
	if b.Flow != [2]units.Length{} {
		most := units.Length(bs.Value(basis.FlowPossible))
		for i, f := range b.Flow {
			if !(f >= moldBase && f <= most) {
				v.Add(fmt.Sprintf("flow_%d", i+1), fmt.Sprint(float64(f)), "flow must be from %s, the mold's own, to %s, got %s",
					both(units.Lengths, float64(moldBase)), both(units.Lengths, float64(most)), both(units.Lengths, float64(f)))
			}
		}
	}
	temperature := func(field string, t *units.Temperature) {
		if t != nil && !(*t >= -40 && *t <= 80) {
			v.Add(field, fmt.Sprint(float64(*t)), "temperature must be from %s to %s, got %s",
				both(units.Temperatures, -40), both(units.Temperatures, 80), both(units.Temperatures, float64(*t)))
		}
	}
	temperature("mix_temperature", b.Mix)
	temperature("air_temperature", b.Air)
	temperature("steel_temperature", b.Steel)
	steps := []struct {
		field, name string
		at          time.Time
	}{{"mix_start", "start of mixing", b.MixStart}, {"mix_end", "end of mixing", b.MixEnd}, {"place_start", "start of placing", b.PlaceStart}, {"placed", "end of placing", b.Placed}}
	last := -1
	for i, s := range steps {
		if s.at.IsZero() {
			continue
		}
		if last >= 0 {
			switch gap := s.at.Sub(steps[last].at); {
			case gap < 0:
				v.Add(s.field, s.at.Format(time.RFC3339), "%s cannot be before %s at %s, got %s", s.name, steps[last].name,
					steps[last].at.Format("2006-01-02 15:04"), s.at.Format("2006-01-02 15:04"))
			case gap > 24*time.Hour:
				v.Add(s.field, s.at.Format(time.RFC3339), "%s lies %.1f h after %s, at most 24 h", s.name, gap.Hours(), steps[last].name)
			}
		}
		last = i
	}
	mass := func(field string, kg float64) {
		if !(kg >= 0 && kg <= 20000) {
			v.Add(field, fmt.Sprint(kg), "mass must be from 0 to 20000 kg, got %g", kg)
		}
	}
	mass("fiber", b.FiberKg)
	mass("fiber_target", b.FiberTargetKg)
	mass("water", b.WaterKg)
	mass("water_target", b.WaterTargetKg)
	return v.Err()
}

// MeanFlow is the mean of the two diameters, and false if none was taken.
func (b Batch) MeanFlow() (units.Length, bool) {
	if b.Flow == [2]units.Length{} {
		return 0, false
	}
	return (b.Flow[0] + b.Flow[1]) / 2, true
}

// Check compares a batch that passed Validate with the limits of the design
// basis. What was not recorded gives no finding.
func (b Batch) Check(bs basis.Basis) []Finding {
	var out []Finding
	limit := func(g Grade, key basis.Key, name string, kind units.Kind, value float64, above bool) bool {
		l := bs.Value(key)
		if above && value <= l || !above && value >= l {
			return false
		}
		d, _ := basis.Lookup(key)
		out = append(out, Finding{Key: string(key), Grade: g, Name: name, Value: value, Limit: l, Above: above, Kind: kind, Source: d.Source, Tag: d.Tag})
		return true
	}
	if flow, ok := b.MeanFlow(); ok {
		f := float64(flow)
		// Outside the job's limits the batch is refused; inside them but outside the
		// scope of the test standard is worth a note.
		if !limit(Stop, basis.FlowMin, "flow", units.Lengths, f, false) {
			limit(NoteOnly, basis.FlowScopeMin, "flow, for the scope of ASTM C1856,", units.Lengths, f, false)
		}
		if !limit(Stop, basis.FlowMax, "flow", units.Lengths, f, true) {
			limit(NoteOnly, basis.FlowScopeMax, "flow, for the scope of ASTM C1856,", units.Lengths, f, true)
		}
	}
	if b.Mix != nil {
		if t := float64(*b.Mix); !limit(Stop, basis.MixHot, "mix temperature", units.Temperatures, t, true) {
			limit(Warn, basis.MixWarm, "mix temperature", units.Temperatures, t, true)
		}
	}
	for _, place := range []struct {
		name string
		t    *units.Temperature
	}{{"air temperature", b.Air}, {"steel temperature", b.Steel}} {
		if place.t != nil {
			limit(Warn, basis.AmbientMin, place.name, units.Temperatures, float64(*place.t), false)
			limit(Warn, basis.AmbientMax, place.name, units.Temperatures, float64(*place.t), true)
		}
	}
	if !b.MixEnd.IsZero() && !b.Placed.IsZero() {
		if m := b.Placed.Sub(b.MixEnd).Minutes(); !limit(Stop, basis.PlaceStop, "end of mixing to placed", units.Minutes, m, true) {
			limit(Warn, basis.PlaceSlow, "end of mixing to placed", units.Minutes, m, true)
		}
	}
	if b.FiberTargetKg > 0 {
		limit(Warn, basis.FiberOff, "fiber mass off its target, as a part of it,", units.Numbers, abs(b.FiberKg/b.FiberTargetKg-1), true)
	}
	if b.WaterTargetKg > 0 {
		limit(Warn, basis.WaterOff, "water mass off its target, as a part of it,", units.Numbers, abs(b.WaterKg/b.WaterTargetKg-1), true)
	}
	return out
}

// Stopped reports whether a finding stops the batch.
func Stopped(list []Finding) bool {
	for _, f := range list {
		if f.Grade == Stop {
			return true
		}
	}
	return false
}

// Intervals compares the time between the end of placing one batch and the start
// of placing the next, in the given order, with the limit against a cold joint.
func Intervals(batches []Batch, bs basis.Basis) []Finding {
	var out []Finding
	most := bs.Value(basis.BatchInterval)
	d, _ := basis.Lookup(basis.BatchInterval)
	for i := 1; i < len(batches); i++ {
		from, to := batches[i-1].Placed, batches[i].PlaceStart
		if from.IsZero() || to.IsZero() {
			continue
		}
		if m := to.Sub(from).Minutes(); m > most {
			out = append(out, Finding{Key: string(basis.BatchInterval), Grade: Warn, Above: true, Kind: units.Minutes, Value: m, Limit: most,
				Name: fmt.Sprintf("time between batches %s and %s", batches[i-1].Mark, batches[i].Mark), Source: d.Source, Tag: d.Tag})
		}
	}
	return out
}

func abs(x float64) float64 {
	if x < 0 {
		return -x
	}
	return x
}
