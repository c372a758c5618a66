package tablet

import (
	"fmt"
	"time"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

type batchBody struct {
	Mixed      string `json:"mixed"`
	Placed     string `json:"placed,omitempty"`
	Flow       string `json:"flow,omitempty"`
	MixTemp    string `json:"mix_temp,omitempty"`
	AirTemp    string `json:"air_temp,omitempty"`
	Refused    bool   `json:"refused,omitempty"`
	RefusedWhy string `json:"refused_why,omitempty"`
}

type pourBody struct {
	Started   string               `json:"started"`
	Ended     string               `json:"ended,omitempty"`
	VolumeL   string               `json:"volume_l,omitempty"`
	Note      string               `json:"note,omitempty"`
	Batches   []batchBody          `json:"batches"`
	Specimens []repair.SpecimenSet `json:"specimens,omitempty"`
}

// change is a pour at one end: on a tablet each end has its own record, since a
// batch is placed at one end after the other.
func (b pourBody) change(r *reader, shift time.Duration, endID string) repair.RecordPour {
	ch := repair.RecordPour{StartedAt: r.moment("started", b.Started, shift), EndedAt: r.later("ended", b.Ended, shift), Note: b.Note, Specimens: b.Specimens}
	if v := r.number("volume_l", b.VolumeL, units.Numbers); v != nil {
		ch.VolumeL = map[string]float64{endID: *v}
	}
	if len(b.Batches) > 50 || len(b.Specimens) > 50 {
		r.bad.Add("batches", "", "a pour has at most 50 batches and 50 sets of specimens, got %d and %d", len(b.Batches), len(b.Specimens))
		return ch
	}
	for i, x := range b.Batches {
		f := fmt.Sprintf("batch-%d-", i+1)
		ch.Batches = append(ch.Batches, repair.BatchIn{MixedAt: r.moment(f+"mixed", x.Mixed, shift), PlacedAt: r.later(f+"placed", x.Placed, shift),
			Flow: optional[units.Length](r, f+"flow", x.Flow), MixTemp: optional[units.Temperature](r, f+"mix_temp", x.MixTemp),
			AirTemp: optional[units.Temperature](r, f+"air_temp", x.AirTemp), Refused: x.Refused, RefusedWhy: x.RefusedWhy,
			Typed: typed("flow", x.Flow, "mix_temp", x.MixTemp, "air_temp", x.AirTemp)})
	}
	return ch
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
