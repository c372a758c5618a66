package web

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/end"
	"endcast/views/ui"
)

// pours lists the castings of the end, newest first, with batches and strengths.
func (e *endReader) pours() []end.Pour {
	mine := map[string]repair.PourEnd{}
	for _, pe := range e.sc.PourEnds {
		if pe.EndID == e.rec.End.ID {
			mine[pe.PourID] = pe
		}
	}
	var out []end.Pour
	for _, p := range newestFirst(e.sc.Pours, func(p repair.Pour) time.Time { return p.StartedAt }) {
		pe, ok := mine[p.ID]
		if !ok {
			continue
		}
		row := end.Pour{Number: numberOf(p.Number), When: e.when(p.StartedAt), Note: p.Note, Href: e.s.program(e.r).Path("pours", numberOf(p.Number)), Batches: e.batches(p), Sets: e.sets(p.ID)}
		if p.EndedAt != nil {
			row.When += " to " + e.when(*p.EndedAt)
		}
		if pe.VolumeL != nil {
			row.Volume = units.Volumes.Format(*pe.VolumeL*1e6, e.sys, -1) // a liter is 1e6 mm3
		}
		out = append(out, row)
	}
	return out
}

// batches lists the mixes of a pour with what lies outside the limits of the
// design basis.
func (e *endReader) batches(p repair.Pour) []end.Batch {
	var out []end.Batch
	for _, b := range e.sc.Batches {
		if b.PourID != p.ID {
			continue
		}
		row := end.Batch{Number: numberOf(b.Number), Mixed: e.when(b.MixedAt), Placed: "–", Flow: "–", MixTemp: "–", AirTemp: "–", State: ui.Mark{State: ui.Good, Text: "placed"}}
		if b.PlacedAt != nil {
			row.Placed = e.when(*b.PlacedAt)
		}
		if b.Flow != nil {
			row.Flow = b.Flow.Format(e.sys, -1)
		}
		if b.MixTemp != nil {
			row.MixTemp = b.MixTemp.Format(e.sys, -1)
		}
		if b.AirTemp != nil {
			row.AirTemp = b.AirTemp.Format(e.sys, -1)
		}
		for _, f := range e.sc.BatchFindings(p, b) {
			row.State = ui.Mark{State: ui.Caution, Text: "outside a limit"}
			row.Why = strings.TrimPrefix(row.Why+"; "+f.Text(e.sys), "; ")
		}
		if b.Refused {
			row.State, row.Why = ui.Mark{State: ui.Stop, Text: "refused"}, b.RefusedWhy
		}
		out = append(out, row)
	}
	slices.SortFunc(out, func(a, b end.Batch) int {
		return cmp.Or(cmp.Compare(len(a.Number), len(b.Number)), cmp.Compare(a.Number, b.Number))
	})
	return out
}

// setKey is what specimens of one set have in common.
type setKey struct {
	batch        int
	kind, curing string
	days         float64
}

// sets groups the specimens of a pour and gives the means of those that count.
func (e *endReader) sets(pourID string) []end.Set {
	groups := map[setKey][]repair.Specimen{}
	var order []setKey
	for _, sp := range e.sc.Specimens {
		if sp.PourID != pourID {
			continue
		}
		k := setKey{sp.BatchNo, sp.Kind, sp.Curing, sp.NominalDays}
		if groups[k] == nil {
			order = append(order, k)
		}
		groups[k] = append(groups[k], sp)
	}
	slices.SortFunc(order, func(a, b setKey) int {
		return cmp.Or(cmp.Compare(a.batch, b.batch), cmp.Compare(a.days, b.days), cmp.Compare(a.curing, b.curing), cmp.Compare(a.kind, b.kind))
	})
	var out []end.Set
	for _, k := range order {
		out = append(out, e.set(k, groups[k]))
	}
	return out
}

func (e *endReader) set(k setKey, specimens []repair.Specimen) end.Set {
	var raw, mean []float64
	var held []string
	broken := 0
	for _, sp := range specimens {
		if sp.BrokenAt == nil {
			continue
		}
		broken++
		if sp.Held != "" {
			held = append(held, sp.Mark+" not counted: "+sp.Held)
			continue
		}
		if sp.Raw != nil && sp.Strength != nil {
			raw, mean = append(raw, float64(*sp.Raw)), append(mean, float64(*sp.Strength))
		}
	}
	kind := k.kind
	if info, ok := uhpc.Kind(k.kind).Info(); ok {
		kind = info.Name
	}
	out := end.Set{Batch: numberOf(k.batch), Kind: kind, Curing: k.curing + " curing", Age: units.Days.Format(k.days, e.sys, -1),
		Broken: fmt.Sprintf("%d of %d", broken, len(specimens)), Raw: "–", Mean: "–", Held: strings.Join(held, "; ")}
	if len(mean) > 0 {
		out.Raw = uhpc.Spread(raw).Mean.Format(e.sys, -1)
		out.Mean = uhpc.Spread(mean).Mean.Format(e.sys, -1)
	}
	if broken < len(specimens) {
		out.Waiting = true
		out.Due = "due " + specimens[0].CastAt.Add(time.Duration(k.days*24)*time.Hour).In(e.zone).Format("2006-01-02")
	}
	return out
}
