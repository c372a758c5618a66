package tablet

import (
	"fmt"
	"slices"
	"time"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// pourEndBody is one end that a pour serves, with the design it was cast by.
type pourEndBody struct {
	ID       string `json:"id"`
	Name     string `json:"name"`
	VolumeL  string `json:"volume_l,omitempty"`
	DesignID string `json:"design_id,omitempty"`
	Revision int    `json:"revision,omitempty"`
}

type batchBody struct {
	Started    string   `json:"started,omitempty"` // first water
	Mixed      string   `json:"mixed"`             // end of mixing
	PlaceStart string   `json:"place_start,omitempty"`
	Placed     string   `json:"placed,omitempty"`
	Flow       string   `json:"flow,omitempty"` // of one diameter, as tablets of the first version sent it
	Flow1      string   `json:"flow_1,omitempty"`
	Flow2      string   `json:"flow_2,omitempty"`
	MixTemp    string   `json:"mix_temp,omitempty"`
	AirTemp    string   `json:"air_temp,omitempty"`
	SteelTemp  string   `json:"steel_temp,omitempty"`
	Premix     string   `json:"premix_kg,omitempty"`
	Fiber      string   `json:"fiber_kg,omitempty"`
	FiberGoal  string   `json:"fiber_target_kg,omitempty"`
	Water      string   `json:"water_kg,omitempty"`
	WaterGoal  string   `json:"water_target_kg,omitempty"`
	Admixture  string   `json:"admixture_kg,omitempty"`
	Ice        string   `json:"ice_kg,omitempty"`
	Bags       string   `json:"bags,omitempty"`
	Lot        string   `json:"lot,omitempty"`
	Ends       []string `json:"ends,omitempty"` // ids of those that it went to; none: all of the pour
	Refused    bool     `json:"refused,omitempty"`
	RefusedWhy string   `json:"refused_why,omitempty"`
	Note       string   `json:"note,omitempty"`
}

type pourBody struct {
	Started   string               `json:"started"`
	Ended     string               `json:"ended,omitempty"`
	VolumeL   string               `json:"volume_l,omitempty"` // at the entry's own end
	Ends      []pourEndBody        `json:"ends,omitempty"`     // none: the entry's own end
	Weather   string               `json:"weather,omitempty"`
	Note      string               `json:"note,omitempty"`
	Batches   []batchBody          `json:"batches"`
	Specimens []repair.SpecimenSet `json:"specimens,omitempty"`
}

// mostPourEnds bounds the ends of one pour.
const mostPourEnds = 20

// change is a pour at the entry's end and those that it names beside it.
func (b pourBody) change(r *reader, shift time.Duration, endID string) repair.RecordPour {
	ch := repair.RecordPour{StartedAt: r.moment("started", b.Started, shift), EndedAt: r.later("ended", b.Ended, shift), Weather: b.Weather, Note: b.Note, Specimens: b.Specimens,
		VolumeL: map[string]float64{}}
	if v := r.number("volume_l", b.VolumeL, units.Numbers); v != nil {
		ch.VolumeL[endID] = *v
	}
	if len(b.Ends) > mostPourEnds {
		r.bad.Add("ends", "", "a pour of a tablet serves at most %d ends, got %d", mostPourEnds, len(b.Ends))
		return ch
	}
	if len(b.Ends) > 0 && !slices.ContainsFunc(b.Ends, func(x pourEndBody) bool { return x.ID == endID }) {
		r.bad.Add("ends", "", "the end at which the pour was entered is not among its ends")
	}
	for _, x := range b.Ends {
		if v := r.number("volume-"+x.Name, x.VolumeL, units.Numbers); v != nil {
			ch.VolumeL[x.ID] = *v
		}
	}
	if len(ch.VolumeL) == 0 {
		ch.VolumeL = nil
	}
	if len(b.Batches) > 50 || len(b.Specimens) > 50 {
		r.bad.Add("batches", "", "a pour has at most 50 batches and 50 sets of specimens, got %d and %d", len(b.Batches), len(b.Specimens))
		return ch
	}
	for i, x := range b.Batches {
		ch.Batches = append(ch.Batches, x.in(r, fmt.Sprintf("batch-%d-", i+1), shift))
	}
	return ch
}

func (x batchBody) in(r *reader, f string, shift time.Duration) repair.BatchIn {
	length := func(name, text string) *units.Length { return optional[units.Length](r, f+name, text) }
	degree := func(name, text string) *units.Temperature { return optional[units.Temperature](r, f+name, text) }
	mass := func(name, text string) *float64 { return r.number(f+name, text, units.Numbers) }
	in := repair.BatchIn{StartedAt: r.later(f+"started", x.Started, shift), MixedAt: r.moment(f+"mixed", x.Mixed, shift), PlaceStart: r.later(f+"place_start", x.PlaceStart, shift),
		PlacedAt: r.later(f+"placed", x.Placed, shift), Flow: length("flow", x.Flow), Flow1: length("flow_1", x.Flow1), Flow2: length("flow_2", x.Flow2), MixTemp: degree("mix_temp", x.MixTemp),
		AirTemp: degree("air_temp", x.AirTemp), SteelTemp: degree("steel_temp", x.SteelTemp), PremixKg: mass("premix_kg", x.Premix), FiberKg: mass("fiber_kg", x.Fiber),
		FiberTarget: mass("fiber_target_kg", x.FiberGoal), WaterKg: mass("water_kg", x.Water), WaterTarget: mass("water_target_kg", x.WaterGoal), AdmixtureKg: mass("admixture_kg", x.Admixture),
		IceKg: mass("ice_kg", x.Ice), Bags: mass("bags", x.Bags), Lot: x.Lot, Refused: x.Refused, RefusedWhy: x.RefusedWhy, Note: x.Note,
		Typed: typed("flow_mm", x.Flow, "flow_1_mm", x.Flow1, "flow_2_mm", x.Flow2, "mix_temp_c", x.MixTemp, "air_temp_c", x.AirTemp, "steel_temp_c", x.SteelTemp)}
	for _, id := range x.Ends {
		in.Ends = append(in.Ends, repair.BatchEndIn{EndID: id})
	}
	return in
}

// EndIDs are the ends that an entry concerns: its own, and for a pour those that it
// names beside it.
func (e Envelope) EndIDs() []string {
	out := []string{e.EndID}
	if e.Kind != Pour {
		return out
	}
	var b pourBody
	if e.read(&b) != nil {
		return out // what cannot be read is refused where it is read
	}
	for _, x := range b.Ends {
		if !slices.Contains(out, x.ID) && len(out) < mostPourEnds {
			out = append(out, x.ID)
		}
	}
	return out
}

func (r *reader) later(field, text string, shift time.Duration) *time.Time {
	if text == "" {
		return nil
	}
	t := r.moment(field, text, shift)
	return &t
}

func typed(pairs ...string) repair.Typed {
	out := repair.Typed{}
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			out[pairs[i]] = pairs[i+1]
		}
	}
	return out
}
