package web

import (
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/casting"
)

// batchFacts lists all that is on record of a batch.
func (c *pourReader) batchFacts(row *casting.Batch, b repair.Batch) {
	add := func(name, value string) { row.Facts = append(row.Facts, casting.Fact{Name: name, Value: value}) }
	at := func(name string, t *time.Time) {
		if t != nil {
			add(name, c.clock(*t, c.pour.StartedAt))
		}
	}
	at("Mixing began", b.StartedAt)
	at("Mixing ended", &b.MixedAt)
	at("Placing began", b.PlaceStart)
	at("Placing ended", b.PlacedAt)
	value := func(name, column string, k units.Kind, v *float64) string {
		if v == nil {
			return ""
		}
		text := c.figureAs(b.Typed, column, k, *v)
		if u := k.Label(c.sys); !strings.HasSuffix(text, u) {
			text += "\u00a0" + u
		}
		if name != "" {
			add(name, text)
		}
		return text
	}
	value("Flow, one diameter", "flow_1_mm", units.Lengths, asFloat(b.Flow1))
	value("Flow, at right angles", "flow_2_mm", units.Lengths, asFloat(b.Flow2))
	if b.Flow1 == nil {
		value("Flow", "flow_mm", units.Lengths, asFloat(b.Flow))
	}
	value("Mix", "mix_temp_c", units.Temperatures, asFloat(b.MixTemp))
	value("Air", "air_temp_c", units.Temperatures, asFloat(b.AirTemp))
	value("Steel", "steel_temp_c", units.Temperatures, asFloat(b.SteelTemp))
	var masses []string
	if b.Bags != nil {
		text := strconv.FormatFloat(*b.Bags, 'g', -1, 64)
		add("Bags", text)
		masses = append(masses, text+" bags")
	}
	value("Dry premix", "premix_kg", units.Masses, b.PremixKg)
	for _, x := range []struct {
		name, column string
		v, target    *float64
	}{{"Water", "water_kg", b.WaterKg, b.WaterTarget}, {"Fiber", "fiber_kg", b.FiberKg, b.FiberTarget}} {
		text := value("", x.column, units.Masses, x.v)
		if text == "" {
			continue
		}
		masses = append(masses, strings.ToLower(x.name)+" "+text)
		if x.target != nil {
			text += " of " + units.Masses.Format(*x.target, c.sys, 1)
		}
		add(x.name, text)
	}
	value("Admixtures", "admixture_kg", units.Masses, b.AdmixtureKg)
	value("Ice", "ice_kg", units.Masses, b.IceKg)
	if b.Lot != "" {
		add("Lot", b.Lot)
	}
	if b.PremixMadeOn != nil {
		days := int(b.MixedAt.Sub(*b.PremixMadeOn).Hours() / 24)
		add("Bags made on", b.PremixMadeOn.Format(time.DateOnly)+", "+count(days, "day", "days")+" before")
	}
	var ends []string
	for _, e := range c.list.BatchEnds {
		if e.BatchID == b.ID {
			text := c.list.EndNames[e.EndID]
			if e.VolumeL != nil {
				text += " " + volumeText(*e.VolumeL, c.sys)
			}
			ends = append(ends, text)
		}
	}
	if len(ends) > 0 {
		add("Went to", strings.Join(ends, ", "))
	}
	if b.Note != "" {
		add("Note", b.Note)
	}
	row.Masses, row.Ends = strings.Join(masses, ", "), strings.Join(ends, ", ")
}

// pourFacts are what is known of the casting as a whole.
func (c *pourReader) pourFacts() []casting.Fact {
	var out []casting.Fact
	p := c.pour
	if p.WindowID != nil {
		for _, w := range c.frame.Windows {
			if w.ID == *p.WindowID {
				out = append(out, casting.Fact{Name: "Window", Value: c.windowWords(w)})
			}
		}
	}
	if p.LastBatchBy != nil {
		out = append(out, casting.Fact{Name: "Last batch by", Value: c.day(*p.LastBatchBy)})
	}
	if p.Weather != "" {
		out = append(out, casting.Fact{Name: "Weather", Value: p.Weather})
	}
	if p.FormHead != nil {
		out = append(out, casting.Fact{Name: "Head above the form", Value: p.FormHead.Format(c.sys, -1)})
	}
	return out
}
