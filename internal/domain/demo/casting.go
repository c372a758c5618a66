package demo

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// Batches of the story that are not like the others, by number from 1.
const (
	refusedPour, refusedBatch = "1F 0414", 2 // water taken twice
	slowPour, slowBatch       = "2N 0512", 3 // placed late while the form was caulked
	routedPour                = "2N 0609"    // each batch went to ends of its own
)

// oldPremix is the casting for which the last pallet of the winter was used.
const oldPremix = "5N 0708"

// batchGap is the time from one batch to the next, in minutes.
const batchGap = 18

// pour tells of one casting: its batches, its specimens, how it cured and their breaks.
func (t *teller) pour(p pour) {
	ends := names(p.ends)
	t.tell("pour "+p.key, authz.Inspector, p.at.Add(130*minute), ends, false, func(s *repair.Scope) (repair.Change, error) { return p.record(s) })
	if p.key == slowPour {
		t.tell("pour "+p.key+" decided", authz.Engineer, p.at.Add(140*minute), ends, false, func(s *repair.Scope) (repair.Change, error) {
			q, err := p.of(s)
			return repair.DecideBatch{Pour: q.Number, Number: slowBatch, Why: "Called at 00:40. The mix was kept turning, flowed 8.6 in when it was tried again before placing, and met the fresh surface of the batch below: it stays."}, err
		})
	}
	t.cure(p)
	t.breaks(p)
}

// of is the row of this casting.
func (p pour) of(s *repair.Scope) (repair.Pour, error) {
	for _, q := range s.Pours {
		if q.MockupID == nil && q.StartedAt.Equal(p.at) {
			return q, nil
		}
	}
	return repair.Pour{}, fault.New(fault.NotFound, "there is no pour %s", p.key)
}

// access is the kind of window in which the casting was made.
func (p pour) access() string { return lineOf(p.ends[0].Name).access }

// amounts is what the casting takes by the program's own figures.
func amountsOf(s *repair.Scope) (uhpc.Amounts, error) {
	var forms []uhpc.Form
	for _, r := range s.Ends {
		f, err := r.CastingForm(nil, s)
		if err != nil {
			return uhpc.Amounts{}, err
		}
		forms = append(forms, f)
	}
	plan, _ := s.SpecimensToMake()
	return repair.PlannedCasting(forms, plan, 1).Evaluate(nil, s.Basis())
}

// record is the record of the pour, once the designs tell how much it takes.
func (p pour) record(s *repair.Scope) (repair.Change, error) {
	a, err := amountsOf(s)
	if err != nil {
		return nil, err
	}
	end := p.at.Add(2 * hour)
	ch := repair.RecordPour{StartedAt: p.at.UTC(), EndedAt: &end, VolumeL: map[string]float64{}, Note: p.note(), Weather: p.weather()}
	ch.WindowID, ch.LastBatchBy = p.window(s)
	var ids []string
	var into []float64
	for i, r := range s.Ends {
		v := round(float64(a.Forms[i].Form.Net)/1e6*between(1.0, 1.05, p.key, r.End.Name, "volume"), 0.1)
		ch.VolumeL[r.End.ID] = v
		ids, into = append(ids, r.End.ID), append(into, v)
		if h := a.Forms[i].Head; ch.FormHead == nil || h > *ch.FormHead {
			ch.FormHead = &h
		}
	}
	batches := a.Batches
	if p.key == refusedPour {
		batches++
	}
	for i := 1; i <= batches; i++ {
		ch.Batches = append(ch.Batches, p.batch(i, a))
	}
	groups := [][]int{nil}
	if p.key == routedPour {
		groups = p.route(ch.Batches, ids, into)
	}
	ch.Specimens = p.specimens(ch.Batches, groups, s.Basis())
	return ch, nil
}

// note is what the inspector wrote of the casting as a whole.
func (p pour) note() string {
	switch p.key {
	case slowPour:
		return "Form at 2N-2 wept at its foot for some minutes; see the nonconformance. Pour slowed while it was caulked."
	case oldPremix:
		return "Premix of the last pallet of the winter; the mix was slow to turn over and slow to set."
	case "6N 0423":
		return "Blankets and heater set at the end; fuel for two nights on site."
	}
	return ""
}

func (p pour) weather() string {
	f := outside(p.at)
	return fmt.Sprintf("%s, %.0f °F", pick([]string{"dry", "dry, light wind", "overcast", "clear", "damp after rain, form covered"}, p.key, "sky"), f)
}

// window is the access window that the casting was made in, and when the last batch
// had to go in.
func (p pour) window(s *repair.Scope) (id string, lastBy *time.Time) {
	for _, w := range s.Windows {
		if w.Kind == p.access() && !w.StartsAt.After(p.at) && w.EndsAt.After(p.at) {
			by := w.EndsAt.Add(-75 * minute)
			return w.ID, &by
		}
	}
	return "", nil
}

// mixed is when a batch was mixed.
func (p pour) mixed(i int) time.Time { return p.at.Add(time.Duration(6+batchGap*(i-1)) * minute) }

// mixHeat is the temperature of a batch at the end of mixing, in degrees Fahrenheit.
func (p pour) mixHeat(i int) float64 {
	month := float64(p.at.Month()) + float64(p.at.Day())/30
	return round(clip(64+3*(month-3)+between(-2, 4, p.key, strconv.Itoa(i), "mix"), 60, 83), 1)
}

// batch is one mix of a casting.
func (p pour) batch(i int, a uhpc.Amounts) repair.BatchIn {
	k := strconv.Itoa(i)
	mixed := p.mixed(i)
	started := mixed.Add(-time.Duration(9+int(5*uniform(p.key, k, "mixing"))) * minute).UTC()
	begun := mixed.Add(time.Duration(3+int(3*uniform(p.key, k, "begun"))) * minute).UTC()
	placed := mixed.Add(time.Duration(11+int(7*uniform(p.key, k, "placed"))) * minute).UTC()
	if p.key == slowPour && i == slowBatch {
		begun, placed = mixed.Add(19*minute).UTC(), mixed.Add(34*minute).UTC()
	}
	mix, air, steel := celsius(p.mixHeat(i)), celsius(round(outside(mixed), 1)), celsius(round(outside(mixed)-between(0, 2, p.key, k, "steel"), 1))
	b := repair.BatchIn{StartedAt: &started, MixedAt: mixed.UTC(), PlaceStart: &begun, PlacedAt: &placed, MixTemp: &mix, AirTemp: &air, SteelTemp: &steel, Lot: p.lot()}
	made := p.premix()
	b.PremixMadeOn = &made
	flow := clip(round(normal(8.9, 0.35, p.key, k, "flow"), 0.1), 8.0, 9.7)
	if p.key == refusedPour && i == refusedBatch {
		flow = 10.2
		b.PlaceStart, b.PlacedAt, b.Refused, b.RefusedWhy = nil, nil, true, "flow 10.2 in, more than 10 in: water taken twice; emptied into the waste skip"
	}
	f1, text1 := typed[units.Length](flow-0.1, 1)
	f2, text2 := typed[units.Length](flow+0.1, 1)
	b.Flow1, b.Flow2, b.Typed = &f1, &f2, repair.Typed{"flow_1_mm": text1, "flow_2_mm": text2}
	p.weigh(&b, k, a)
	return b
}

// weigh puts the masses of a batch beside their targets.
func (p pour) weigh(b *repair.BatchIn, k string, a uhpc.Amounts) {
	kg := func(v float64) *float64 { v = round(v, 0.01); return &v }
	b.PremixKg = kg(float64(a.Premix))
	bags := float64(a.BagsPerBatch)
	b.Bags = &bags
	admixture := 0.0
	for _, x := range a.Parts {
		target := float64(x.Batch)
		switch x.Part.Key {
		case basis.MixWater:
			off := between(-0.006, 0.006, p.key, k, "water")
			if b.Refused {
				off = 0.19
			}
			b.WaterTarget, b.WaterKg = kg(target), kg(target*(1+off))
		case basis.MixFiber:
			b.FiberTarget, b.FiberKg = kg(target), kg(target*(1+between(-0.008, 0.012, p.key, k, "fiber")))
		case basis.MixReducer, basis.MixAccelerator:
			admixture += target
		}
	}
	b.AdmixtureKg = kg(admixture)
}

// lot and premix tell which delivery the bags were of.
func (p pour) lot() string { return "B-" + p.premix().Format("0601") }

func (p pour) premix() time.Time {
	if p.key == oldPremix {
		return time.Date(2026, 12, 3, 0, 0, 0, 0, time.UTC)
	}
	d := p.at.AddDate(0, 0, -35-int(25*uniform(p.key, "premix")))
	return time.Date(d.Year(), d.Month(), d.Day(), 0, 0, 0, 0, time.UTC)
}

// route fills the ends one after another, says with each batch where it went, and
// returns the batches of each end, counted from 0.
func (p pour) route(batches []repair.BatchIn, ids []string, into []float64) [][]int {
	total := 0.0
	for _, v := range into {
		total += v
	}
	share := total / float64(len(batches))
	groups := make([][]int, len(ids))
	end, room := 0, into[0]
	for i := range batches {
		left := share
		for left > 0.05 && end < len(ids) {
			v := min(left, room)
			if rounded := round(v, 0.1); rounded > 0 {
				batches[i].Ends = append(batches[i].Ends, repair.BatchEndIn{EndID: ids[end], VolumeL: &rounded})
				groups[end] = append(groups[end], i)
			}
			left, room = left-v, room-v
			if room < 0.05 {
				if end++; end < len(ids) {
					room = into[end]
				}
			}
		}
	}
	return groups
}

// specimens are the sets that the laboratory makes: field-cured ones of the batches
// that decide a gate, standard-cured ones of the first. Each group of batches filled
// an end of its own; nil stands for all of them.
func (p pour) specimens(batches []repair.BatchIn, groups [][]int, b basis.Basis) []repair.SpecimenSet {
	var field, first []int
	for _, g := range groups {
		if g == nil {
			for i := range batches {
				g = append(g, i)
			}
		}
		var facts []uhpc.BatchFacts
		for _, i := range g {
			if x := batches[i]; !x.Refused {
				facts = append(facts, uhpc.BatchFacts{Mark: strconv.Itoa(i + 1), Placed: *x.PlacedAt, Temperature: x.MixTemp})
			}
		}
		list, _ := uhpc.GoverningBatches(facts, b)
		for _, x := range list {
			n, _ := strconv.Atoi(x.Batch)
			if !slices.Contains(field, n) {
				field = append(field, n)
			}
		}
		if !slices.Contains(first, g[0]+1) {
			first = append(first, g[0]+1)
		}
	}
	slices.Sort(field)
	var out []repair.SpecimenSet
	add := func(batch int, curing string, days float64, count int, purpose uhpc.Purpose, duty uhpc.Duty) {
		set := repair.SpecimenSet{Batch: batch, Kind: string(uhpc.Cylinder3x6), Curing: curing, NominalDays: days, Count: count, Purpose: string(purpose)}
		if duty != uhpc.QualityControl {
			set.Duty = string(duty)
		}
		out = append(out, set)
	}
	for i, n := range field {
		more := 0
		if i == 0 && (p.key == lostPour || p.key == excludedPour) {
			more = 1
		}
		add(n, "field", 4, 3, uhpc.ForStrip, uhpc.QualityControl)
		add(n, "field", 7, 3+more, uhpc.ForTraffic, uhpc.QualityControl)
	}
	for _, n := range first {
		add(n, "standard", 28, 3, uhpc.ForAcceptance, uhpc.QualityControl)
	}
	if p.key == verifiedPour {
		add(first[0], "standard", 28, 3, uhpc.ForAcceptance, uhpc.Verification)
	}
	add(first[0], "standard", 28, 3, uhpc.Spare, uhpc.QualityControl)
	return out
}

func celsius(f float64) units.Temperature { return units.Temperature((f - 32) / 1.8) }
