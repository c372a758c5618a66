package repair

import (
	"fmt"

	"endcast/internal/domain/quality"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// cleaning is the row as package quality reads it: a record of one zone.
func (c Cleaning) cleaning() quality.Cleaning {
	return quality.Cleaning{From: c.StartedAt, To: c.EndedAt, Method: quality.Method(c.Method), SolventFirst: c.SolventFirst,
		Zones: []quality.ZoneGrade{{Zone: quality.Zone(c.Zone), Grade: quality.Grade(c.Grade), Rust: quality.Rust(c.Rust), Profile: c.Profile, Note: c.Note}},
		Air:   c.AirTemp, Steel: c.SteelTemp, DewPoint: c.DewPoint, Humidity: c.Humidity, Note: c.Note}
}

// CleaningAssessment compares the latest record of each zone with the grades
// that the design basis asks for.
func (r *Record) CleaningAssessment(s *Scope) quality.Assessment {
	latest := map[string]Cleaning{}
	var whole quality.Cleaning
	for _, c := range r.Cleanings {
		if was, ok := latest[c.Zone]; !ok || !c.EndedAt.Before(was.EndedAt) {
			latest[c.Zone] = c
		}
	}
	for _, z := range quality.Zones() {
		c, ok := latest[string(z)]
		if !ok {
			continue
		}
		one := c.cleaning()
		whole.Zones = append(whole.Zones, one.Zones...)
		whole.SolventFirst = whole.SolventFirst || one.SolventFirst
		if one.To.After(whole.To) {
			whole.From, whole.To, whole.Air, whole.Steel, whole.DewPoint = one.From, one.To, one.Air, one.Steel, one.DewPoint
		}
	}
	return whole.Assess(s.Basis())
}

// batch is the row as package uhpc reads it.
func (b Batch) batch(p Pour) uhpc.Batch {
	out := uhpc.Batch{Mark: fmt.Sprintf("P%03d-%d", p.Number, b.Number), MixEnd: b.MixedAt, Mix: b.MixTemp, Air: b.AirTemp}
	if b.PlacedAt != nil {
		out.Placed = *b.PlacedAt
	}
	if b.Flow != nil {
		out.Flow = [2]units.Length{*b.Flow, *b.Flow}
	}
	if b.Flow1 != nil && b.Flow2 != nil {
		out.Flow = [2]units.Length{*b.Flow1, *b.Flow2}
	}
	if b.StartedAt != nil {
		out.MixStart = *b.StartedAt
	}
	if b.PlaceStart != nil {
		out.PlaceStart = *b.PlaceStart
	}
	out.Steel = b.SteelTemp
	for _, m := range []struct {
		to   *float64
		from *float64
	}{{&out.FiberKg, b.FiberKg}, {&out.FiberTargetKg, b.FiberTarget}, {&out.WaterKg, b.WaterKg}, {&out.WaterTargetKg, b.WaterTarget}} {
		if m.from != nil {
			*m.to = *m.from
		}
	}
	// A target without the mass weighed says nothing.
	if b.FiberKg == nil {
		out.FiberTargetKg = 0
	}
	if b.WaterKg == nil {
		out.WaterTargetKg = 0
	}
	return out
}

// BatchFindings compares a batch with the limits of the design basis.
func (s *Scope) BatchFindings(p Pour, b Batch) []uhpc.Finding { return b.batch(p).Check(s.Basis()) }

// specimen is the row as package uhpc reads it.
func (sp Specimen) specimen(p Pour) uhpc.Specimen {
	out := uhpc.Specimen{Mark: sp.Mark, Batch: fmt.Sprintf("P%03d-%d", p.Number, sp.BatchNo), Kind: uhpc.Kind(sp.Kind), Cure: uhpc.Cure(sp.Curing),
		Duty: uhpc.Duty(sp.Duty), Cast: sp.CastAt, NominalHours: sp.NominalDays * 24, EndsGround: sp.EndsGround}
	if sp.ExcludedAt != nil {
		out.Excluded = sp.ExcludedWhy + ", " + sp.ExcludedBy
	}
	if sp.BrokenAt != nil {
		out.Broken = *sp.BrokenAt
	}
	if sp.Load != nil {
		out.Load = *sp.Load
	}
	if sp.Width != nil {
		out.Width = [2]units.Length{*sp.Width, *sp.Width}
	}
	if sp.Depth != nil {
		out.Width[1] = *sp.Depth
	}
	if sp.Height != nil {
		out.Height = *sp.Height
	}
	if sp.Fracture != nil {
		out.Fracture = *sp.Fracture
	}
	if sp.Machine != nil {
		out.MachineCapacity = *sp.Machine
	}
	return out
}

// SpecimenOf is a specimen of a pour as package uhpc reads it, for due lists and
// sets.
func SpecimenOf(sp Specimen, p Pour) uhpc.Specimen { return sp.specimen(p) }

// refused reports whether a batch of a pour was refused.
func (s *Scope) refused(pourID string, number int) bool {
	for _, b := range s.Batches {
		if b.PourID == pourID && b.Number == number {
			return b.Refused
		}
	}
	return false
}

func (set SpecimenSet) duty() string {
	if set.Duty == "" {
		return string(uhpc.QualityControl)
	}
	return set.Duty
}
