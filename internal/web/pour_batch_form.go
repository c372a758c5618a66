package web

import (
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// batchForm is the form of one batch as it was typed.
type batchForm struct {
	c      *pourReader
	values url.Values
}

func (f *batchForm) get(name string) string { return strings.TrimSpace(f.values.Get(name)) }

// batchBoxes are the boxes of a batch that hold a quantity, with the column that
// keeps what was typed.
var batchBoxes = []struct {
	box, column, label string
	kind               units.Kind
}{
	{"flow_1", "flow_1_mm", "Flow, one diameter", units.Lengths}, {"flow_2", "flow_2_mm", "Flow, at right angles", units.Lengths},
	{"mix_temp", "mix_temp_c", "Mix", units.Temperatures}, {"air_temp", "air_temp_c", "Air", units.Temperatures}, {"steel_temp", "steel_temp_c", "Steel", units.Temperatures},
	{"premix", "premix_kg", "Dry premix", units.Masses}, {"water", "water_kg", "Water", units.Masses}, {"water_target", "water_target_kg", "Water, target", units.Masses},
	{"fiber", "fiber_kg", "Fiber", units.Masses}, {"fiber_target", "fiber_target_kg", "Fiber, target", units.Masses},
	{"admixture", "admixture_kg", "Admixtures", units.Masses}, {"ice", "ice_kg", "Ice, of the water", units.Masses},
}

// read takes the form as a batch. What cannot be read is in the list of faults.
func (f *batchForm) read() (repair.BatchIn, *fault.Invalid) {
	bad := &fault.Invalid{}
	b := repair.BatchIn{Typed: repair.Typed{}, Lot: f.get("lot"), Note: f.get("note"), Refused: f.get("refused") != "", RefusedWhy: f.get("why")}
	at := func(name string) *time.Time {
		if t := f.c.moment(bad, name, f.get(name)); !t.IsZero() {
			return &t
		}
		return nil
	}
	if t := at("mixed"); t != nil {
		b.MixedAt = *t
	} else if bad.Of("mixed") == nil {
		bad.Add("mixed", "", "say when mixing ended")
	}
	b.StartedAt, b.PlaceStart, b.PlacedAt = at("started"), at("place_start"), at("placed")
	v := map[string]*float64{}
	for _, m := range batchBoxes {
		text := f.get(m.box)
		if v[m.box] = f.c.quantity(bad, m.box, text, m.kind); text != "" {
			b.Typed[m.column] = text
		}
	}
	b.Flow1, b.Flow2 = as[units.Length](v["flow_1"]), as[units.Length](v["flow_2"])
	b.MixTemp, b.AirTemp, b.SteelTemp = as[units.Temperature](v["mix_temp"]), as[units.Temperature](v["air_temp"]), as[units.Temperature](v["steel_temp"])
	b.PremixKg, b.WaterKg, b.WaterTarget, b.FiberKg, b.FiberTarget = v["premix"], v["water"], v["water_target"], v["fiber"], v["fiber_target"]
	b.AdmixtureKg, b.IceKg = v["admixture"], v["ice"]
	if text := f.get("bags"); text != "" {
		n, err := strconv.ParseFloat(text, 64)
		if err != nil {
			bad.Add("bags", text, "bags must be a number from 0 to 1000, got %q", text)
		}
		b.Bags = &n
	}
	if text := f.get("made"); text != "" {
		d, err := time.ParseInLocation(time.DateOnly, text, time.UTC)
		if err != nil {
			bad.Add("made", text, "must be a day such as 2026-04-30, got %q", text)
		}
		b.PremixMadeOn = &d
	}
	for _, r := range f.c.scope.Ends {
		if !slices.Contains(f.values["end"], r.End.ID) {
			continue
		}
		e := repair.BatchEndIn{EndID: r.End.ID}
		field := "volume-" + r.End.Name
		if x := f.c.quantity(bad, field, f.get(field), units.Volumes); x != nil {
			liters := *x / 1e6
			e.VolumeL = &liters
		}
		b.Ends = append(b.Ends, e)
	}
	return b, bad
}

// batchValues fills a form from a batch on record, each value as it was typed.
func (c *pourReader) batchValues(b repair.Batch) url.Values {
	v := url.Values{"lot": {b.Lot}, "note": {b.Note}, "why": {b.RefusedWhy}}
	if b.Refused {
		v.Set("refused", "on")
	}
	at := func(name string, t *time.Time) {
		if t != nil {
			v.Set(name, t.In(c.zone).Format("2006-01-02T15:04"))
		}
	}
	at("mixed", &b.MixedAt)
	at("started", b.StartedAt)
	at("place_start", b.PlaceStart)
	at("placed", b.PlacedAt)
	num := func(box, column string, k units.Kind, x *float64) {
		if x == nil {
			return
		}
		text := k.Exact(*x, c.sys)
		if typed := b.Typed[column]; typed != "" {
			if back, err := k.Parse(typed, c.sys); err == nil && back == *x {
				text = typed
			}
		}
		v.Set(box, text)
	}
	flow1, flow2 := b.Flow1, b.Flow2
	if flow1 == nil && flow2 == nil && b.Flow != nil {
		flow1, flow2 = b.Flow, b.Flow // one from before both diameters were kept
	}
	in := map[string]*float64{"flow_1": asFloat(flow1), "flow_2": asFloat(flow2), "mix_temp": asFloat(b.MixTemp), "air_temp": asFloat(b.AirTemp), "steel_temp": asFloat(b.SteelTemp),
		"premix": b.PremixKg, "water": b.WaterKg, "water_target": b.WaterTarget, "fiber": b.FiberKg, "fiber_target": b.FiberTarget, "admixture": b.AdmixtureKg, "ice": b.IceKg}
	for _, m := range batchBoxes {
		num(m.box, m.column, m.kind, in[m.box])
	}
	if b.Bags != nil {
		v.Set("bags", strconv.FormatFloat(*b.Bags, 'g', -1, 64))
	}
	if b.PremixMadeOn != nil {
		v.Set("made", b.PremixMadeOn.Format(time.DateOnly))
	}
	for _, e := range c.list.BatchEnds {
		if e.BatchID == b.ID {
			v.Add("end", e.EndID)
			for _, r := range c.scope.Ends {
				if r.End.ID == e.EndID && e.VolumeL != nil {
					v.Set("volume-"+r.End.Name, units.Volumes.Exact(*e.VolumeL*1e6, c.sys))
				}
			}
		}
	}
	return v
}

func asFloat[Q ~float64](v *Q) *float64 {
	if v == nil {
		return nil
	}
	return new(float64(*v))
}

// view is the form with what was typed and why it was not taken.
func (f *batchForm) view(bad *fault.Invalid, adding bool) casting.BatchForm {
	if x := bad.Of("flow"); x != nil && bad.Of("flow_1") == nil {
		y := *x
		y.Field = "flow_1"
		bad = &fault.Invalid{Fields: append(slices.Clone(bad.Fields), y)}
	}
	field := func(x ui.Field) ui.Field {
		x.Value = f.values.Get(x.Name)
		if p := bad.Of(x.Name); p != nil {
			x.Reason = p.Reason
		}
		return x
	}
	when := func(name, label string, optional bool) ui.Field {
		return field(ui.Field{Name: name, Label: label, Type: "datetime-local", Optional: optional})
	}
	v := casting.BatchForm{Times: []ui.Field{when("started", "Mixing began", true), when("mixed", "Mixing ended", false), when("place_start", "Placing began", true), when("placed", "Placing ended", true)},
		Refused: f.get("refused") != "", Why: field(ui.Field{Name: "why", Label: "Why refused"}), Note: field(ui.Field{Name: "note", Label: "Note", Rows: 2, Optional: true})}
	boxes := map[string]ui.Field{}
	for _, m := range batchBoxes {
		boxes[m.box] = field(ui.Field{Name: m.box, Label: m.label, Unit: m.kind.Label(f.c.sys), InputMode: "decimal", Optional: true, Short: true})
	}
	v.Flow = []ui.Field{boxes["flow_1"], boxes["flow_2"]}
	v.Temps = []ui.Field{boxes["mix_temp"], boxes["air_temp"], boxes["steel_temp"]}
	v.Masses = []ui.Field{field(ui.Field{Name: "bags", Label: "Bags", InputMode: "decimal", Optional: true, Short: true}), boxes["premix"], boxes["water"], boxes["water_target"], boxes["fiber"], boxes["fiber_target"], boxes["admixture"], boxes["ice"],
		field(ui.Field{Name: "lot", Label: "Lot of the bags", Optional: true, Short: true}), field(ui.Field{Name: "made", Label: "Bags made on", Type: "date", Optional: true, Short: true})}
	for _, r := range f.c.scope.Ends {
		v.Ends = append(v.Ends, casting.EndChoice{ID: r.End.ID, Name: r.End.Name, Reading: endReading(f.c.scope, r.End), On: slices.Contains(f.values["end"], r.End.ID),
			Volume: field(ui.Field{Name: "volume-" + r.End.Name, Label: "Volume into " + r.End.Name, Unit: units.Volumes.Label(f.c.sys), InputMode: "decimal", Optional: true, Short: true})})
	}
	if x := bad.Of("ends"); x != nil {
		v.EndsWhy = x.Reason
	}
	if adding {
		plan, _ := f.c.frame.SpecimensToMake()
		for i, x := range plan {
			name := fmt.Sprintf("set-%d-count", i+1)
			box := field(ui.Field{Name: name, Label: fmt.Sprintf("%s, %s, %s, for %s", ageText(24*x.NominalDays), cureWords(string(x.Cure)), kindName(string(x.Kind)), x.Purpose.Words()),
				InputMode: "numeric", Optional: true, Short: true})
			v.Sets = append(v.Sets, box)
		}
	}
	return v
}

// sets reads how many specimens of each line of the plan were made of the batch.
func (f *batchForm) sets(bad *fault.Invalid) []repair.SpecimenSet {
	var out []repair.SpecimenSet
	plan, _ := f.c.frame.SpecimensToMake()
	for i, x := range plan {
		name := fmt.Sprintf("set-%d-count", i+1)
		text := f.get(name)
		if text == "" || text == "0" {
			continue
		}
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > 100 {
			bad.Add(name, text, "count must be a whole number from 1 to 100, got %q", text)
			continue
		}
		out = append(out, repair.SpecimenSet{Kind: string(x.Kind), Curing: string(x.Cure), Duty: string(x.Duty), NominalDays: x.NominalDays, Count: n, Purpose: string(x.Purpose)})
	}
	return out
}
