package demo

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// traffic is the invented trucks a day in one direction.
const traffic = 1850

// continuous reports whether a span runs over the pier without a joint: statics of a
// simple span does not hold there.
func continuous(span int) bool { return span == 3 || span == 4 }

// loads tells what the bridge carries: the cross section and the dead load of each
// span, one vehicle on a permit, and how the demand at each end comes.
func (t *teller) loads() {
	at := day(1, 12).Add(9 * hour)
	for i := range spans {
		number, when := i+1, at.Add(time.Duration(i)*10*minute)
		key := "span " + strconv.Itoa(number)
		names := endsOf(number)
		t.tell(key+" cross section", authz.Designer, when, names, false, func(s *repair.Scope) (repair.Change, error) {
			id, _, err := spanOf(s, number)
			return repair.EditSpanDemand{SpanID: id, Demand: crossSection(number)}, err
		})
		t.tell(key+" dead load", authz.Designer, when.Add(4*minute), names, false, func(s *repair.Scope) (repair.Change, error) {
			id, section, err := spanOf(s, number)
			return repair.EditLoadParts{SpanID: id, Parts: deadLoad(s, id, section)}, err
		})
		if continuous(number) {
			for _, name := range names {
				t.say(name+" demand", authz.Designer, when.Add(7*minute), []string{name}, repair.EditEndDemand{Demand: byHand(mustName(name))})
			}
			continue
		}
		t.say(key+" demand", authz.Designer, when.Add(7*minute), names, repair.EditEndDemand{Demand: repair.EndDemandIn{How: repair.ByStatics,
			Condition: string(demand.Poor), Source: "drawings of 1957 and the visit of 2026, invented"}})
	}
	t.all("permit vehicle", authz.Engineer, at.Add(2*hour), repair.EditTruck{Truck: permitVehicle()})
}

func endsOf(span int) []string {
	var out []string
	for _, l := range lines {
		if l.span != span {
			continue
		}
		for g := 1; g <= spans[span-1].girders; g++ {
			out = append(out, girder.Name{Span: span, Side: l.side, Girder: g}.String())
		}
	}
	return out
}

// spanOf finds a span of the record with the section of its girders.
func spanOf(s *repair.Scope, number int) (span, section string, err error) {
	for _, x := range s.Spans {
		if x.Number == number {
			span = x.ID
		}
	}
	for _, x := range s.Sections {
		if x.Name == spans[number-1].section {
			section = x.ID
		}
	}
	if span == "" || section == "" {
		return "", "", fault.New(fault.NotFound, "the demonstration has no span %d", number)
	}
	return span, section, nil
}

// crossSection is the invented deck: 8 in thick, a curb 22 in outside each outer
// girder and the edge of the deck 18 in beyond it.
func crossSection(number int) repair.SpanDemandIn {
	out := repair.SpanDemandIn{Deck: in(8), EdgeLeft: in(22), EdgeRight: in(22), OverhangLeft: in(40), OverhangRight: in(40), ModularRatio: 8, Haunch: in(1),
		Source: "drawings of 1957, sheet 14, invented; count of trucks of 2025, invented",
		Typed:  repair.Typed{"deck_mm": "8 in", "edge_left_mm": "22 in", "edge_right_mm": "22 in", "overhang_left_mm": "40 in", "overhang_right_mm": "40 in", "haunch_mm": "1 in"}}
	n := traffic
	out.ADTT = &n
	for _, l := range lines {
		switch {
		case l.span != number:
		case l.side == girder.Near:
			out.SkewNear = units.Angle(l.skew)
		default:
			out.SkewFar = units.Angle(l.skew)
		}
	}
	return out
}

const (
	kipPerFoot = float64(units.Kip) / float64(units.Foot) // N/mm in a kip per foot
	psf        = kipPerFoot / 1000 / float64(units.Foot)  // N/mm2 in a pound per square foot
)

// deadLoad is the parts of the dead load of a span: deck and girder by their sizes,
// the rest invented.
func deadLoad(s *repair.Scope, span, section string) []repair.LoadPartIn {
	parts := s.PartsToStart(span, section)
	one := func(name string, bucket demand.Bucket, kind demand.Kind, where demand.Where, value float64, source string) {
		parts = append(parts, repair.LoadPartIn{Name: name, Bucket: string(bucket), Kind: string(kind), Where: string(where), Value: value, Source: source})
	}
	one("Cross-frames and haunch", demand.DC1, demand.Line, demand.Each, 0.05*kipPerFoot, "weighed from the drawings, invented")
	one("Two barriers", demand.DC2, demand.Line, demand.Shared, 0.9*kipPerFoot, "0.45 kip/ft each, renewed in 1994, invented")
	one("Wearing surface", demand.DW, demand.Area, demand.Tributary, 25*psf, "2 in of asphalt, invented")
	return parts
}

// byHand is the demand at an end of the continuous spans, from the calculation that
// the story has of them.
func byHand(n girder.Name) repair.EndDemandIn {
	dead, surfacing, live := reactions(n.Span, lineOf(n).fascia(n.Girder))
	feet, s := spans[n.Span-1].feet*endPart(n.Span), spans[n.Span-1]
	barriers := 0.9 / float64(s.girders) * feet
	out := repair.EndDemandIn{How: repair.ByHandParts, Condition: string(demand.Poor), Source: "continuous beam of spans 3 and 4, calculation of 2026, invented", Typed: repair.Typed{}}
	kip := func(column string, v float64) *units.Force {
		q, text := typed[units.Force](math.Round(v*10)/10, 1)
		out.Typed[column] = text + " kip"
		return &q
	}
	out.DC1, out.DC2, out.DW, out.Live = kip("dc1_n", dead-barriers), kip("dc2_n", barriers), kip("dw_n", surfacing), kip("live_n", live)
	return out
}

// permitVehicle is an invented carrier of precast beams.
func permitVehicle() demand.Truck {
	t := demand.Truck{Code: "TRR-P7", Name: "Beam carrier with steered dolly, seven axles", Class: demand.Permit, Gamma: 1.3,
		Source: "standing permit TRR-P7 of 2026 (invented); one trip a week", Tag: basis.Common}
	for i, kip := range []float64{14, 18, 18, 18, 19, 19, 19} {
		a := demand.Axle{Load: units.Force(kip) * units.Kip}
		if i > 0 {
			a.Gap = units.Length([]float64{13, 4.5, 4.5, 38, 5, 5}[i-1]) * units.Foot
		}
		t.Axles = append(t.Axles, a)
		t.Gross += a.Load
	}
	return t
}

// olderSurveys are ends with a report of some years before, and the part of the loss
// as found that it had then. The year is that of the report.
var olderSurveys = map[string]float64{"2F-1": 0.74, "2F-2": 0.78, "2F-5": 0.7, "2F-6": 0.76, "3N-5": 0.8, "4F-3": 0.72, "4F-5": 0.75}

const olderYear = 2019

// older tells of the reports that were found and put on record before the survey of
// the contract.
func (t *teller) older() {
	var ends []string
	for name := range olderSurveys {
		ends = append(ends, name)
	}
	slices.Sort(ends)
	ch := repair.ImportBridge{}
	for i, name := range ends {
		sv := olderMetal(name).survey(false)
		sv.Facts.TakenBy, sv.Facts.Gauge = "H. Lindqvale", strings.Replace(sv.Facts.Gauge, "UT-2", "UT-0", 1)
		sv.Facts.Note = "From the inspection report of 2019; the joint above was renewed in the same year and leaked again by 2022."
		ch.Bridge.Surveys = append(ch.Bridge.Surveys, repair.EndSurvey{End: name, TakenAt: time.Date(olderYear, time.June, 11+i, 14, 0, 0, 0, time.UTC), Survey: sv})
	}
	t.say("older surveys", authz.Designer, day(1, 13).Add(14*hour), ends, ch)
}

// olderMetal is the steel at an end as the report of some years before found it: the
// same field with less of it gone.
func olderMetal(name string) metal {
	m := steelOf(mustName(name), false)
	part := olderSurveys[name]
	m.loss, m.base, m.hole = m.loss*part, m.base*part, nil
	return m
}
