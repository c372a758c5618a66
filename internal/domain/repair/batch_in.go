package repair

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// BatchIn is one mix as it comes in. What was not recorded is nil.
type BatchIn struct {
	MixedAt    time.Time          `json:"mixed_at"` // end of mixing
	PlacedAt   *time.Time         `json:"placed_at"`
	Flow       *units.Length      `json:"flow"` // mean; of Flow1 and Flow2 where both are given
	MixTemp    *units.Temperature `json:"mix_temp"`
	AirTemp    *units.Temperature `json:"air_temp"`
	Refused    bool               `json:"refused"`
	RefusedWhy string             `json:"refused_why"`
	Typed      Typed              `json:"typed"`

	StartedAt    *time.Time         `json:"started_at,omitempty"` // start of mixing
	PlaceStart   *time.Time         `json:"place_start,omitempty"`
	Flow1        *units.Length      `json:"flow_1,omitempty"`
	Flow2        *units.Length      `json:"flow_2,omitempty"` // at right angles to Flow1
	SteelTemp    *units.Temperature `json:"steel_temp,omitempty"`
	PremixKg     *float64           `json:"premix_kg,omitempty"`
	Bags         *float64           `json:"bags,omitempty"`
	Lot          string             `json:"lot,omitempty"`
	PremixMadeOn *time.Time         `json:"premix_made_on,omitempty"` // a day
	FiberKg      *float64           `json:"fiber_kg,omitempty"`
	FiberTarget  *float64           `json:"fiber_target_kg,omitempty"`
	WaterKg      *float64           `json:"water_kg,omitempty"`
	WaterTarget  *float64           `json:"water_target_kg,omitempty"`
	AdmixtureKg  *float64           `json:"admixture_kg,omitempty"`
	IceKg        *float64           `json:"ice_kg,omitempty"`
	Note         string             `json:"note,omitempty"`
	// Ends are those that it went to, in their order; none: every end of the pour.
	Ends []BatchEndIn `json:"ends,omitempty"`
}

// BatchEndIn says that a batch went to an end, and how much of it.
type BatchEndIn struct {
	EndID   string   `json:"end_id"`
	VolumeL *float64 `json:"volume_l,omitempty"`
}

// row is the batch as it is stored, but for its identifiers.
func (b BatchIn) row(number int) Batch {
	out := Batch{Number: number, MixedAt: b.MixedAt, PlacedAt: b.PlacedAt, Flow: b.Flow, MixTemp: b.MixTemp, AirTemp: b.AirTemp,
		Refused: b.Refused, RefusedWhy: b.RefusedWhy, Typed: b.Typed, StartedAt: b.StartedAt, PlaceStart: b.PlaceStart, Flow1: b.Flow1, Flow2: b.Flow2,
		SteelTemp: b.SteelTemp, PremixKg: b.PremixKg, Bags: b.Bags, Lot: b.Lot, PremixMadeOn: b.PremixMadeOn, FiberKg: b.FiberKg, FiberTarget: b.FiberTarget,
		WaterKg: b.WaterKg, WaterTarget: b.WaterTarget, AdmixtureKg: b.AdmixtureKg, IceKg: b.IceKg, Note: b.Note}
	if b.Flow1 != nil && b.Flow2 != nil {
		mean := (*b.Flow1 + *b.Flow2) / 2
		out.Flow = &mean
	}
	return out
}

// BatchInOf is a stored batch as an entry, for a form that corrects it.
func BatchInOf(b Batch, ends []BatchEnd) BatchIn {
	out := BatchIn{MixedAt: b.MixedAt, PlacedAt: b.PlacedAt, Flow: b.Flow, MixTemp: b.MixTemp, AirTemp: b.AirTemp, Refused: b.Refused, RefusedWhy: b.RefusedWhy, Typed: b.Typed,
		StartedAt: b.StartedAt, PlaceStart: b.PlaceStart, Flow1: b.Flow1, Flow2: b.Flow2, SteelTemp: b.SteelTemp, PremixKg: b.PremixKg, Bags: b.Bags, Lot: b.Lot,
		PremixMadeOn: b.PremixMadeOn, FiberKg: b.FiberKg, FiberTarget: b.FiberTarget, WaterKg: b.WaterKg, WaterTarget: b.WaterTarget, AdmixtureKg: b.AdmixtureKg,
		IceKg: b.IceKg, Note: b.Note}
	for _, e := range ends {
		if e.BatchID == b.ID {
			out.Ends = append(out.Ends, BatchEndIn{EndID: e.EndID, VolumeL: e.VolumeL})
		}
	}
	return out
}

// pourTimes are the moments that a batch is compared with.
type pourTimes struct {
	started time.Time
	ended   *time.Time // nil while the pour is open, or where its end was not recorded
	now     time.Time
}

// batchFields are the fields of an entry for those of package uhpc.
var batchFields = map[string]string{"flow_1": "flow", "flow_2": "flow_2", "mix_temperature": "mix_temp", "air_temperature": "air_temp", "steel_temperature": "steel_temp",
	"mix_start": "started", "mix_end": "mixed", "place_start": "place_start", "placed": "placed",
	"fiber": "fiber", "fiber_target": "fiber_target", "water": "water", "water_target": "water_target"}

// validate refuses what cannot be true of a batch. The fields are flow, placed and
// so on, behind a prefix.
func (b BatchIn) validate(bad *fault.Invalid, f string, number int, at pourTimes, bs basis.Basis) {
	notAfter(bad, f+"mixed", b.MixedAt, at.now)
	if b.MixedAt.Before(at.started.Add(-6 * time.Hour)) {
		bad.Add(f+"mixed", b.MixedAt.Format(time.RFC3339), "was mixed more than 6 hours before the pour began")
	}
	if b.PlacedAt != nil {
		notAfter(bad, f+"placed", *b.PlacedAt, at.now)
		if at.ended != nil && b.PlacedAt.After(*at.ended) {
			bad.Add(f+"placed", b.PlacedAt.Format(time.RFC3339), "was placed after the pour ended, %s", at.ended.Format(time.RFC3339))
		}
	}
	both := b.Flow1 != nil && b.Flow2 != nil
	if !both && (b.Flow1 != nil || b.Flow2 != nil) {
		field := "flow_2"
		if b.Flow1 == nil {
			field = "flow_1"
		}
		bad.Add(f+field, "", "flow is read on two diameters at right angles; one is missing")
	}
	var impossible *fault.Invalid
	if errors.As(b.row(number).batch(Pour{}).Validate(bs), &impossible) {
		for _, x := range impossible.Fields {
			name, ok := batchFields[x.Field]
			switch {
			case !ok:
				continue
			case x.Field == "flow_1" && both:
				name = "flow_1"
			case x.Field == "flow_2" && !both:
				continue // the same diameter a second time
			}
			bad.Add(f+name, x.Typed, "%s", x.Reason)
		}
	}
	for _, m := range []struct {
		field string
		v     *float64
		most  float64
	}{{"premix", b.PremixKg, 20000}, {"bags", b.Bags, 1000}, {"admixture", b.AdmixtureKg, 2000}, {"ice", b.IceKg, 2000}} {
		if m.v != nil {
			within(bad, f+m.field, *m.v, 0, m.most)
		}
	}
	if d := b.PremixMadeOn; d != nil && d.After(b.MixedAt) {
		bad.Add(f+"made", d.Format(time.DateOnly), "premix cannot be made after it was mixed, %s", b.MixedAt.Format(time.DateOnly))
	}
	tooLong(bad, f+"lot", b.Lot, 200)
	tooLong(bad, f+"note", b.Note, 4000)
	if b.Refused && strings.TrimSpace(b.RefusedWhy) == "" {
		bad.Add(f+"why", "", "say why the batch was refused")
	}
}

// validateEnds refuses ends that are not among those of the pour.
func (b BatchIn) validateEnds(bad *fault.Invalid, f string, ends []string) {
	seen := map[string]bool{}
	for _, e := range b.Ends {
		switch {
		case !slices.Contains(ends, e.EndID):
			bad.Add(f+"ends", e.EndID, "the pour does not serve this end")
		case seen[e.EndID]:
			bad.Add(f+"ends", e.EndID, "names this end twice")
		}
		seen[e.EndID] = true
		if v := e.VolumeL; v != nil && !(*v > 0 && *v < 20000) {
			bad.Add(f+"ends", fmt.Sprint(*v), "volume must lie from 0 to 20,000 liters")
		}
	}
}

// settled is the row in stored form: times in UTC, a day as a day.
func (b Batch) settled() Batch {
	b.MixedAt, b.PlacedAt, b.StartedAt, b.PlaceStart = stored(b.MixedAt), utc(b.PlacedAt), utc(b.StartedAt), utc(b.PlaceStart)
	if d := b.PremixMadeOn; d != nil {
		day := time.Date(d.Year(), d.Month(), d.Day(), 0, 0, 0, 0, time.UTC)
		b.PremixMadeOn = &day
	}
	b.Typed = b.Typed.orNone()
	return b
}

// addBatch puts a valid batch on record.
func (s *Scope) addBatch(p Pour, b BatchIn, number int, c Context) Batch {
	row := b.row(number).settled()
	row.ID, row.PourID = c.NewID(), p.ID
	s.Batches = append(s.Batches, row)
	s.sendBatch(row.ID, b.Ends)
	return row
}

// sendBatch notes the ends that a batch went to, beside those noted already.
func (s *Scope) sendBatch(batchID string, ends []BatchEndIn) {
	for i, e := range ends {
		row := BatchEnd{BatchID: batchID, EndID: e.EndID, VolumeL: e.VolumeL, Seq: i + 1}
		at := slices.IndexFunc(s.BatchEnds, func(x BatchEnd) bool { return x.BatchID == batchID && x.EndID == e.EndID })
		if at >= 0 {
			s.BatchEnds[at] = row
		} else {
			s.BatchEnds = append(s.BatchEnds, row)
		}
	}
}

// castOf is when specimens of a batch were cast: when the last of it was placed, or
// mixed where that is not on record.
func castOf(b Batch) time.Time {
	if b.PlacedAt != nil {
		return *b.PlacedAt
	}
	return b.MixedAt
}

// tooLong notes a text beyond its limit.
func tooLong(bad *fault.Invalid, field, v string, most int) {
	if n := len([]rune(v)); n > most {
		bad.Add(field, "", "has %d characters, at most %d", n, most)
	}
}
