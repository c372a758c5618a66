package demo

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// Castings whose specimens have a story.
const (
	low28        = "5F 0513" // below what is specified at 28 days
	lostPour     = "1N 0604" // a specimen was dropped
	excludedPour = "1N 0524" // a break was left out for its chipped end
	wideSet      = "1F 0428" // a wide set that was looked at and stands, at 7 days
	verifiedPour = "2N 0609" // the owner's own set, so wide that it waits for a review
	overduePour  = "5N 0623" // one specimen of the 7-day set was not broken
	latePour     = "6F 0406" // one was broken too late to count
)

// breaks tells of the specimens of a casting: out of their molds, crushed at four,
// seven and 28 days, and what befell some of them.
func (t *teller) breaks(p pour) {
	ends := names(p.ends)
	at := func(d time.Duration) time.Time { return p.at.Add(d) }
	t.tell("demold "+p.key, authz.Laboratory, at(26*hour), ends, false, func(s *repair.Scope) (repair.Change, error) {
		list, err := p.mine(s, func(repair.Specimen) bool { return true })
		ch := repair.DemoldSpecimens{At: at(25 * hour).UTC()}
		for _, x := range list {
			ch.Marks = append(ch.Marks, x.Mark)
		}
		return ch, err
	})
	for _, set := range []struct {
		days  float64
		after time.Duration
		duty  uhpc.Duty
	}{{4, 97*hour + 20*minute, uhpc.QualityControl}, {7, 170 * hour, uhpc.QualityControl}, {28, 28*24*hour + 11*hour, uhpc.QualityControl}, {28, 28*24*hour + 14*hour, uhpc.Verification}} {
		if set.duty == uhpc.Verification && p.key != verifiedPour {
			continue
		}
		key := "breaks " + p.key + " " + strconv.Itoa(int(set.days)) + strings.TrimPrefix(string(set.duty), string(uhpc.QualityControl))
		n, apart := 99, 12*minute
		if p.key == routedPour {
			apart = 5 * minute // a long table of them
		}
		if set.days == 7 && p.key == overduePour {
			n = 2
		}
		t.tell(key, authz.Laboratory, at(set.after).Add(135*minute), ends, false, func(s *repair.Scope) (repair.Change, error) {
			list, err := p.set(s, set.days, set.duty)
			ch := repair.RecordBreaks{}
			for i, x := range list {
				if x.LostAt == nil && i < n && !(p.key == latePour && set.days == 7 && i == 1) {
					ch.Breaks = append(ch.Breaks, p.crush(s, x, set.days, i, at(set.after).Add(time.Duration(i)*apart)))
				}
			}
			return ch, err
		})
	}
	if p.key == latePour {
		t.tell("breaks "+p.key+" 7 late", authz.Laboratory, at(201*hour), ends, false, func(s *repair.Scope) (repair.Change, error) {
			list, err := p.set(s, 7, uhpc.QualityControl)
			if err != nil {
				return nil, err
			}
			return p.crush(s, list[1], 7, 1, at(201*hour-6*minute)), nil
		})
	}
	if p.key == lostPour {
		t.tell("lost "+p.key, authz.Laboratory, at(28*hour), ends, false, func(s *repair.Scope) (repair.Change, error) {
			list, err := p.set(s, 7, uhpc.QualityControl)
			if err != nil {
				return nil, err
			}
			return repair.LoseSpecimen{Mark: list[2].Mark, Why: "dropped on the floor when it was demolded; cracked through"}, nil
		})
	}
	if p.key == excludedPour {
		t.tell("excluded "+p.key, authz.Engineer, office(at(170*hour), 1, 10), ends, false, func(s *repair.Scope) (repair.Change, error) {
			list, err := p.set(s, 7, uhpc.QualityControl)
			if err != nil {
				return nil, err
			}
			return repair.ExcludeSpecimen{Mark: list[2].Mark, Why: "end chipped at the grinder: a piece of 1/4 in out of the edge, and the break began there; photograph with the laboratory"}, nil
		})
	}
	if p.key == wideSet {
		t.tell("reviewed "+p.key, authz.Engineer, office(at(170*hour), 1, 11), ends, false, func(s *repair.Scope) (repair.Change, error) {
			list, err := p.set(s, 7, uhpc.QualityControl)
			if err != nil {
				return nil, err
			}
			q, err := p.of(s)
			return repair.ReviewSet{Pour: q.Number, Batch: list[0].BatchNo, KindOf: list[0].Kind, Curing: list[0].Curing, NominalDays: 7, Verdict: "stands",
				Reason: "The low one broke as a cone like the others; ends, rate and seating looked over with the laboratory, nothing found. All three lie well above what traffic asks."}, err
		})
	}
}

// mine are the specimens of this casting for which a question is answered with yes.
func (p pour) mine(s *repair.Scope, yes func(repair.Specimen) bool) ([]repair.Specimen, error) {
	q, err := p.of(s)
	if err != nil {
		return nil, err
	}
	var out []repair.Specimen
	for _, x := range s.Specimens {
		if x.PourID == q.ID && yes(x) {
			out = append(out, x)
		}
	}
	slices.SortFunc(out, func(a, b repair.Specimen) int { return strings.Compare(a.Mark, b.Mark) })
	return out, nil
}

// set are the specimens of an age, those to spare left out.
func (p pour) set(s *repair.Scope, days float64, duty uhpc.Duty) ([]repair.Specimen, error) {
	list, err := p.mine(s, func(x repair.Specimen) bool {
		return x.NominalDays == days && x.Duty == string(duty) && x.Purpose != string(uhpc.Spare)
	})
	if err == nil && len(list) < 3 {
		err = fault.New(fault.NotFound, "pour %s has %d specimens of %g days", p.key, len(list), days)
	}
	return list, err
}

// spread is by how much a specimen of a set with a story is off its mean, in part of it.
func (p pour) spread(days float64, duty string, i int) float64 {
	switch {
	case p.key == excludedPour && days == 7 && i == 2:
		return -0.19
	case p.key == wideSet && days == 7 && i < 3:
		return []float64{0.045, -0.072, 0.035}[i]
	case duty == string(uhpc.Verification):
		return []float64{0.062, -0.066, 0.012}[i]
	}
	return 0
}

// expected is the mean strength of an age, in ksi: by the warmth of the specimens, or
// by the clock where they are kept at one temperature.
func (p pour) expected(days float64, curing string, at time.Time) float64 {
	k := strconv.Itoa(int(days))
	factor := normal(1, 0.013, p.key, "mix") * normal(1, 0.006, p.key, k, "set")
	age := days
	if curing == "field" {
		age = p.heat().age("specimen", at)
	}
	switch {
	case p.key == low28 && days == 28:
		factor = 0.795
	case p.key == oldPremix:
		age, factor = age-0.9, 0.755
	}
	return factor * gained(age)
}

// crush is the break of one specimen of an age of this pour.
func (p pour) crush(_ *repair.Scope, x repair.Specimen, days float64, i int, at time.Time) repair.RecordBreak {
	k := strconv.Itoa(int(days)) + x.Duty[:1]
	ksi := p.expected(days, x.Curing, at)
	if off := p.spread(days, x.Duty, i); off != 0 {
		ksi *= 1 + off
	} else {
		ksi = normal(ksi, 0.28, p.key, k, strconv.Itoa(i))
	}
	width := round(3+between(-0.012, 0.012, p.key, k, strconv.Itoa(i), "width"), 0.002)
	other := round(width+between(-0.006, 0.006, p.key, k, strconv.Itoa(i), "other"), 0.002)
	kip := round(ksi*3.14159265/4*width*other, 0.1)
	load, loadText := typed[units.Force](kip, 1)
	w, wText := typed[units.Length](width, 3)
	d, dText := typed[units.Length](other, 3)
	h, _ := typed[units.Length](between(5.9, 5.98, p.key, k, strconv.Itoa(i), "height"), 2)
	machine := 300 * units.Kip
	fracture := pick([]int{1, 1, 1, 3, 2}, p.key, k, strconv.Itoa(i), "fracture")
	return repair.RecordBreak{Mark: x.Mark, BrokenAt: at.UTC(), Load: load, Width: &w, Depth: &d, Height: &h, EndsGround: true, Machine: &machine, Fracture: &fracture,
		Typed: repair.Typed{"load_n": loadText, "width_mm": wText, "depth_mm": dText}}
}
