package quality

import (
	"fmt"
	"math"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// ZoneGrade is what was reached in one zone.
type ZoneGrade struct {
	Zone  Zone
	Grade Grade
	Rust  Rust
	// Profile is the depth of the roughness, zero if not measured.
	Profile units.Length
	Note    string
}

// Cleaning is the record of one cleaning of an end. Pointers are nil where
// nothing was measured.
type Cleaning struct {
	From, To time.Time
	Method   Method
	By       string // gang or person
	// SolventFirst: oil and grease were taken off before anything else.
	SolventFirst bool
	Zones        []ZoneGrade
	Air, Steel   *units.Temperature
	DewPoint     *units.Temperature
	Humidity     *float64 // percent
	Note         string
}

// Validate refuses what cannot be true, with a *fault.Invalid.
func (c Cleaning) Validate() error {
	v := &fault.Invalid{}
	if c.From.IsZero() {
		v.Add("from", "", "the time at which cleaning began is needed")
	}
	if c.To.IsZero() {
		v.Add("to", "", "the time at which cleaning ended is needed: the steel rusts from then on")
	} else if c.To.Before(c.From) {
		v.Add("to", c.To.Format(time.RFC3339), "end of cleaning cannot be before its start at %s, got %s", c.From.Format("2006-01-02 15:04"), c.To.Format("2006-01-02 15:04"))
	} else if !c.From.IsZero() && c.To.Sub(c.From) > 30*24*time.Hour {
		v.Add("to", c.To.Format(time.RFC3339), "cleaning cannot last longer than 30 days, got %.1f days", c.To.Sub(c.From).Hours()/24)
	}
	if !c.Method.Known() {
		v.Add("method", string(c.Method), "no method is called %q", string(c.Method))
	}
	if len(c.Zones) == 0 {
		v.Add("zones", "", "at least one zone is needed")
	}
	seen := map[Zone]bool{}
	for _, z := range c.Zones {
		field := string(z.Zone)
		if z.Zone != StudPositions && z.Zone != EncasedArea && z.Zone != OutsidePanel {
			v.Add("zones", field, "no zone is called %q", field)
			continue
		}
		if seen[z.Zone] {
			v.Add(field, field, "%s is given twice", z.Zone.Words())
		}
		seen[z.Zone] = true
		if _, ok := z.Grade.Info(); !ok {
			v.Add(field, string(z.Grade), "no grade of cleaning is called %q", string(z.Grade))
		}
		if z.Rust != NoRust && z.Rust != LightRust && z.Rust != HeavyRust {
			v.Add(field+"_rust", string(z.Rust), "flash rust must be none, light or heavy, got %q", string(z.Rust))
		}
		if !(z.Profile >= 0 && z.Profile <= 1) {
			v.Add(field+"_profile", fmt.Sprint(float64(z.Profile)), "profile must be from 0 to 1 mm (0.039 in), got %g mm", float64(z.Profile))
		}
	}
	temperature := func(field string, t *units.Temperature) {
		if t != nil && !(*t >= -40 && *t <= 80) {
			v.Add(field, fmt.Sprint(float64(*t)), "temperature must be from -40 to 80 °C (-40 to 176 °F), got %g °C", float64(*t))
		}
	}
	temperature("air", c.Air)
	temperature("steel", c.Steel)
	temperature("dew_point", c.DewPoint)
	if c.Humidity != nil && !(*c.Humidity >= 0 && *c.Humidity <= 100) {
		v.Add("humidity", fmt.Sprint(*c.Humidity), "humidity must be from 0 to 100 %%, got %g", *c.Humidity)
	}
	return v.Err()
}

// Assessment is how a cleaning record stands to what is asked. Acceptable is what
// an inspector may accept; the acceptance itself is a person's.
type Assessment struct {
	Acceptable bool
	Against    []string // why it may not be accepted
	Warnings   []string
}

// Assess compares a record that passed Validate with the levels that the design
// basis asks of each zone. Only the zones under the panel are asked for.
func (c Cleaning) Assess(b basis.Basis) Assessment {
	var a Assessment
	got := map[Zone]ZoneGrade{}
	for _, z := range c.Zones {
		got[z.Zone] = z
	}
	for _, want := range []struct {
		zone Zone
		key  basis.Key
		must bool
	}{{StudPositions, basis.CleanStuds, true}, {EncasedArea, basis.CleanEncased, true}, {OutsidePanel, basis.CleanOutside, false}} {
		level := int(math.Round(b.Value(want.key)))
		z, ok := got[want.zone]
		if !ok {
			if want.must {
				a.Against = append(a.Against, want.zone.Words()+": no grade recorded")
			}
			continue
		}
		info, _ := z.Grade.Info()
		if info.Level < level {
			a.Against = append(a.Against, fmt.Sprintf("%s: %s is level %d, at least %d asked", want.zone.Words(), z.Grade, info.Level, level))
		}
		switch {
		case z.Rust == HeavyRust:
			a.Against = append(a.Against, want.zone.Words()+": heavy flash rust")
		case z.Rust == LightRust && want.zone == StudPositions:
			a.Against = append(a.Against, want.zone.Words()+": flash rust, to be taken off before welding")
		case z.Rust == LightRust:
			a.Warnings = append(a.Warnings, want.zone.Words()+": light flash rust")
		}
		if least := b.Value(basis.CleanProfile); (z.Grade == SP11 || z.Grade == SP15) && z.Profile > 0 && float64(z.Profile) < least {
			a.Warnings = append(a.Warnings, fmt.Sprintf("%s: profile is %s, at least %s for %s", want.zone.Words(), both(z.Profile, 3, 4), both(units.Length(least), 3, 4), z.Grade))
		}
	}
	if !c.SolventFirst {
		a.Warnings = append(a.Warnings, "no solvent cleaning recorded before the rest")
	}
	if c.Steel != nil && c.DewPoint != nil {
		if over, least := float64(*c.Steel-*c.DewPoint), b.Value(basis.CleanDewMargin); over < least {
			a.Warnings = append(a.Warnings, fmt.Sprintf("steel is %.1f °C (%.1f °F) above the dew point, at least %.1f °C (%.1f °F)", over, over*9/5, least, least*9/5))
		}
	}
	a.Acceptable = len(a.Against) == 0
	return a
}

// both prints a small length in both families of units, since nobody knows yet who
// reads the record.
func both(l units.Length, mm, in int) string {
	return l.Format(units.SI, mm) + " (" + l.Format(units.US, in) + ")"
}

// Stale reports whether steel cleaned by c has stood longer at the given time
// than the design basis allows before welding, with the hours that have passed.
func (c Cleaning) Stale(at time.Time, b basis.Basis) (hours float64, stale bool) {
	hours = at.Sub(c.To).Hours()
	return hours, hours > b.Value(basis.CleanHours)
}
