package demo

import (
	"slices"
	"strconv"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// mixer is what one batch yields, in litres: 2.5 cubic feet.
const mixer = 70.8

// refusedFlow is the pour of which a batch was refused, and which.
const refusedPour, refusedBatch = "1F 0414", 2

// at28 are the pours whose set at 28 days came out below what the design counts on.
var at28 = map[string]bool{"5F 0513": true}

// pour tells of one casting: its batches, its specimens and their breaks.
func (t *teller) pour(p pour) {
	ends := names(p.ends)
	t.tell("pour "+p.key, authz.Inspector, p.at.Add(130*minute), ends, false, func(s *repair.Scope) (repair.Change, error) { return p.record(s) })
	for _, age := range []struct {
		days  float64
		after time.Duration
	}{{4, 97*hour + 20*minute}, {7, 170 * hour}, {28, 28*24*hour + 11*hour}} {
		at := p.at.Add(age.after)
		for i := range 6 {
			if age.days == 28 && i > 2 {
				break
			}
			if p.key == "5N 0623" && age.days == 7 && i == 2 {
				continue // one is overdue
			}
			at := at
			if p.key == "6F 0406" && age.days == 7 && i == 1 {
				at = at.Add(31 * hour) // and one was broken too late to count
			}
			key := "break " + p.key + " " + strconv.Itoa(int(age.days)) + "-" + strconv.Itoa(i)
			t.tell(key, authz.Laboratory, at.Add(time.Duration(12*i)*minute), ends, false, func(s *repair.Scope) (repair.Change, error) {
				return p.crush(s, age.days, i, at.Add(time.Duration(12*i-6)*minute))
			})
		}
	}
}

// record is the record of the pour, once the designs tell how much it takes.
func (p pour) record(s *repair.Scope) (repair.Change, error) {
	end := p.at.Add(2 * hour)
	ch := repair.RecordPour{StartedAt: p.at.UTC(), EndedAt: &end, VolumeL: map[string]float64{}}
	total := 0.0
	for _, r := range s.Ends {
		d := r.DesignInForce()
		if d == nil {
			return nil, fault.New(fault.NotFound, "%s has no design", r.End.Name)
		}
		v := float64(d.PanelWidth*d.PanelHeight*(d.PanelLeft+d.PanelRight)) / 1e6
		v = round(v*between(1.0, 1.05, p.key, r.End.Name, "volume"), 0.1)
		ch.VolumeL[r.End.ID] = v
		total += v
	}
	batches := max(1, int(total/mixer)+1)
	if p.key == refusedPour {
		batches++
	}
	gap := min(20, 100/batches)
	month := float64(p.at.Month()) + float64(p.at.Day())/30
	_, air := end2weather(month, p.at)
	for i := 1; i <= batches; i++ {
		k := strconv.Itoa(i)
		mixed := p.at.Add(time.Duration(5+gap*(i-1)) * minute)
		placed := mixed.Add(time.Duration(11+int(7*uniform(p.key, k, "placed"))) * minute).UTC()
		flow := clip(round(normal(8.9, 0.35, p.key, k, "flow"), 0.1), 8.0, 9.8)
		temp := units.Temperature((round(clip(64+3*(month-3)+between(-2, 4, p.key, k, "mix"), 60, 83), 1) - 32) / 1.8)
		b := repair.BatchIn{MixedAt: mixed.UTC(), PlacedAt: &placed, MixTemp: &temp, AirTemp: &air}
		if p.key == refusedPour && i == refusedBatch {
			flow, b.PlacedAt, b.Refused, b.RefusedWhy = 10.2, nil, true, "flow 10.2 in, more than 10 in: water taken twice; emptied into the waste skip"
		}
		f, text := typed[units.Length](flow, 1)
		b.Flow, b.Typed = &f, repair.Typed{"flow_mm": text}
		ch.Batches = append(ch.Batches, b)
	}
	for _, n := range governing(ch, s) {
		ch.Specimens = append(ch.Specimens, repair.SpecimenSet{Batch: n, Kind: "cyl_3x6", Curing: "field", NominalDays: 4, Count: 3, Purpose: "strip"},
			repair.SpecimenSet{Batch: n, Kind: "cyl_3x6", Curing: "field", NominalDays: 7, Count: 3, Purpose: "traffic"})
	}
	ch.Specimens = append(ch.Specimens, repair.SpecimenSet{Batch: 1, Kind: "cyl_3x6", Curing: "standard", NominalDays: 28, Count: 3, Purpose: "acceptance"})
	if p.key == "2N 0512" {
		ch.Note = "Form at 2N-2 wept at its foot for some minutes; see the nonconformance."
	}
	return ch, nil
}

// governing are the numbers of the batches that decide a gate: the laboratory makes
// its field-cured sets of them.
func governing(ch repair.RecordPour, s *repair.Scope) []int {
	var facts []uhpc.BatchFacts
	for i, b := range ch.Batches {
		if !b.Refused {
			facts = append(facts, uhpc.BatchFacts{Mark: strconv.Itoa(i + 1), Placed: *b.PlacedAt, Temperature: b.MixTemp})
		}
	}
	list, _ := uhpc.GoverningBatches(facts, s.Basis())
	var out []int
	for _, g := range list {
		n, _ := strconv.Atoi(g.Batch)
		out = append(out, n)
	}
	slices.Sort(out)
	return out
}

func end2weather(month float64, at time.Time) (steel, air units.Temperature) {
	return end{name: "bridge"}.weather(month, at, "pour")
}

// crush is the break of one specimen of an age of this pour.
func (p pour) crush(s *repair.Scope, days float64, i int, at time.Time) (repair.Change, error) {
	var mine []repair.Specimen
	for _, x := range s.Specimens {
		if x.NominalDays == days && s.Pours[slices.IndexFunc(s.Pours, func(q repair.Pour) bool { return q.ID == x.PourID })].StartedAt.Equal(p.at) {
			mine = append(mine, x)
		}
	}
	slices.SortFunc(mine, func(a, b repair.Specimen) int {
		if a.Mark < b.Mark {
			return -1
		}
		return 1
	})
	if i >= len(mine) && days < 28 {
		return nil, nil // the batch placed last was the coldest too
	}
	if i >= len(mine) {
		return nil, fault.New(fault.NotFound, "pour %s has %d specimens of %g days", p.key, len(mine), days)
	}
	mean, spread := 15.9, 0.35
	switch {
	case days == 4 && low4[p.key]:
		mean, spread = 13.4, 0.15
	case days == 7:
		mean, spread = 18.3, 0.4
	case days == 28 && at28[p.key]:
		mean, spread = 20.4, 0.2
	case days == 28:
		mean, spread = 24.1, 0.45
	}
	k := strconv.Itoa(int(days))
	ksi := normal(normal(mean, spread, p.key, k, "set"), 0.3, p.key, k, strconv.Itoa(i))
	width := round(3+between(-0.012, 0.012, p.key, k, strconv.Itoa(i), "width"), 0.002)
	other := round(width+between(-0.006, 0.006, p.key, k, strconv.Itoa(i), "other"), 0.002)
	kip := round(ksi*3.14159265/4*width*other, 0.1)
	load, loadText := typed[units.Force](kip, 1)
	w, wText := typed[units.Length](width, 3)
	d, dText := typed[units.Length](other, 3)
	h, _ := typed[units.Length](between(5.9, 5.98, p.key, k, strconv.Itoa(i), "height"), 2)
	machine := 300 * units.Kip
	fracture := pick([]int{1, 1, 1, 3, 2}, p.key, k, strconv.Itoa(i), "fracture")
	return repair.RecordBreak{Mark: mine[i].Mark, BrokenAt: at.UTC(), Load: load, Width: &w, Depth: &d, Height: &h, EndsGround: true, Machine: &machine, Fracture: &fracture,
		Typed: repair.Typed{"load_n": loadText, "width_mm": wText, "depth_mm": dText}}, nil
}
